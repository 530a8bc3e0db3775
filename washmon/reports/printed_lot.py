"""A lot on paper: one step back, what it went through, and one step forward.

The same inputs give the same bytes. Who made it and when are inputs, too.
"""

import hashlib
from collections.abc import Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass, field
from datetime import datetime

from washmon.line.events import Event
from washmon.line.kinds import KINDS
from washmon.line.message import say
from washmon.line.sent import NOT_RECORDED
from washmon.reports.lines import Line
from washmon.reports.lot_trace import InShift
from washmon.reports.paper import Bold, PaperSize, Running, Sheet
from washmon.reports.printed_words import remark
from washmon.rules.event_text import event_text
from washmon.units import Kind, UnitSystem, show


@dataclass(frozen=True, slots=True)
class Trace:
    """What is printed: the code as it was asked for, and the shifts that know it, at least one."""

    code: str
    shifts: Sequence[InShift]
    maker: str
    """Initials of who made it."""
    made_at: datetime
    wrong: Mapping[str, Sequence[str]] = field(default_factory=dict)
    """By chain: what is not as it was written."""


def printed_lot(trace: Trace, paper: PaperSize = PaperSize.A4) -> bytes:
    """Return the trace of a lot as a PDF."""
    with closing(_laid_out(trace, paper, 1)) as draft:
        pages = draft.pages_count  # each page tells how many there are
    with closing(_laid_out(trace, paper, pages)) as sheet:
        return bytes(sheet.output())


def _laid_out(trace: Trace, paper: PaperSize, pages: int) -> Sheet:
    code, shifts, wrong, made_at = trace.code, trace.shifts, trace.wrong, trace.made_at
    setup = shifts[-1].shift.setup
    title = "Trace of a lot · NOT WHOLE" if wrong else "Trace of a lot"
    about = " · ".join(one for one in (setup.place, f"lot {code}") if one)
    sheet = Sheet(paper, Running(title, about, f"lot {seal(shifts)}"), made_at, pages)
    sheet.heading(f"Lot {code}")
    for sentence in (said for some in wrong.values() for said in some):
        sheet.say(sentence, bold=True)
    taste = setup.taste
    sheet.facts(_facts(shifts, taste))
    sheet.facts(
        (
            ("Made by", trace.maker or "not told"),
            ("Made at", made_at.isoformat(sep=" ", timespec="seconds")),
            ("Hash of this trace", seal(shifts)),
        )
    )
    _steps(sheet, shifts, taste)
    for one in shifts:
        _shift(sheet, one, taste)
    return sheet


def seal(shifts: Sequence[InShift]) -> str:
    """Return the SHA-256 over name, entries and hash of each shift's chain, in their order."""
    ends = ((one.shift.chain, one.shift.entries[-1]) for one in shifts)
    text = "".join(f"{chain} {last.seq + 1} {last.hash}\n" for chain, last in ends)
    return hashlib.sha256(text.encode()).hexdigest()


def _facts(shifts: Sequence[InShift], taste: UnitSystem) -> list[tuple[str, str]]:
    batches = [line for one in shifts for line in one.row.batches]
    weights = [line.event.weight_kg for line in batches]
    weighed = sum(one for one in weights if one is not None)
    untold = sum(one.row.not_recorded for one in shifts)
    amount = show(weighed, Kind.PRODUCE_MASS, taste) if weighed else "not weighed"
    if weighed and None in weights:
        amount += f", {weights.count(None)} batches not weighed"
    forward = f"{untold} of {len(batches)} batches: {NOT_RECORDED}" if untold else "told of all"
    return [
        ("Washed", f"{len(batches)} batches in {len(shifts)} shifts, {amount}"),
        ("Where it went", Bold(forward) if untold else forward),
        (
            "Open holds",
            str(sum(hold.released is None for one in shifts for hold in one.holds)) or "0",
        ),
    ]


def _steps(sheet: Sheet, shifts: Sequence[InShift], taste: UnitSystem) -> None:
    sheet.say("One step back, and one forward", bold=True)
    heads = ("Shift", "Line", "Produce", "Came from", "Batches", "Weighed", "Went to: batches")
    rows = []
    for one in shifts:
        row = one.row
        weight = show(row.weighed_kg, Kind.PRODUCE_MASS, taste) if row.weighed_kg else ""
        went = Bold(row.went) if row.not_recorded else row.went
        began = f"{one.shift.started.at:%Y-%m-%d %H:%M}"
        batches = str(len(row.batches))
        rows.append((began, one.shift.setup.line, row.produce, row.source, batches, weight, went))
    sheet.listing(heads, (3.2, 2.2, 2.4, 3, 1.5, 1.8, 5), rows)


def _shift(sheet: Sheet, one: InShift, taste: UnitSystem) -> None:
    shift = one.shift
    sheet.heading(f"{shift.setup.line}, {shift.started.at:%Y-%m-%d %H:%M}")
    if not one.lines:
        sheet.say("Named at the start; no batch of it was washed.")
        return
    rows = [
        (
            f"{line.event.at:%Y-%m-%d %H:%M}",
            KINDS[type(line.event)].name,
            _said(one, line, taste),
            line.event.by,
            remark(line),
        )
        for line in one.lines
    ]
    sheet.listing(("When", "What", "Entry", "By", "Remark"), (3, 2.2, 7, 1, 5), rows)


def _said(one: InShift, line: Line[Event], taste: UnitSystem) -> str:
    said = event_text(line.event, one.shift.setup, lambda phrase: say(phrase, taste))
    where = one.went.get(line.seq)
    return f"{said}; sent to: {where}" if where else said
