"""Which batches are in question, through which tanks, and how likely each met bad water."""

from datetime import timedelta

import pytest
from msgspec.structs import replace

from tests.planning.steps import words
from tests.shed import Shed, a_setup, a_tank
from tests.some import some
from washmon.forecast.forecast_cache import ForecastCache
from washmon.line.events import (
    BatchWashed,
    Corrected,
    Decision,
    HoldReleased,
    Limit,
    Method,
    ReadingTaken,
)
from washmon.line.flags import Condition
from washmon.line.journal import Entry
from washmon.line.message import say
from washmon.line.setup import LabelBasis, Stage, TemperatureRule, TemperatureRuleKind
from washmon.line.state import order
from washmon.rules.base import RuleContext
from washmon.rules.entering import unheld
from washmon.rules.in_question import (
    bridged_below,
    chances_below,
    limits_failed,
    questioned,
    since_last_good_check,
    to_hold,
    windows,
)
from washmon.units import UnitSystem


def begun(**tank: object) -> Shed:
    shed = Shed(a_setup(a_tank(1, "First", Stage.WASH, **tank), a_tank(2, "Second")))
    for number in (1, 2):
        shed.fill(number)
        shed.dose(number, ml=200)
    shed.wait(6).read(1, 50, ph=7.0, water_c=12.0, pulp_c=10.0)
    shed.read(2, 50, ph=7.0)
    return shed


def in_question(shed: Shed, tank: int = 1) -> tuple[int, ...]:
    return tuple(questioned(shed.shift.tank(tank)))


def held(shed: Shed) -> tuple[int, ...]:
    """Return what the hold that is flagged asks for, tank by tank, in the order of washing."""
    flagged = [flag.tank for flag in shed.look().flags if flag.rule == "hold"]
    asked = {seq for tank in flagged for seq in to_hold(shed.shift, shed.shift.tank(tank))}
    return tuple(sorted(asked))


def rule_context(shed: Shed) -> RuleContext:
    tank = shed.shift.tank(1)
    assert tank.fill is not None
    return RuleContext(shed.shift, tank, tank.fill, shed.now, frozenset())


def test_a_ph_over_its_critical_limit_puts_what_was_washed_in_question() -> None:
    shed = begun(critical_ph=8.5)
    washed = shed.wash(2)
    shed.read(1, 50, ph=8.8)
    assert in_question(shed) == tuple(entry.seq for entry in washed)
    shed.read(1, 50)  # says nothing of pH, so the water is not good again
    more = shed.wash(1)
    assert in_question(shed) == tuple(entry.seq for entry in washed)[:0] + tuple(
        entry.seq for entry in (*washed, *more)
    )


def test_where_ph_is_no_critical_limit_a_high_one_holds_nothing() -> None:
    shed = begun()
    shed.wash(2)
    shed.read(1, 50, ph=8.8)
    assert in_question(shed) == ()


def test_water_too_cold_for_the_pulp_holds_only_where_that_is_critical() -> None:
    warmer = TemperatureRule(kind=TemperatureRuleKind.WARMER, by_c=1.0)
    for critical in (False, True):
        shed = begun(temperature_rule=warmer, critical_temperature=critical)
        washed = shed.wash(2)
        shed.read(1, 50, ph=7.0, water_c=9.0, pulp_c=12.0)
        expected = tuple(entry.seq for entry in washed) if critical else ()
        assert in_question(shed) == expected


def test_a_spell_of_bad_water_ends_with_its_own_fill() -> None:
    shed = Shed(a_setup(a_tank(1, "Only")))
    for _ in range(3):
        shed.fill()
        shed.wash(1)
    fills = shed.shift.tank(1).fills
    ends = [spell.until for spell in windows(shed.shift.tank(1))]
    assert ends == [order(fills[1].used), order(fills[2].used), None]


def test_what_is_held_is_told_by_whether_a_check_was_bad_or_none_was_made() -> None:
    shed = Shed(a_setup(a_tank(1, "Only")))
    shed.fill()
    shed.wash(2)
    (unchecked,) = (flag for flag in shed.look().flags if flag.rule == "hold")
    assert say(unchecked.why, UnitSystem.METRIC).startswith("Washed before a check found")
    (first,) = (flag for flag in shed.look().flags if flag.rule == "first-reading")
    assert say(first.why, UnitSystem.METRIC) == (
        "2 batches were washed in water in which free chlorine was never measured."
    )
    bad = begun()
    bad.wash(2)
    bad.wait(1).read(1, 15, ph=7.0)
    (flag,) = (flag for flag in bad.look().flags if flag.rule == "hold")
    assert not say(flag.why, UnitSystem.METRIC).startswith("Washed before a check found")


def test_a_good_level_with_a_ph_over_its_critical_limit_is_no_good_check() -> None:
    shed = begun(critical_ph=8.5)
    washed = shed.wash(2)
    shed.read(1, 50, ph=8.8)
    more = shed.wash(1)
    places = tuple(entry.seq for entry in (*washed, *more))
    assert since_last_good_check(shed.shift.tank(1)) == places
    shed.wait(1).read(1, 50, ph=7.5)
    assert since_last_good_check(shed.shift.tank(1)) == ()


@pytest.mark.parametrize(
    ("fac", "ph", "limit"),
    [(15.0, 7.0, Limit.LOW), (120.0, 7.0, Limit.LABEL), (50.0, 8.8, Limit.PH)],
)
def test_what_put_batches_in_question_is_told_by_the_limit_that_failed(
    fac: float, ph: float, limit: Limit
) -> None:
    shed = begun(critical_ph=8.5)
    shed.wash(2)
    shed.read(1, fac, ph=ph)
    (window,) = windows(shed.shift.tank(1))
    assert limits_failed(shed.shift.tank(1), window) == {limit}


def test_a_total_over_the_label_read_by_itself_fails_the_label() -> None:
    chlorine = replace(a_tank(1, "First").chlorine, label_basis=LabelBasis.TOTAL)
    shed = begun(chlorine=chlorine)
    shed.wash(2)
    shed.read(1, total_mg_l=110.0)
    (window,) = windows(shed.shift.tank(1))
    assert limits_failed(shed.shift.tank(1), window) == {Limit.LABEL}


def test_a_batch_that_stayed_too_short_is_held_alone() -> None:
    shed = begun(critical_contact_s=45.0)
    shed.wash(1, contact_s=60)
    (short,) = shed.wash(1, contact_s=30)
    shed.wash(1, contact_s=60)
    assert held(shed) == (short.seq,)


def test_what_went_through_the_tanks_after_the_bad_one_is_held_too() -> None:
    shed = begun()
    first = shed.wash(2)
    second = shed.wash(2, tanks=(2,))
    shed.wait(1).read(1, 15, ph=7.0)
    assert held(shed) == tuple(entry.seq for entry in (*first, *second))


def test_tanks_before_the_bad_one_are_not_concerned() -> None:
    shed = begun()
    shed.wash(2)
    through = shed.wash(2, tanks=(2,))
    shed.wait(1).read(2, 15, ph=7.0)
    assert held(shed) == tuple(entry.seq for entry in through)


def test_the_chance_rises_from_the_good_check_to_the_bad_one() -> None:
    shed = begun()
    washed = shed.wash(8)
    shed.wait(1).read(1, 15, ph=7.0)
    chances = chances_below(rule_context(shed))
    assert list(chances) == [entry.seq for entry in washed]
    found = list(chances.values())
    assert found == sorted(found)
    assert found[0] < 0.02
    assert found[-1] > 0.95
    # 50 to 15 mg/L by straight line passes 25 after 5.7 of 8 batches.
    assert found[4] < 0.5 < found[6]


def test_a_strip_tells_less_of_when_the_water_turned_than_a_kit() -> None:
    spread = []
    for method in (Method.KIT, Method.STRIP):
        shed = begun()
        shed.wash(8)
        shed.wait(1).read(1, 15, ph=7.0, method=method)
        spread.append(list(chances_below(rule_context(shed)).values()))
    kit, strip = spread
    assert strip[-1] < kit[-1]


def test_the_reason_of_a_hold_gives_the_chance() -> None:
    shed = begun()
    shed.wash(8)
    shed.wait(1).read(1, 15, ph=7.0)
    flag = next(flag for flag in shed.look().flags if flag.rule == "hold")
    known, chance = (words(more) for more in flag.more)
    # What was read comes first, whatever a model makes of it.
    assert known == (
        "The last check before them was good at 07:06; the one at 07:23, 15 ppm, was not."
    )
    # 50 to 15 mg/L by straight line passes 25 after 5.7 of 8 batches.
    assert chance == (
        "Of 8 batches of lot L-1, about 2 met less than 25 ppm, by all that was read; for a "
        "single batch the chance goes from 1 % to 99 %."
    )


def test_what_failed_is_never_led_by_a_word_of_comfort() -> None:
    shed = begun()
    shed.wash(2)
    shed.wait(1).read(1, 24, ph=7.0)
    flag = next(flag for flag in shed.look().flags if flag.rule == "hold")
    known, chance = (words(more) for more in flag.more)
    assert "24 ppm, was not" in known
    assert "probably none" not in chance


def test_a_check_that_failed_by_another_limit_names_no_level() -> None:
    shed = begun(critical_ph=8.5)
    shed.wash(2)
    shed.wait(1).read(1, 50, ph=8.8)
    flag = next(flag for flag in shed.look().flags if flag.rule == "hold")
    assert [words(more) for more in flag.more] == [
        "The last check before them was good at 07:06; the one at 07:11 was not."
    ]


def test_water_whose_first_check_failed_says_that_none_was_good() -> None:
    shed = Shed()
    shed.fill(1)
    shed.wash(2)
    shed.wait(1).read(1, 15, ph=7.0)
    flag = next(flag for flag in shed.look().flags if flag.rule == "hold")
    assert words(flag.more[0]).startswith("No check of this water was good before them")


def test_each_lot_has_its_own_chance() -> None:
    shed = begun()
    shed.wash(3)
    shed.tell(BatchWashed(at=shed.wait(2).now, by="RM", tanks=(1,), lot="L-2"))
    shed.wait(1).read(1, 15, ph=7.0)
    flag = next(flag for flag in shed.look().flags if flag.rule == "hold")
    _, first, second = (words(more) for more in flag.more)
    assert "For each of 3 batches of lot L-1" in first
    assert "the batch of lot L-2" in second


def foreseen(shed: Shed) -> dict[int, float]:
    forecasts = ForecastCache().renewed(shed.shift, shed.now)
    tank = shed.shift.tank(1)
    assert tank.fill is not None
    return chances_below(
        RuleContext(shed.shift, tank, tank.fill, shed.now, frozenset(), forecasts[1])
    )


def test_the_forecast_tells_the_chance_across_a_dose_where_no_bridge_leads() -> None:
    shed = begun()
    before = shed.wash(3)
    shed.dose(1, ml=40)
    shed.wait(6)
    after = shed.wash(3)
    shed.wait(8).read(1, 15, ph=7.0)
    assert chances_below(rule_context(shed)) == {}
    chances = foreseen(shed)
    assert list(chances) == [entry.seq for entry in (*before, *after)]
    assert all(0 <= chance <= 1 for chance in some(chances.values()))
    assert chances[after[-1].seq] > chances[before[0].seq]


def test_a_later_reading_changes_what_is_said_of_the_batches_before() -> None:
    """A strip at 25 leaves open on which side of it the water was; a kit at 38 after it tells."""
    shed = begun()
    washed = shed.wash(8)
    shed.wait(2).read(1, 10, ph=7.0, method=Method.STRIP)
    once = foreseen(shed)
    shed.wait(2).read(1, 40, ph=7.0)
    twice = foreseen(shed)
    assert twice[washed[-1].seq] < 0.5 * once[washed[-1].seq]


def test_a_forecast_that_has_not_heard_of_the_bad_reading_yet_tells_nothing() -> None:
    shed = begun()
    shed.wash(8)
    maintenance = ForecastCache()
    old = maintenance.renewed(shed.shift, shed.now)[1]
    shed.wait(1).read(1, 15, ph=7.0)
    tank = shed.shift.tank(1)
    assert tank.fill is not None
    now = RuleContext(shed.shift, tank, tank.fill, shed.now, frozenset(), old)
    assert chances_below(now) == bridged_below(now)


def test_the_chance_stays_with_the_batches_of_a_fill_that_was_let_out() -> None:
    shed = begun()
    washed = shed.wash(8)
    shed.wait(1).read(1, 15, ph=7.0)
    before = foreseen(shed)
    shed.wait(5).fill(1)
    after = foreseen(shed)
    assert [after[one.seq] for one in washed] == [before[one.seq] for one in washed]


@pytest.mark.parametrize("dosed", [True, False])
def test_no_chance_is_given_where_a_dose_lies_between_the_readings(dosed: bool) -> None:  # noqa: FBT001 - a case
    shed = begun()
    shed.wash(2)
    if dosed:
        shed.dose(1, ml=40)
    shed.wash(2)
    shed.wait(8).read(1, 15, ph=7.0)
    assert bool(chances_below(rule_context(shed))) is not dosed


def test_what_was_washed_before_a_first_check_is_held_though_that_check_is_good() -> None:
    shed = Shed()
    shed.fill()
    washed = shed.wash(2)
    advice = shed.look().tank(1)
    assert advice.condition is Condition.STOP
    assert {flag.rule for flag in advice.flags} >= {"hold", "first-reading"}
    shed.dose(ml=200)
    shed.wait(6).read(fac=50, ph=7.0)
    more = shed.wash(1)
    assert held(shed) == tuple(entry.seq for entry in washed)
    assert more[0].seq not in held(shed)


def test_a_tank_that_washed_nothing_before_its_first_check_holds_nothing_after_it() -> None:
    shed = Shed()
    shed.fill(1)
    shed.fill(2)
    shed.read(2, 50, ph=7.0)
    shed.wash(2, tanks=(2,))
    assert held(shed) == ()


def test_a_batch_that_was_released_is_held_again_when_a_later_check_puts_it_in_question() -> None:
    shed = begun()
    (batch,) = shed.wash(1)
    release(shed, shed.hold(batch.seq))
    assert held(shed) == ()
    shed.wait(1).read(1, 15, ph=7.0)
    assert held(shed) == (batch.seq,)
    release(shed, shed.hold(batch.seq))
    assert held(shed) == ()
    shed.wait(1).read(1, 14, ph=7.0)
    assert held(shed) == ()


def test_a_reading_that_was_put_right_after_the_decision_puts_the_batch_in_question() -> None:
    shed = begun()
    (batch,) = shed.wash(1)
    reading = shed.wait(1).read(1, 40, ph=7.0)
    release(shed, shed.hold(batch.seq))
    assert isinstance(reading.event, ReadingTaken)
    right = replace(reading.event, fac_mg_l=14.0)
    shed.tell(Corrected(at=shed.now, by="RM", entry=reading.seq, reason="typed", instead=right))
    assert held(shed) == (batch.seq,)


def release(shed: Shed, hold: Entry) -> None:
    shed.tell(
        HoldReleased(
            at=shed.now, by="RM", hold=hold.seq, decision=Decision.RELEASE, reason="looked at"
        )
    )


def test_batches_whose_filling_was_withdrawn_are_in_question() -> None:
    shed = Shed()
    filling = shed.fill()
    shed.dose(ml=200)
    shed.wait(6).read(fac=50, ph=7.0)
    washed = tuple(entry.seq for entry in shed.wash(2))
    assert tuple(questioned(shed.shift.tank(1))) == ()
    shed.tell(Corrected(at=shed.now, by="RM", entry=filling.seq, reason="it was the other tank"))
    assert tuple(questioned(shed.shift.tank(1))) == washed
    assert unheld(shed.shift) is not None
    shed.wait(1).fill()
    shed.wait(1).read(fac=50, ph=7.0)
    shed.wash(1)
    assert tuple(questioned(shed.shift.tank(1))) == washed
    assert held(shed) == washed


def test_what_is_held_is_told_in_the_order_of_washing_though_it_was_entered_otherwise() -> None:
    shed = begun()
    shed.wash(1)
    earlier = BatchWashed(at=shed.now - timedelta(minutes=1), by="RM", tanks=(1,), lot="L-0")
    shed.tell(earlier)
    shed.wait(1).read(1, 15, ph=7.0)
    flag = shed.flag("hold")
    assert flag is not None
    assert flag.since == earlier.at
    assert "L-0, L-1" in say(flag.why, UnitSystem.METRIC)
