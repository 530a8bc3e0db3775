"""The second fill in the fold and at entry: made ready beside the tank, swapped in, corrected."""

from datetime import datetime, timedelta
from typing import NamedTuple

from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from tests.shed import CHAIN, START, Shed, a_setup, a_tank
from washmon.line.check import Verdict, check
from washmon.line.events import (
    AcidAdded,
    BatchWashed,
    Corrected,
    DoseAdded,
    Event,
    ReadingTaken,
    SecondSwapped,
    ShiftStarted,
    TankFilled,
    WaterEvent,
    WaterExchanged,
)
from washmon.line.flags import Amount
from washmon.line.fold import begin, fold, step
from washmon.line.journal import Entry, extend
from washmon.line.message import say
from washmon.line.second import lacking, unfounded_swaps
from washmon.line.state import Fill, Placed, TankState
from washmon.units import UnitSystem

SETUP = a_setup(a_tank(1, "First", second_volume_l=400.0), a_tank(2, "Second"))


Poured = ReadingTaken | DoseAdded | AcidAdded | WaterExchanged


class Draft(NamedTuple):
    """An event in the making; ``corrects`` counts back to an entry that it corrects instead."""

    kind: int
    minute: int
    second: bool
    corrects: int


def _event(draft: Draft) -> WaterEvent:
    at, second = START + timedelta(minutes=draft.minute), draft.second
    match draft.kind:
        case 0:
            return TankFilled(at=at, by="RM", tank=1, volume_l=400.0, second=second)
        case 1:
            return SecondSwapped(at=at, by="RM", tank=1)
        case 2:
            amount = Amount(50.0, "mL")
            return DoseAdded(at=at, by="RM", tank=1, product="bleach", amount=amount, second=second)
        case 3:
            return WaterExchanged(at=at, by="RM", tank=1, volume_l=9.0, second=second)
        case 4 | 5:
            return ReadingTaken(at=at, by="RM", tank=1, fac_mg_l=50.0, second=second)
        case _:
            return BatchWashed(at=at, by="RM", tanks=(1,), lot="L-1")


def _journal(drafts: list[Draft]) -> list[Entry]:
    events: list[Event] = [ShiftStarted(at=START, by="RM", setup=SETUP, lots=())]
    for seq, draft in enumerate(drafts, 1):
        done = _event(draft)
        event: Event = done
        about = seq - draft.corrects
        if draft.corrects and about > 0 and not isinstance(events[about], Corrected):
            right = done if type(done) is type(events[about]) else None
            event = Corrected(at=START, by="RM", entry=about, reason="slip", instead=right)
        events.append(event)
    return [entry for entry, _ in extend(CHAIN, None, events, START)]


drafts = st.builds(
    Draft,
    kind=st.integers(0, 7),
    minute=st.integers(0, 40),
    second=st.booleans(),
    corrects=st.sampled_from([0, 0, 0, 0, 1, 2, 5]),
)
journals = st.lists(drafts, max_size=25).map(_journal)
"""Journals in which times jump back and forth and corrections name any earlier entry."""


def tank_of(entries: list[Entry]) -> TankState:
    return fold(CHAIN, entries).tank(1)


def places(fill: Fill) -> list[tuple[datetime, int, bool, int]]:
    """Return when, where, to which fill and after how many batches each thing was done."""
    water: tuple[tuple[Placed[Poured], ...], ...] = (
        fill.readings,
        fill.doses,
        fill.acids,
        fill.exchanges,
    )
    return [
        (one.event.at, one.seq, one.event.second, one.batches) for series in water for one in series
    ]


@settings(max_examples=300)
@given(journals)
def test_folding_step_by_step_is_folding_all_at_once(entries: list[Entry]) -> None:
    state = begin(CHAIN, entries[0])
    for entry in entries[1:]:
        state = step(state, entry)
    assert state == fold(CHAIN, entries)


@given(journals)
def test_the_order_of_writing_makes_no_difference_to_the_water(entries: list[Entry]) -> None:
    if any(isinstance(entry.event, Corrected) for entry in entries):
        return
    start, *rest = entries
    moments = [entry.event.at for entry in rest]
    if len(set(moments)) < len(moments):
        return
    events = [start.event, *(entry.event for entry in reversed(rest))]
    backwards = [entry for entry, _ in extend(CHAIN, None, events, START)]
    one, other = tank_of(entries), tank_of(backwards)
    assert [fill.at for fill in one.fills] == [fill.at for fill in other.fills]
    assert [len(places(fill)) for fill in one.every_fill] == [
        len(places(fill)) for fill in other.every_fill
    ]


@given(journals)
def test_what_was_done_beside_the_tank_lies_before_the_swap_and_the_rest_after_it(
    entries: list[Entry],
) -> None:
    tank = tank_of(entries)
    for fill in tank.fills:
        used = (fill.at, fill.used.seq)
        for at, seq, second, batches in places(fill):
            assert ((at, seq) < used) is second
            assert batches == fill.used.batches if second else batches >= fill.used.batches
    waiting = (*tank.unused, *(() if tank.second is None else (tank.second,)))
    for fill in waiting:
        assert fill.begun.event.second
        assert all(second and batches == 0 for _, _, second, batches in places(fill))


@given(journals)
def test_nothing_that_was_put_into_a_waiting_fill_is_lost(entries: list[Entry]) -> None:
    state = fold(CHAIN, entries)
    every = [place for fill in state.tank(1).every_fill for place in places(fill)]
    found = [seq for _, seq, second, _ in every if second]
    expected, there = [], False
    lines = [
        (entry.seq, state.corrections[entry.seq].instead if entry.seq in state.corrections else e)
        for entry in entries
        if not isinstance(e := entry.event, Corrected | ShiftStarted)
    ]
    ordered = sorted(((event.at, seq, event) for seq, event in lines if event), key=lambda o: o[:2])
    for _, seq, event in ordered:
        if isinstance(event, TankFilled) and event.second:
            there = True
        elif isinstance(event, SecondSwapped):
            there = False
        elif there and getattr(event, "second", False):
            expected.append(seq)
    assert sorted(found) == sorted(expected)


# -- a shed with a second vessel ------------------------------------------------------------------


def a_shed() -> Shed:
    """Return a line whose tank 1 washes in good water, with a second fill dosed beside it."""
    shed = Shed(SETUP)
    shed.fill(1)
    shed.dose(1, 200)
    shed.wait(6).read(1, 50, ph=7.0)
    shed.wash(3)
    shed.fill(1, 400.0, second=True)
    shed.dose(1, 160, second=True)
    return shed


def ready(shed: Shed) -> Shed:
    shed.wait(6).read(1, 52, ph=7.0, second=True)
    shed.read(1, 44, ph=7.1)
    return shed


def lacks(shed: Shed) -> list[str]:
    tank = shed.shift.tank(1)
    return [say(one, UnitSystem.METRIC) for one in lacking(tank.second, tank.spec, shed.now)]


def verdict(shed: Shed, event: Event) -> Verdict:
    return check(shed.shift, event, shed.now)


def words(found: Verdict) -> str:
    every = (*(fault.message for fault in found.faults), *found.doubts)
    return " ".join(say(one, UnitSystem.METRIC) for one in every)


def a_swap(shed: Shed, minutes_ago: float = 0) -> SecondSwapped:
    return SecondSwapped(at=shed.now - timedelta(minutes=minutes_ago), by="RM", tank=1)


def test_the_second_fill_waits_beside_the_water_in_use_and_takes_its_place_at_the_swap() -> None:
    shed = ready(a_shed())
    tank = shed.shift.tank(1)
    assert tank.fill is not None
    assert [one.event.fac_mg_l for one in tank.fill.readings] == [50, 44]
    filled_at = tank.second.begun.event.at if tank.second else None
    shed.wash(1)
    shed.read(1, 43)
    shed.swap()
    shed.wash(2)
    tank = shed.shift.tank(1)
    assert tank.second is None
    assert tank.fill is not None
    assert (tank.fill.number, tank.fill.volume_l, tank.batches_in_fill) == (2, 400.0, 2)
    assert tank.fill.begun.event.at == filled_at
    assert tank.fill.at == shed.now - timedelta(minutes=4)
    newest = tank.fill.latest("fac_mg_l")
    assert newest is not None
    assert (newest.event.fac_mg_l, newest.batches) == (52, 4)
    assert newest in tank.fill.readings


def test_a_second_fill_that_is_let_go_keeps_what_was_put_into_it() -> None:
    shed = a_shed()
    shed.wait(1).fill(1, 400.0, second=True)
    tank = shed.shift.tank(1)
    assert [len(fill.doses) for fill in tank.unused] == [1]
    assert tank.second is not None
    assert tank.second.doses == ()
    assert len(tank.every_fill) == 3


def test_a_second_fill_lacks_one_thing_after_the_other_until_it_is_ready() -> None:
    shed = Shed(SETUP)
    assert lacks(shed) == ["The second fill is not filled yet."]
    shed.fill(1, 400.0, second=True)
    assert lacks(shed) == ["The second fill was not measured yet."]
    shed.dose(1, 60, second=True)
    assert "was not checked since" in lacks(shed)[0]
    shed.wait(1).read(1, 20, ph=8.2, second=True)
    assert "was not checked since" in lacks(shed)[0]  # not mixed in yet
    shed.wait(6).read(1, 20, ph=8.2, second=True)
    assert lacks(shed) == [
        "The second fill is at 20\N{NO-BREAK SPACE}ppm, under 35\N{NO-BREAK SPACE}ppm.",
        "The second fill is at pH 8.2; it should be between 6.5 and 7.5.",
    ]
    shed.acid(1, 60, second=True)
    shed.wait(6).read(1, 20, ph=7.1, second=True)
    shed.dose(1, 120, second=True)
    shed.wait(6).read(1, 50, second=True)
    assert "not checked" in lacks(shed)[0]  # a dose moves the pH
    shed.read(1, 50, ph=7.3, second=True)
    assert lacks(shed) == []


def test_water_that_waited_longer_than_an_hour_is_measured_again() -> None:
    # An hour: common practice, no published source.
    shed = ready(a_shed())
    shed.wait(60)
    assert lacks(shed) == []
    shed.wait(1)
    assert "61" in lacks(shed)[0]
    shed.read(1, 47, second=True)
    assert lacks(shed) == []


def test_a_swap_of_a_ready_fill_is_taken_without_a_question() -> None:
    shed = ready(a_shed())
    assert verdict(shed, a_swap(shed)) == Verdict()


def test_a_swap_of_a_fill_that_is_not_ready_is_asked_about() -> None:
    shed = a_shed()
    shed.wait(6).read(1, 44)
    found = verdict(shed, a_swap(shed))
    assert found.faults == ()
    assert "was not checked since" in words(found)
    assert "in question" in words(found)
    shed.read(1, 30, ph=7.0, second=True)  # under its low, though over its critical low
    found = verdict(shed, a_swap(shed))
    assert "under" in words(found)
    assert "in question" not in words(found)


def test_a_swap_asks_for_a_reading_of_the_old_water_first() -> None:
    shed = ready(a_shed())
    shed.wash(2)
    assert "2 batches were washed since the last check" in words(verdict(shed, a_swap(shed)))


def test_nothing_is_swapped_in_where_no_second_fill_waits() -> None:
    shed = Shed(SETUP)
    shed.fill(1)
    assert "enter its filling first" in words(verdict(shed, a_swap(shed)))
    assert verdict(shed, a_swap(shed)).faults
    shed = ready(a_shed())
    shed.swap()
    assert verdict(shed, a_swap(shed)).faults  # not a second time
    other = SecondSwapped(at=shed.now, by="RM", tank=2)
    assert "no second vessel" in words(verdict(shed, other))
    filled = TankFilled(at=shed.now, by="RM", tank=2, volume_l=400.0, second=True)
    assert "no second vessel" in words(verdict(shed, filled))


def test_the_usual_volume_of_a_second_fill_is_that_of_its_vessel() -> None:
    shed = Shed(SETUP)
    filled = TankFilled(at=shed.now, by="RM", tank=1, volume_l=400.0, second=True)
    assert verdict(shed, filled) == Verdict()
    assert "second vessel holds" in words(verdict(shed, replace(filled, volume_l=100.0)))


def test_acid_and_hypochlorite_are_held_apart_in_each_fill_by_itself() -> None:
    shed = a_shed()
    acid = shed.acid(1, 30, second=True).event
    assert "chlorine gas" in words(verdict(shed, acid))  # just after the dose beside the tank
    in_use = replace(acid, second=False)
    assert "chlorine gas" not in words(verdict(shed, in_use))


def test_a_late_reading_of_the_second_fill_is_placed_in_it_though_it_is_in_use_by_now() -> None:
    shed = ready(a_shed())
    shed.wait(2).swap()
    shed.wash(2)
    late = ReadingTaken(
        at=shed.now - timedelta(minutes=5), by="RM", tank=1, fac_mg_l=51.0, second=True
    )
    assert verdict(shed, late).faults == ()
    shed.tell(late)
    fill = shed.shift.tank(1).fill
    assert fill is not None
    assert [one.event.fac_mg_l for one in fill.readings] == [52, 51.0]
    too_late = replace(late, at=shed.now)
    assert verdict(shed, too_late).faults  # by then it was no second fill any more


def test_a_late_swap_that_would_leave_another_without_a_fill_is_refused() -> None:
    shed = ready(a_shed())
    shed.wait(5).swap()
    before = a_swap(shed, minutes_ago=2)
    assert "would have no second fill" in words(verdict(shed, before))


def test_a_filling_is_not_withdrawn_from_under_its_swap() -> None:
    shed = ready(a_shed())
    filling = next(
        entry
        for entry in shed.shift.entries
        if isinstance(entry.event, TankFilled) and entry.event.second
    )
    swap = shed.swap()
    shed.wait(1)
    withdrawn = Corrected(at=shed.now, by="RM", entry=filling.seq, reason="other tank")
    assert [fault.field for fault in verdict(shed, withdrawn).faults] == ["entry"]
    later = replace(withdrawn, instead=replace(filling.event, at=shed.now))
    assert verdict(shed, later).faults
    shed.tell(Corrected(at=shed.now, by="RM", entry=swap.seq, reason="not swapped"))
    assert verdict(shed, withdrawn).faults == ()


def test_a_withdrawn_swap_gives_the_old_water_back_and_the_second_fill_its_own() -> None:
    shed = ready(a_shed())
    swap = shed.swap()
    shed.wash(2)
    shed.read(1, 41)
    shed.tell(Corrected(at=shed.now, by="RM", entry=swap.seq, reason="not swapped"))
    tank = shed.shift.tank(1)
    assert tank.fill is not None
    assert tank.second is not None
    assert [one.event.fac_mg_l for one in tank.fill.readings] == [50, 44, 41]
    assert [one.event.fac_mg_l for one in tank.second.readings] == [52]
    assert tank.batches_in_fill == 5


def test_a_journal_that_swaps_in_what_it_never_filled_goes_on_with_water_nobody_knows() -> None:
    shed = Shed(SETUP)
    shed.fill(1)
    shed.read(1, 50, ph=7.0)
    swap = shed.wait(1).swap()
    tank = shed.shift.tank(1)
    assert tank.fill is not None
    assert (tank.fill.volume_l, tank.fill.readings) == (400.0, ())
    assert unfounded_swaps(shed.shift) == {swap.seq}


def test_a_batch_into_a_second_fill_that_nothing_vouches_for_is_asked_about() -> None:
    shed = ready(a_shed())
    batch = BatchWashed(at=shed.now, by="RM", tanks=(1,), lot="L-1")
    shed.swap()
    assert verdict(shed, batch) == Verdict()
    late = ready(a_shed())
    late.wait(90).read(1, 44, ph=7.1)
    late.swap()
    batch = replace(batch, at=late.now)
    assert "no check that still counts" in words(verdict(late, batch))
    late.read(1, 47)
    assert verdict(late, batch) == Verdict()


def test_a_late_swap_before_something_went_into_the_fill_that_waited_is_refused() -> None:
    shed = ready(a_shed())
    shed.wait(5)
    shed.dose(1, 40, second=True)
    late = a_swap(shed, minutes_ago=2)
    found = verdict(shed, late)
    assert [fault.field for fault in found.faults] == ["at"]
    assert "still waited at" in words(found)
    assert verdict(shed, a_swap(shed)).faults == ()
    swap = shed.wait(1).swap()
    earlier = Corrected(at=shed.now, by="RM", entry=swap.seq, reason="was earlier", instead=late)
    assert "still waited at" in words(verdict(shed, earlier))


def test_entries_whose_water_a_correction_takes_away_are_counted() -> None:
    shed = Shed(SETUP)
    filling = shed.fill(1)
    shed.dose(1, 200)
    shed.wait(6).read(1, 50, ph=7.0)
    shed.wash(2)
    withdrawn = Corrected(at=shed.now, by="RM", entry=filling.seq, reason="the other tank")
    found = verdict(shed, withdrawn)
    assert found.faults == ()
    assert "4 other entries are about water that is not there then" in words(found)
    again = Shed(SETUP)
    first = again.fill(1)
    again.wait(1).fill(1)
    again.read(1, 50, ph=7.0)
    withdrawn = Corrected(at=again.now, by="RM", entry=first.seq, reason="entered twice")
    assert verdict(again, withdrawn) == Verdict()


def test_a_bad_reading_that_is_moved_to_the_second_fill_is_asked_about() -> None:
    shed = ready(a_shed())
    bad = shed.wait(1).read(1, 12, ph=7.0)
    assert isinstance(bad.event, ReadingTaken)
    moved = Corrected(
        at=shed.now,
        by="RM",
        entry=bad.seq,
        reason="it was the second fill",
        instead=replace(bad.event, second=True),
    )
    assert "takes away 12" in words(verdict(shed, moved))


def test_a_filling_that_would_let_out_what_was_dosed_and_never_used_is_asked_about() -> None:
    shed = ready(a_shed())
    again = TankFilled(at=shed.now, by="RM", tank=1, volume_l=400.0, second=True)
    assert "was dosed, and nothing was washed in it" in words(verdict(shed, again))
    shed.swap()
    assert "was dosed, and nothing" in words(verdict(shed, replace(again, second=False)))
    assert verdict(shed, again) == Verdict()  # its vessel is empty
    shed.wash(1)
    shed.read(1, 50, ph=7.0)
    assert "was dosed, and nothing" not in words(verdict(shed, replace(again, second=False)))
