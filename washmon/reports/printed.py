"""The printable record of a shift: a PDF in black and white, made from the journal.

The same shift gives the same bytes: nothing in it tells when or where it was printed.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import closing
from pathlib import Path
from types import MappingProxyType

from washmon.line.events import ShiftReviewed
from washmon.line.journal import GENESIS, Entry, paper_number
from washmon.line.learned import OfProgram
from washmon.line.signing import Signed, SigningStage, signing
from washmon.line.state import ShiftState
from washmon.reports import printed_lists as lists
from washmon.reports import printed_parts as parts
from washmon.reports.csv_export import suggested_name
from washmon.reports.files import written_aside
from washmon.reports.paper import Bold, PaperSize, Running, Sheet
from washmon.reports.printed_summary import summary
from washmon.reports.printed_watching import critical, watching
from washmon.reports.printed_words import full
from washmon.units import UnitSystem

_RULE_MM = 9.0
_HASH_BLOCK = 8
_MOST_SAID = 12


def _say_nothing(done: int) -> None:
    del done


def _go_on() -> bool:
    return False


def printed(
    shift: ShiftState,
    paper: PaperSize = PaperSize.A4,
    taste: UnitSystem | None = None,
    wrong: Sequence[str] = (),
) -> bytes:
    """Return the record of a shift as a PDF; ``taste`` is that of the set-up unless given.

    ``wrong`` says what is not as it was written: page 1 tells of it, and each page that it is so.
    """
    chosen = taste or shift.setup.taste
    with closing(_laid_out(shift, paper, chosen, 1, wrong)) as draft:
        pages = draft.pages_count  # each page tells how many there are
    with closing(_laid_out(shift, paper, chosen, pages, wrong)) as sheet:
        return bytes(sheet.output())


def write_record(
    target: Path,
    shift: ShiftState,
    paper: PaperSize = PaperSize.A4,
    taste: UnitSystem | None = None,
    wrong: Sequence[str] = (),
) -> None:
    """Write the record of a shift as a PDF, whole or not at all; else as :func:`printed`.

    Raises:
        ExportError: with a sentence; the target is as it was.
    """
    body = printed(shift, paper, taste, wrong)
    with written_aside(target) as file:
        file.write(body)


def write_records(
    folder: Path,
    shifts: Iterable[ShiftState],
    paper: PaperSize = PaperSize.A4,
    *,
    progress: Callable[[int], None] = _say_nothing,
    cancelled: Callable[[], bool] = _go_on,
    wrong: Mapping[str, Sequence[str]] = MappingProxyType({}),
) -> int:
    """Write a file for each shift into a folder, and return how many; cancelling keeps the rest.

    ``wrong`` says by chain what :func:`printed` is told.

    Raises:
        ExportError: with a sentence; the files before it are whole.
    """
    done = 0
    for shift in shifts:
        if cancelled():
            break
        said = wrong.get(shift.chain, ())
        write_record(folder / record_name(shift), shift, paper, wrong=said)
        done += 1
        progress(done)
    return done


def record_name(shift: ShiftState) -> str:
    """Return a file name for the record of a shift; two shifts of one day differ in their time."""
    started = shift.started
    name = suggested_name(
        "record", shift.setup.line, started.at.date(), practice=started.practice, suffix=""
    )
    return f"{name}-{started.at:%H%M%S}.pdf"


def _laid_out(
    shift: ShiftState, paper: PaperSize, taste: UnitSystem, pages: int, wrong: Sequence[str]
) -> Sheet:
    running = running_of(shift, whole=not wrong)
    sheet = Sheet(paper, running, shift.entries[-1].recorded_at, pages)
    lay_out(sheet, shift, taste, wrong)
    return sheet


def lay_out(sheet: Sheet, shift: ShiftState, taste: UnitSystem, wrong: Sequence[str] = ()) -> None:
    """Print the record of a shift from here on; ``wrong`` as :func:`printed` is told."""
    if wrong:
        sheet.heading("NOT WHOLE: this record is not as it was written")
        for sentence in wrong[:_MOST_SAID]:
            sheet.say(sentence, bold=True)
        if len(wrong) > _MOST_SAID:
            sheet.say(f"And {len(wrong) - _MOST_SAID} more: see washmon verify.")
    for part in _PARTS:
        part(sheet, shift, taste)


def running_of(shift: ShiftState, *, whole: bool) -> Running:
    """Return what stands on each page of the record of a shift."""
    started, setup = shift.started, shift.setup
    kinds = [
        "PRACTICE" if started.practice else "",
        "IMPORTED" if started.imported else "",
        "" if shift.ended else "NOT ENDED",
        "" if whole else "NOT WHOLE",
    ]
    title = " · ".join(["Wash-water record", *(kind for kind in kinds if kind)])
    end = f" to {shift.ended.at:%Y-%m-%d %H:%M}" if shift.ended else ""
    where = " · ".join(part for part in (setup.place, setup.line) if part)
    about = f"{where} · {started.at:%Y-%m-%d %H:%M}{end}"
    head = shift.entries[-1]
    return Running(title, about, f"{shift.chain} · {head.seq + 1} entries · {head.hash}")


def signatures(sheet: Sheet, shift: ShiftState, _taste: UnitSystem) -> None:
    """Print who signed what, and lines to sign on paper for who has not."""
    sheet.heading("Signatures", keep_mm=40)
    rows = [_signature(shift, entry) for entry in shift.entries if isinstance(entry.event, Signed)]
    stage = signing(shift).stage
    sheet.say(_STAGES[stage], bold=stage is SigningStage.CHANGED)
    if rows:
        sheet.listing(("Who", "Role", "When", "What", "Covers"), (3, 2, 3, 4, 4), rows)
    if stage not in {SigningStage.SIGNED, SigningStage.REVIEWED}:
        sheet.line_to_sign("Supervisor of the shift", _RULE_MM)
    if stage is not SigningStage.REVIEWED:
        sheet.line_to_sign("Reviewed by (manager or responsible party)", _RULE_MM)


_STAGES = {
    SigningStage.RUNNING: "The shift has not ended: nothing is signed in the program.",
    SigningStage.UNSIGNED: "Not signed in the program.",
    SigningStage.SIGNED: "Signed in the program, not reviewed yet.",
    SigningStage.CHANGED: (
        "Signed, then something was entered that no signature covers: see Covers."
    ),
    SigningStage.REVIEWED: "Signed and reviewed in the program.",
}


def _signature(shift: ShiftState, entry: Entry) -> tuple[str, ...]:
    event = entry.event
    assert isinstance(event, Signed)  # noqa: S101 - asked only for signatures
    person = shift.setup.person(event.by)
    later = _later(shift, event.covers)
    if later is None:
        covers: str = Bold("NOT what stands before it now")
    elif later:
        covers = Bold(
            f"all but the last {later} entries" if later > 1 else "all but the last entry"
        )
    else:
        covers = "the record as it is"
    said = ["reviewed" if isinstance(event, ShiftReviewed) else "signed"]
    said += [getattr(event, "note", ""), *(f"lacked: {doubt}" for doubt in event.doubts)]
    return (
        person.name if person else event.by,
        str(event.role),
        full(event.at),
        "; ".join(one for one in said if one),
        covers,
    )


def _later(shift: ShiftState, covers: str) -> int | None:
    """Return how many entries by people came after those that a signature covers."""
    place = next((entry.seq for entry in shift.entries if entry.hash == covers), None)
    if place is None:
        return None
    return sum(
        entry.seq > place and not isinstance(entry.event, Signed | OfProgram)
        for entry in shift.entries
    )


def integrity(sheet: Sheet, shift: ShiftState, _taste: UnitSystem) -> None:
    """Print what proves the record."""
    sheet.heading("Integrity", keep_mm=34)
    sheet.say(
        "Each entry of the journal is sealed by a hash (SHA-256) that covers the entry before it. "
        "A journal that was changed, cut, added to or put in another order no longer ends with "
        "the hash below; the command 'washmon verify' compares all of it. Kept on paper, the "
        "witness number proves it later: 'washmon verify --witness NUMBER'."
    )
    head, after = shift.entries[-1], shift.started.after
    sheet.facts(
        (
            ("Journal", shift.chain),
            ("Entries", str(head.seq + 1)),
            ("Last written", full(head.recorded_at)),
            ("Hash of the last", _blocks(head.hash)),
            ("Witness number", paper_number(head.hash)),
            ("Follows on", f"{after[0]}, {_blocks(after[1])}" if after else "no other shift"),
        )
    )


def _blocks(digest: str) -> str:
    """Return a hash in blocks that an eye can compare."""
    if digest == GENESIS:
        return "nothing"
    return " ".join(digest[at : at + _HASH_BLOCK] for at in range(0, len(digest), _HASH_BLOCK))


_PARTS: tuple[parts.Part, ...] = (
    parts.about,
    parts.check_list,
    parts.limits,
    critical,
    watching,
    summary,
    parts.trends,
    lists.readings,
    lists.actions,
    lists.batches,
    lists.lots,
    lists.holds,
    lists.corrections,
    lists.flags,
    parts.people,
    signatures,
    integrity,
)
