"""What a hold says of itself: chances as they were estimated then, and which limit failed."""

import math
from collections.abc import Iterable

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from scipy.stats import norm

from tests.shed import START, Shed, a_peracetic_setup, a_setup, a_tank
from washmon.forecast.forecast_cache import ForecastCache
from washmon.line.check import check
from washmon.line.events import Corrected, HoldPlaced, Limit, ReadingTaken
from washmon.line.held_words import batch_word, batch_words, held_words, lot_words, washed_in
from washmon.line.message import Message, say
from washmon.line.reading import range_of
from washmon.line.setup import Stage
from washmon.rules.base import RuleContext
from washmon.rules.holding import estimated, unestimated
from washmon.rules.in_question import chances_below
from washmon.units import UnitSystem


def begun(**tank: object) -> Shed:
    shed = Shed(a_setup(a_tank(1, "First", Stage.WASH, **tank), a_tank(2, "Second")))
    shed.fill(1)
    shed.dose(1, ml=200)
    shed.wait(6).read(1, 50, ph=7.0)
    return shed


def hold(shed: Shed, *seqs: int, tank: int = 1) -> HoldPlaced:
    """Return a hold as the program takes it in, with no forecast at hand."""
    placed = HoldPlaced(at=shed.now, by="RM", tank=tank, batches=seqs, reason="low")
    made = estimated(shed.shift, placed, {}, shed.now)
    assert isinstance(made, HoldPlaced)
    return made


def words(messages: Iterable[Message | tuple[str, Message]]) -> list[str]:
    said = []
    for one in messages:
        message = one if isinstance(one, Message) else one[1]
        said.append(say(message, UnitSystem.METRIC).replace("\N{NO-BREAK SPACE}", " "))
    return said


def test_a_hold_keeps_the_chance_of_each_batch_that_the_bridge_tells() -> None:
    shed = begun()
    seqs = tuple(entry.seq for entry in shed.wash(8))
    shed.wait(1).read(1, 15, ph=7.0)
    placed = hold(shed, *seqs)
    chances = [chance for chance in placed.chances if chance is not None]
    assert len(chances) == 8
    assert chances == sorted(chances)
    # 50 to 15 mg/L by straight line passes 25 after 5.7 of 8 batches.
    assert chances[4] < 0.5 < chances[6]
    assert placed.failed == (Limit.LOW,)
    assert words(held_words(placed)) == ["about 2 of 8 under the critical low"]
    assert words(lot_words(placed, washed_in(shed.shift))) == [
        "about 2 of 8 under the critical low"
    ]


def test_a_bridge_is_as_unsure_as_both_readings_and_the_batches_between_them() -> None:
    # A Brownian bridge between ends that are themselves unsure (Karatzas and Shreve, Brownian
    # Motion and Stochastic Calculus, 5.6.B; value from memory): the variance at a share t of the
    # way is ((1 - t) a)^2 + (t b)^2 + n s^2 t (1 - t). The normal distribution is scipy's.
    shed = begun()
    first = shed.shift.tanks[0].fills[-1].readings[-1].event
    seqs = tuple(entry.seq for entry in shed.wash(8))
    last = shed.wait(1).read(1, 15, ph=7.0).event
    assert isinstance(last, ReadingTaken)
    setup, spec = shed.shift.setup, shed.shift.tank(1).spec
    ranges = [range_of(setup, spec, one) for one in (first, last)]
    ends = [(high - low) / 2.56 for low, high in ranges]
    stray = 0.25 * 35 / 8
    expected = []
    for share in ((place + 0.5) / 8 for place in range(8)):
        read = ((1 - share) * ends[0]) ** 2 + (share * ends[1]) ** 2
        spread = math.sqrt(read + 8 * stray**2 * share * (1 - share))
        expected.append(norm.cdf((25 - (50 - 35 * share)) / spread))
    assert hold(shed, *seqs).chances == pytest.approx(tuple(expected), abs=6e-4)


def test_a_hold_keeps_what_the_forecast_tells_where_there_is_one() -> None:
    shed = begun()
    before = shed.wash(3)
    shed.dose(1, ml=40)
    shed.wait(6)
    seqs = tuple(entry.seq for entry in (*before, *shed.wash(3)))
    shed.wait(8).read(1, 15, ph=7.0)
    forecasts = ForecastCache().renewed(shed.shift, shed.now)
    placed = HoldPlaced(at=shed.now, by="RM", tank=1, batches=seqs, reason="low")
    made = estimated(shed.shift, placed, forecasts, shed.now)
    assert isinstance(made, HoldPlaced)
    assert made.chances == tuple(round(forecasts[1].below[seq], 3) for seq in seqs)
    assert hold(shed, *seqs).chances == ()  # no bridge leads over a dose


def test_where_another_limit_failed_no_chance_of_chlorine_is_told_but_the_limit() -> None:
    shed = begun(critical_ph=8.5)
    seqs = tuple(entry.seq for entry in shed.wash(2))
    shed.read(1, 50, ph=8.8)
    tank = shed.shift.tank(1)
    assert tank.fill is not None
    forecasts = ForecastCache().renewed(shed.shift, shed.now)
    made = estimated(shed.shift, hold(shed, *seqs), forecasts, shed.now)
    assert isinstance(made, HoldPlaced)
    assert (made.chances, made.failed) == ((), (Limit.PH,))
    assert words(held_words(made)) == ["a check over the critical pH"]
    assert words([batch_word(made, seqs[0])]) == ["a check over the critical pH"]
    assert list(lot_words(made, washed_in(shed.shift))) == []


def test_a_batch_too_short_in_the_water_says_so_and_no_chance() -> None:
    shed = begun(critical_contact_s=45.0)
    (short,) = shed.wash(1, contact_s=30)
    placed = hold(shed, short.seq)
    assert (placed.chances, placed.failed) == ((), (Limit.CONTACT,))
    assert words(held_words(placed)) == ["too short in the water"]


def test_what_nobody_estimated_says_so_and_never_nought() -> None:
    old = HoldPlaced(at=START, by="RM", tank=1, batches=(4, 5), reason="low")
    assert words(held_words(old)) == ["chance under the critical low not estimated"]
    assert words([batch_word(old, 4)]) == ["not estimated"]
    part = replace(old, chances=(None, 0.0))
    assert words(held_words(part)) == ["chance under the critical low 1 % (1 more not estimated)"]
    few = replace(old, chances=(0.04, 0.12))
    assert words(held_words(few)) == ["chance under the critical low up to 12 % for each of 2"]
    assert words([batch_word(part, 4), batch_word(part, 5)]) == ["not estimated", "1 %"]


def test_peracetic_acid_has_no_chance_of_chlorine() -> None:
    shed = Shed(a_peracetic_setup())
    shed.fill(1)
    shed.wait(10).read(1, None, paa_mg_l=50)
    seqs = tuple(entry.seq for entry in shed.wash(2))
    shed.wait(1).read(1, None, paa_mg_l=10)
    placed = hold(shed, *seqs)
    assert (placed.chances, placed.failed) == ((), (Limit.LOW,))
    assert words(held_words(placed)) == [
        "chance under the critical low not estimated",
        "a check under the critical low",
    ]


def test_water_that_nobody_had_found_good_is_told() -> None:
    shed = Shed()
    shed.fill(1)
    (batch,) = shed.wash(1)
    assert hold(shed, batch.seq).failed == (Limit.UNCHECKED,)


def test_batches_that_no_rule_questions_have_no_failed_limit() -> None:
    shed = begun()
    (batch,) = shed.wash(1)
    placed = hold(shed, batch.seq)
    assert (placed.chances, placed.failed) == ((), ())


def test_what_went_through_the_next_tank_has_a_limit_and_no_chance_of_this_one() -> None:
    shed = begun()
    (first,) = shed.wash(1)
    (second,) = shed.wash(1, tanks=(2,))
    shed.wait(1).read(1, 15, ph=7.0)
    placed = hold(shed, first.seq, second.seq)
    assert placed.failed == (Limit.LOW,)
    assert placed.chances[0] is not None
    assert placed.chances[1] is None


def test_a_correction_keeps_what_was_estimated_and_adds_what_is_new() -> None:
    shed = begun()
    seqs = [entry.seq for entry in shed.wash(4)]
    shed.wait(1).read(1, 15, ph=7.0)
    first = shed.tell(replace(hold(shed, *seqs[:3]), chances=(0.1, 0.2, 0.3)))
    wider = HoldPlaced(at=shed.now, by="RM", tank=1, batches=tuple(seqs), reason="low")
    fix = Corrected(at=shed.now, by="RM", entry=first.seq, reason="one more", instead=wider)
    made = estimated(shed.shift, fix, {}, shed.now)
    assert isinstance(made, Corrected)
    assert isinstance(made.instead, HoldPlaced)
    assert made.instead.chances[:3] == (0.1, 0.2, 0.3)
    assert made.instead.chances[3] == hold(shed, seqs[3]).chances[0]
    assert made.instead.failed == (Limit.LOW,)


def test_a_hold_on_the_wrong_tank_is_estimated_anew_for_the_right_one() -> None:
    shed = begun()
    seqs = tuple(entry.seq for entry in shed.wash(2))
    shed.wait(1).read(1, 15, ph=7.0)
    first = shed.tell(replace(hold(shed, *seqs, tank=2), chances=(0.5, 0.5)))
    right = HoldPlaced(at=shed.now, by="RM", tank=1, batches=seqs, reason="low")
    fix = Corrected(at=shed.now, by="RM", entry=first.seq, reason="tank", instead=right)
    made = estimated(shed.shift, fix, {}, shed.now)
    assert isinstance(made, Corrected)
    assert made.instead == hold(shed, *seqs)


def test_what_a_person_sends_as_chances_is_not_kept() -> None:
    shed = begun()
    (batch,) = shed.wash(1)
    typed = replace(hold(shed, batch.seq), chances=(0.01,), failed=(Limit.PH,))
    assert estimated(shed.shift, typed, {}, shed.now) == hold(shed, batch.seq)
    assert unestimated(typed) == hold(shed, batch.seq)


@pytest.mark.parametrize("chances", [(0.2,), (0.2, 1.5), (-0.1, None), (float("nan"), 0.2)])
def test_chances_that_do_not_fit_are_refused(chances: tuple[float | None, ...]) -> None:
    shed = begun()
    seqs = tuple(entry.seq for entry in shed.wash(2))
    bad = replace(hold(shed, *seqs), chances=chances)
    assert [fault.field for fault in check(shed.shift, bad, shed.now).faults] == ["chances"]
    good = replace(bad, chances=(0.0, None))
    assert check(shed.shift, good, shed.now).faults == ()


def test_neighbours_of_one_chance_are_said_together() -> None:
    shed = begun()
    seqs = tuple(entry.seq for entry in shed.wash(4))
    placed = replace(hold(shed, *seqs), chances=(0.0, 0.01, 0.4, None))
    washed = [shed.shift.tank(1).washed[at].event.at for at in range(4)]
    assert words(batch_words(placed, washed_in(shed.shift))) == [
        f"{washed[0]:%H:%M}–{washed[1]:%H:%M}: 1 %",
        f"{washed[2]:%H:%M}: 40 %",
        f"{washed[3]:%H:%M}: not estimated",
    ]


@given(st.lists(st.none() | st.floats(0, 1), min_size=1, max_size=9))
def test_whatever_was_estimated_can_be_said(chances: list[float | None]) -> None:
    seqs = tuple(range(len(chances)))
    placed = HoldPlaced(
        at=START, by="RM", tank=1, batches=seqs, reason="low", chances=tuple(chances)
    )
    assert " 0 %" not in " ".join(words(batch_word(placed, seq) for seq in seqs))
    assert words(held_words(placed))


def test_the_flag_and_the_hold_tell_the_same() -> None:
    shed = begun()
    seqs = tuple(entry.seq for entry in shed.wash(8))
    shed.wait(1).read(1, 15, ph=7.0)
    tank = shed.shift.tank(1)
    assert tank.fill is not None
    told = chances_below(RuleContext(shed.shift, tank, tank.fill, shed.now, frozenset()))
    assert hold(shed, *seqs).chances == tuple(round(told[seq], 3) for seq in seqs)
