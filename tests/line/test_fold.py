"""The fold: step by step or all at once, early or late, right at first or corrected later."""

from datetime import UTC, datetime, timedelta
from typing import NamedTuple

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from tests.shed import CHAIN, START, Shed, a_setup, a_tank
from washmon.line.events import (
    AcidAdded,
    BatchWashed,
    ClockChanged,
    Corrected,
    Decision,
    DoseAdded,
    Event,
    HandedOver,
    HoldPlaced,
    HoldReleased,
    LinePaused,
    LineResumed,
    NoteWritten,
    ReadingTaken,
    ShiftEnded,
    ShiftStarted,
    TankFilled,
    WaterEvent,
    WaterExchanged,
)
from washmon.line.flag_events import Acknowledged, FlagsChanged, FlagShelved, FlagUnshelved
from washmon.line.flags import Amount, Flag, Level, Step, StepKind
from washmon.line.fold import NotAShift, begin, fold, step
from washmon.line.journal import Entry, extend
from washmon.line.message import Message
from washmon.line.state import Fill, ShiftState

RULES_SEEN = ("chlorine-low", "ph-high")
SETUP = a_setup()


def at(minute: int) -> datetime:
    return START + timedelta(minutes=minute)


def a_flag(tank: int, rule: str, level: Level = Level.ACT) -> Flag:
    say = Message("x")
    step_asked = Step(kind=StepKind.CHECK, say=say)
    return Flag(tank=tank, rule=rule, level=level, title=say, why=say, step=step_asked, since=START)


class Draft(NamedTuple):
    """An event in the making: which kind, when, where, and a number or two for its fields."""

    kind: int
    minute: int
    tank: int
    number: int
    earlier: int
    """The entry that it is about, counted back from itself."""
    instead: tuple[int, int] | None
    """Kind and minute of what a correction puts in place; none withdraws."""


drafts = st.builds(
    Draft,
    kind=st.integers(0, 24),
    minute=st.integers(0, 240),
    tank=st.sampled_from([1, 2]),
    number=st.integers(1, 400),
    earlier=st.integers(1, 12),
    instead=st.none() | st.tuples(st.integers(0, 12), st.integers(0, 240)),
)


def _water(  # noqa: PLR0911 - one for each kind
    kind: int, minute: int, tank: int, number: float
) -> WaterEvent:
    """Return an event that touches water or produce; half of them are batches and readings."""
    when = at(minute)
    amount = Amount(number, "mL")
    match kind % 10:
        case 0:
            return TankFilled(at=when, by="RM", tank=tank, volume_l=number)
        case 1:
            return WaterExchanged(at=when, by="RM", tank=tank, volume_l=number)
        case 2 | 3:
            return DoseAdded(at=when, by="RM", tank=tank, product="bleach", amount=amount)
        case 4:
            return AcidAdded(at=when, by="RM", tank=tank, product="vinegar", amount=amount)
        case 5 | 6:
            return ReadingTaken(at=when, by="RM", tank=tank, fac_mg_l=number)
        case 7:
            return ReadingTaken(at=when, by="RM", tank=tank, ph=7.0)
        case _:
            tanks = (1, 2) if number % 2 else (tank,)
            return BatchWashed(at=when, by="RM", tanks=tanks, lot="L-1")


def _other(draft: Draft, entry: int) -> Event:  # noqa: PLR0911 - one for each kind
    """Return a decision or a correction about an earlier entry."""
    when, tank = at(draft.minute), draft.tank
    rule = RULES_SEEN[draft.number % 2]
    flag = a_flag(tank, rule, list(Level)[draft.number % 3])
    match draft.kind:
        case 13:
            return HoldPlaced(at=when, by="TK", tank=tank, batches=(entry,), reason="low")
        case 14:
            return HoldReleased(
                at=when, by="TK", hold=entry, decision=Decision.DIVERT, reason="to animals"
            )
        case 15:
            return Acknowledged(at=when, by="TK", tank=tank, rule=rule)
        case 16:
            return FlagsChanged(at=when, by="rules", upto=entry, raised=(flag,))
        case 17:
            return FlagsChanged(at=when, by="rules", upto=entry, cleared=((tank, rule),))
        case 18:
            return NoteWritten(at=when, by="TK", text="muddy")
        case 19:
            until = when + timedelta(minutes=20)
            return FlagShelved(
                at=when, by="TK", tank=tank, rule=rule, until=until, reason="kit", level=flag.level
            )
        case 20:
            return FlagUnshelved(at=when, by="TK", tank=tank, rule=rule)
        case _:
            right = draft.instead and _water(*draft.instead, tank, draft.number)
            return Corrected(at=when, by="TK", entry=entry, reason="misread", instead=right)


def _event(draft: Draft, seq: int) -> Event:
    if draft.kind < 13:
        return _water(draft.kind, draft.minute, draft.tank, draft.number)
    if draft.kind == 24:
        by_s = (draft.number - 200) * 90
        return ClockChanged(at=at(draft.minute), by="rules", by_s=by_s)
    if draft.kind > 21:
        kind = LinePaused if draft.kind == 22 else LineResumed
        return kind(at=at(draft.minute), by="TK")
    return _other(draft, max(1, seq - draft.earlier))


def _journal(drawn: list[Draft]) -> list[Entry]:
    events: list[Event] = [ShiftStarted(at=START, by="RM", setup=SETUP, lots=())]
    events += [_event(draft, seq) for seq, draft in enumerate(drawn, 1)]
    return [entry for entry, _ in extend(CHAIN, None, events, START)]


shifts = st.lists(drafts, max_size=20).map(_journal)
"""Journals in which times jump back and forth and corrections name any earlier entry."""


def stepped(entries: list[Entry]) -> ShiftState:
    state = begin(CHAIN, entries[0])
    for entry in entries[1:]:
        state = step(state, entry)
    return state


@settings(max_examples=300)
@given(shifts)
def test_folding_step_by_step_is_folding_all_at_once(entries: list[Entry]) -> None:
    assert stepped(entries) == fold(CHAIN, entries)


@given(shifts)
def test_every_batch_in_the_state_counts_those_before_it(entries: list[Entry]) -> None:
    for tank in fold(CHAIN, entries).tanks:
        assert [placed.batches for placed in tank.washed] == list(range(tank.batches))
        moments = [(placed.event.at, placed.seq) for placed in tank.washed]
        assert moments == sorted(moments)


@given(shifts)
def test_what_happened_in_a_fill_lies_within_it_and_in_order(entries: list[Entry]) -> None:
    for tank in fold(CHAIN, entries).tanks:
        assert [fill.number for fill in tank.fills] == list(range(1, len(tank.fills) + 1))
        for fill, later in zip(tank.fills, (*tank.fills[1:], None), strict=False):
            for series in (fill.readings, fill.doses, fill.acids, fill.exchanges):
                places = [(placed.event.at, placed.seq) for placed in series]
                assert places == sorted(places)
                assert all(place > (fill.at, fill.begun.seq) for place in places)
                if later is not None:
                    assert all(place < (later.at, later.begun.seq) for place in places)


@given(shifts)
def test_a_withdrawn_entry_leaves_no_trace_but_its_correction(entries: list[Entry]) -> None:
    last = entries[-1]
    withdrawn = Corrected(at=last.event.at, by="RM", entry=last.seq, reason="by mistake")
    ((correction, _),) = extend(CHAIN, last, [withdrawn], START)
    if isinstance(last.event, Corrected | ShiftStarted | ClockChanged):
        return
    before, after = fold(CHAIN, entries[:-1]), fold(CHAIN, [*entries, correction])
    assert after.tanks == before.tanks
    assert after.open_flags == before.open_flags
    assert after.shelved == before.shelved
    assert after.holds == before.holds
    assert after.corrections[last.seq] == withdrawn


def only_fill(shed: Shed, tank: int = 1) -> Fill:
    fill = shed.shift.tank(tank).fill
    assert fill is not None
    return fill


def test_batches_are_counted_per_fill_and_per_shift() -> None:
    shed = Shed()
    shed.fill(1)
    shed.fill(2)
    shed.wash(4, tanks=(1, 2))
    shed.wait(1).fill(1)
    shed.wash(3, tanks=(1, 2))
    one, two = shed.shift.tanks
    assert (one.batches, one.batches_in_fill) == (7, 3)
    assert (two.batches, two.batches_in_fill) == (7, 7)
    assert [fill.begun.batches for fill in one.fills] == [0, 4]


def test_a_late_entry_finds_its_place_among_the_batches() -> None:
    shed = Shed()
    shed.fill()
    shed.wash(4)
    late = ReadingTaken(at=START + timedelta(minutes=5), by="RM", tank=1, fac_mg_l=44)
    shed.tell(late)
    (reading,) = only_fill(shed).readings
    assert reading.event == late
    assert reading.batches == 2  # batches went in at minutes 2, 4, 6 and 8
    assert shed.shift.last_at == START + timedelta(minutes=8)


def test_a_batch_entered_late_moves_the_count_of_what_came_after_it() -> None:
    shed = Shed()
    shed.fill()
    shed.wash(2)
    shed.read(fac=44)
    shed.wait(1)
    shed.tell(BatchWashed(at=START + timedelta(minutes=3), by="TK", tanks=(1,), lot="L-1"))
    assert shed.shift.tank(1).batches == 3
    assert only_fill(shed).readings[0].batches == 3


def test_a_correction_puts_the_right_value_in_the_old_place() -> None:
    shed = Shed()
    shed.fill()
    entry = shed.read(fac=84)
    shed.wash(2)
    assert isinstance(entry.event, ReadingTaken)
    right = replace(entry.event, fac_mg_l=48.0)
    shed.tell(Corrected(at=shed.now, by="TK", entry=entry.seq, reason="misread", instead=right))
    (reading,) = only_fill(shed).readings
    assert (reading.seq, reading.event, reading.batches) == (entry.seq, right, 0)
    assert shed.shift.entries[entry.seq] == entry
    assert shed.shift.corrections[entry.seq].reason == "misread"


def test_the_newest_of_several_corrections_counts() -> None:
    shed = Shed()
    shed.fill()
    entry = shed.read(fac=84)
    assert isinstance(entry.event, ReadingTaken)
    for level in (48.0, 46.0):
        shed.tell(
            Corrected(
                at=shed.now,
                by="TK",
                entry=entry.seq,
                reason="misread",
                instead=replace(entry.event, fac_mg_l=level),
            )
        )
    assert [one.event.fac_mg_l for one in only_fill(shed).readings] == [46.0]


def test_a_withdrawn_batch_is_not_counted_and_a_withdrawn_fill_takes_its_water_along() -> None:
    shed = Shed()
    fill = shed.fill()
    batch = shed.wash(3)[1]
    shed.read(fac=44)
    shed.tell(Corrected(at=shed.now, by="RM", entry=batch.seq, reason="twice"))
    assert shed.shift.tank(1).batches == 2
    assert only_fill(shed).readings[0].batches == 2
    shed.tell(Corrected(at=shed.now, by="RM", entry=fill.seq, reason="other tank"))
    assert shed.shift.tank(1).fill is None
    assert shed.shift.tank(1).batches == 2


def test_a_fill_withdrawn_in_the_middle_gives_its_readings_to_the_fill_before() -> None:
    shed = Shed()
    shed.fill()
    shed.wait(1).read(fac=50)
    second = shed.wait(1).fill()
    shed.wait(1).read(fac=48)
    shed.tell(Corrected(at=shed.now, by="RM", entry=second.seq, reason="not changed"))
    assert [one.event.fac_mg_l for one in only_fill(shed).readings] == [50, 48]
    assert len(shed.shift.tank(1).fills) == 1


def test_flags_are_raised_acknowledged_changed_and_cleared() -> None:
    shed = Shed()
    low, stop = a_flag(1, "chlorine-low"), a_flag(1, "chlorine-low", Level.STOP)
    shed.tell(FlagsChanged(at=shed.now, by="rules", upto=0, raised=(low,)))
    shed.tell(Acknowledged(at=shed.now, by="TK", tank=1, rule="chlorine-low"))
    (record,) = shed.shift.open_flags
    assert record.acknowledged is not None
    assert record.acknowledged.by == "TK"
    shed.wait(2).tell(FlagsChanged(at=shed.now, by="rules", upto=2, raised=(stop,)))
    (record,) = shed.shift.open_flags
    assert record.flag.level is Level.STOP
    assert record.acknowledged is None  # it presses more now: it must be seen again
    assert shed.shift.closed_flags[0].cleared_at == shed.now
    shed.tell(FlagsChanged(at=shed.now, by="rules", upto=3, cleared=((1, "chlorine-low"),)))
    assert shed.shift.open_flags == ()
    assert len(shed.shift.closed_flags) == 2


def test_a_second_hold_stands_beside_the_first() -> None:
    shed = Shed()
    shed.fill()
    batches = [entry.seq for entry in shed.wash(2)]
    holds = [shed.hold(batch).seq for batch in batches]
    assert [one.seq for one in shed.shift.open_holds] == holds
    assert shed.shift.held_batches == set(batches)


def test_a_hold_stays_open_until_somebody_decides() -> None:
    shed = Shed()
    shed.fill()
    batch = shed.wash(1)[0]
    hold = shed.hold(batch.seq)
    assert [one.seq for one in shed.shift.open_holds] == [hold.seq]
    shed.tell(
        HoldReleased(
            at=shed.now, by="RM", hold=hold.seq, decision=Decision.DIVERT, reason="to animals"
        )
    )
    assert shed.shift.open_holds == ()
    assert shed.shift.held_batches == {batch.seq}


def test_a_shift_changes_hands_and_ends() -> None:
    shed = Shed()
    assert shed.shift.in_charge == "RM"
    shed.tell(HandedOver(at=shed.now, by="RM", to="TK"))
    assert shed.shift.in_charge == "TK"
    ended = ShiftEnded(at=shed.now, by="TK")
    shed.tell(ended)
    assert shed.shift.ended == ended


def test_a_late_entry_in_another_time_zone_is_placed_by_its_moment() -> None:
    shed = Shed()
    shed.fill()
    shed.wash(3)
    moment = (START + timedelta(minutes=3)).astimezone(UTC)
    shed.tell(ReadingTaken(at=moment, by="RM", tank=1, fac_mg_l=44))
    assert only_fill(shed).readings[0].batches == 1


def test_entries_that_start_no_shift_are_refused() -> None:
    with pytest.raises(NotAShift):
        fold(CHAIN, [])
    note = NoteWritten(at=START, by="RM", text="hello")
    ((entry, _),) = extend(CHAIN, None, [note], START)
    with pytest.raises(NotAShift):
        fold(CHAIN, [entry])


def test_a_line_stands_still_until_it_is_said_to_go_on() -> None:
    shed = Shed()
    assert (shed.shift.paused, shed.shift.resumed_at) == (None, None)
    pause = shed.wait(10).tell(LinePaused(at=shed.now, by="RM", reason="breakdown"))
    paused = shed.shift.paused
    assert paused is not None
    stands = (paused.seq, paused.placed.at, paused.placed.reason)
    assert stands == (pause.seq, shed.now, "breakdown")
    assert shed.shift.resumed_at is None
    shed.wait(45).tell(LineResumed(at=shed.now, by="RM"))
    resumed = shed.shift
    assert (resumed.paused, resumed.resumed_at) == (None, shed.now)
    shed.wait(10).tell(LinePaused(at=shed.now, by="RM"))
    assert shed.shift.resumed_at is None
    assert [one.over is None for one in shed.shift.pauses] == [False, True]


def test_a_batch_or_a_reading_in_use_ends_a_pause_and_nothing_else_does() -> None:
    shed = Shed(a_setup(a_tank(1, "First", second_volume_l=400.0)))
    shed.fill()
    shed.fill(second=True)
    shed.tell(LinePaused(at=shed.now, by="RM"))
    shed.wait(5).dose()
    shed.acid()
    shed.read(1, 50, second=True)
    assert shed.shift.paused is not None
    shed.wait(5).read(1, 50)
    assert shed.shift.resumed_at == shed.now
    shed.tell(LinePaused(at=shed.now, by="RM"))
    shed.wash()
    assert shed.shift.resumed_at == shed.now


def test_a_pause_that_is_entered_late_is_ended_by_what_came_after_it() -> None:
    shed = Shed()
    shed.fill()
    shed.wait(30).read(1, 50)
    shed.tell(LinePaused(at=shed.now - timedelta(minutes=20), by="RM"))
    assert shed.shift.resumed_at == shed.now
