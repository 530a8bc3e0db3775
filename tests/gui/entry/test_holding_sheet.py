"""The sheets of a hold say how likely its batches met too little, from the flag to the decision."""

from PySide6.QtCore import Qt

from tests.gui.entry.bench import Bench
from tests.some import some
from washmon.gui.context import UserContext
from washmon.gui.logbook.shift_tables import listing
from washmon.line.events import BatchWashed, HoldPlaced, Limit, ReadingTaken
from washmon.line.flags import Flag
from washmon.line.journal import Entry
from washmon.line.kinds import EntryKind
from washmon.reports.record_lists import LISTS
from washmon.units import UnitSystem

ENTER = Qt.Key.Key_Return


def bad_check(bench: Bench) -> tuple[Flag, list[int]]:
    """Wash eight batches of two lots before a bad check; the forecast has heard of all."""
    seqs = []
    for lot in ("L-1", "L-2"):
        for _ in range(4):
            bench.wait(1)
            batch = BatchWashed(at=bench.now, by="RM", tanks=(1, 2), lot=lot)
            seqs.append(bench.tell(batch).seq)
    bench.wait(1)
    read = ReadingTaken(at=bench.now, by="RM", tank=1, fac_mg_l=12.0)
    bench.tell(read)

    def has_heard() -> bool:
        ahead = bench.snapshot.forecasts.get(1)
        held = any(flag.rule == "hold" for flag in bench.snapshot.advice.flags)
        return held and ahead is not None and set(seqs) <= ahead.below.keys()

    bench.qtbot.waitUntil(has_heard)
    return next(flag for flag in bench.snapshot.advice.flags if flag.rule == "hold"), seqs


def note(bench: Bench) -> str:
    assert bench.sheet.note.isVisible()
    return bench.sheet.note.text().replace("\N{NO-BREAK SPACE}", " ")


def placed(bench: Bench, flag: Flag) -> HoldPlaced:
    bench.open(EntryKind.HOLD, flag=flag)
    with bench.saving():
        bench.press(ENTER)
    return bench.last(HoldPlaced)


def test_a_hold_is_placed_and_decided_on_with_its_chances_in_sight(bench: Bench) -> None:
    flag, seqs = bad_check(bench)
    bench.open(EntryKind.HOLD, flag=flag)
    said = note(bench)
    assert said.startswith("In question (8). Lot L-1: ")
    assert "under the critical low up to 4 % for each of 4; Lot L-2: about " in said
    assert "Washed at " in said
    hold = placed(bench, flag)
    assert hold.batches == tuple(seqs)
    assert len(hold.chances) == 8
    assert None not in hold.chances
    assert hold.failed == (Limit.LOW,)
    bench.open(EntryKind.RELEASE)
    assert "Lot L-1: " in note(bench)
    assert "Lot L-2: about " in note(bench)
    assert "%" in note(bench)


def test_a_tank_without_batches_says_nothing_of_chances(bench: Bench) -> None:
    bench.open(EntryKind.HOLD, tank=1)
    assert not bench.sheet.note.isVisible()


def test_a_correction_shows_what_was_estimated_then(bench: Bench) -> None:
    flag, _ = bad_check(bench)
    placed(bench, flag)
    shift = bench.snapshot.shift
    assert shift is not None
    entry: Entry = next(one for one in shift.entries if isinstance(one.event, HoldPlaced))
    bench.open(EntryKind.CORRECTION, correcting=entry)
    assert "Lot L-2: about " in note(bench)


def test_the_logbook_lists_the_chance_of_each_lot_and_batch(bench: Bench) -> None:
    flag, _ = bad_check(bench)
    placed(bench, flag)
    bench.qtbot.waitUntil(lambda: bool(bench.snapshot.shift and bench.snapshot.shift.holds))
    shift, person = bench.snapshot.shift, UserContext("RM", UnitSystem.METRIC, ".")
    assert shift is not None
    holds = listing(LISTS["holds"], shift, person)
    (row,) = holds.rows
    likely = row[holds.heads.index("Under critical low")].text
    assert likely.startswith("L-1: ")
    assert "L-2: about " in likely
    batches = listing(LISTS["batches"], shift, person)
    at = batches.heads.index("Under critical low")
    said = [row[at].text.replace("\N{NO-BREAK SPACE}", " ") for row in batches.rows]
    assert len(said) == 8
    assert all(one.endswith(" %") and one != "0 %" for one in some(said))


def test_each_of_two_open_holds_is_told_in_the_decision(bench: Bench) -> None:
    _, seqs = bad_check(bench)
    for batches in (seqs[:4], seqs[4:]):
        bench.tell(HoldPlaced(at=bench.now, by="RM", tank=1, batches=tuple(batches), reason="low"))
    bench.open(EntryKind.RELEASE)
    first, second = note(bench).split("\n")
    assert first.startswith("Tank 1, 4 batches, ")
    assert "Lot L-1: " in first
    assert "Lot L-2: about " in second
