"""A scenario per rule, in the words of the shed."""

import pytest

from tests.shed import Shed, a_setup, a_tank
from washmon.line.events import BatchWashed, Method
from washmon.line.flags import Caution, Condition, Level, StepKind
from washmon.line.message import say
from washmon.line.setup import (
    ChlorineLimits,
    LabelBasis,
    Look,
    PhLimits,
    TemperatureRule,
    TemperatureRuleKind,
)
from washmon.planning.advice import advise
from washmon.rules import all_rules
from washmon.rules.base import Rule
from washmon.units import Taste


@pytest.fixture
def shed() -> Shed:
    """Return a shift whose first tank is filled, dosed, measured and good."""
    shed = Shed()
    shed.fill()
    shed.dose(ml=200)
    shed.wait(6).read(fac=50, ph=7.0)
    return shed


def test_good_water_has_no_flag_and_says_when_to_check(shed: Shed) -> None:
    shed.wash(2)
    advice = shed.look().tank(1)
    assert advice.condition is Condition.IN_LIMITS
    assert say(advice.step.say, Taste.METRIC) == "Nothing to do. Check within 4 batches"


def test_a_filled_tank_is_not_known_and_is_given_its_starting_dose() -> None:
    shed = Shed()
    shed.fill()
    advice = shed.look().tank(1)
    assert advice.condition is Condition.UNKNOWN
    assert advice.step.kind is StepKind.DOSE
    # Mass balance (White, Handbook of Chlorination, 1972): 500 L * 50 mg/L / 125 g/L = 200 mL.
    assert advice.step.amount is not None
    assert advice.step.amount.value == pytest.approx(200, rel=1e-3)


def test_below_the_operating_low_asks_for_the_dose_to_the_target(shed: Shed) -> None:
    shed.wash(4)
    shed.read(fac=31)
    advice = shed.look().tank(1)
    assert [flag.rule for flag in advice.flags] == ["chlorine-low"]
    assert advice.condition is Condition.ACT
    assert advice.step.amount is not None
    # 500 L * (50 - 31) mg/L / 125 g/L = 76 mL by the same balance.
    assert advice.step.amount.value == pytest.approx(76, rel=1e-3)
    assert Caution.HYPOCHLORITE in advice.step.cautions


def test_a_strip_gives_the_dose_a_range(shed: Shed) -> None:
    shed.wash(4)
    shed.read(fac=25, method=Method.STRIP)
    step = shed.look().tank(1).flags[0].step
    assert step.amount is not None
    assert step.amount_low is not None
    assert step.amount_high is not None
    assert step.amount_low < step.amount.value < step.amount_high


def test_below_the_critical_low_stops_and_holds_all_since_the_last_good_check(shed: Shed) -> None:
    batches = shed.wash(3)
    shed.wait(1).read(fac=20)
    advice = shed.look().tank(1)
    assert advice.condition is Condition.STOP
    assert [flag.rule for flag in advice.flags] == ["hold", "chlorine-critical"]
    assert advice.step.kind is StepKind.HOLD
    assert advice.step.batches == tuple(entry.seq for entry in batches)


def test_held_product_stays_asked_for_when_the_water_is_good_again(shed: Shed) -> None:
    batches = shed.wash(2)
    shed.wait(1).read(fac=20)
    shed.dose()
    late = shed.wash(1)
    shed.wait(6).read(fac=52)
    shed.wash(2)
    flag = shed.flag("hold")
    assert flag is not None
    assert flag.step.batches == tuple(entry.seq for entry in batches + late)
    shed.hold(*flag.step.batches)
    assert shed.flag("hold") is None


def test_after_the_hold_the_critical_low_asks_for_the_dose(shed: Shed) -> None:
    batches = shed.wash(2)
    shed.wait(1).read(fac=20)
    shed.hold(*(entry.seq for entry in batches))
    advice = shed.look().tank(1)
    assert advice.condition is Condition.STOP
    assert advice.step.kind is StepKind.DOSE


def test_nothing_is_added_before_the_last_addition_was_checked(shed: Shed) -> None:
    shed.wash(3)
    shed.read(fac=30)
    shed.wait(1).dose()
    waiting = shed.look().tank(1)
    assert waiting.step.kind is StepKind.WAIT
    assert all(flag.step.kind is not StepKind.DOSE for flag in waiting.flags)
    shed.wait(6)
    assert shed.look().tank(1).step.kind is StepKind.CHECK
    assert "check-after-adding" in shed.rules_up()


def test_a_level_that_hovers_at_the_limit_does_not_make_the_flag_flutter(shed: Shed) -> None:
    shed.wash(1)
    shed.read(fac=34)
    assert shed.flag("chlorine-low")
    shed.wait(1).read(fac=36)  # inside the deadband of 5 % of 50
    assert shed.flag("chlorine-low")
    shed.wait(1).read(fac=38)
    assert shed.flag("chlorine-low") is None
    shed.wait(1).read(fac=36)
    assert shed.flag("chlorine-low") is None


def test_coming_up_from_critical_leaves_one_chlorine_flag_at_any_level(shed: Shed) -> None:
    for fac in (20.0, 24.0, 26.0, 30.0, 36.0):
        shed.wait(1).read(fac=fac)
        up = [rule for rule in shed.rules_up() if rule.startswith("chlorine")]
        assert len(up) == 1, (fac, up)


def test_too_much_chlorine_is_watched_and_over_the_label_it_stops(shed: Shed) -> None:
    shed.read(fac=80)
    assert shed.look().tank(1).condition is Condition.WATCH
    shed.wait(1).read(fac=120)
    advice = shed.look().tank(1)
    assert advice.condition is Condition.STOP
    assert advice.step.kind is StepKind.LOWER
    # Replacing the fraction x of the water leaves (1 - x) of the chlorine: 500 * (1 - 50/120) L.
    assert "292" in say(advice.step.say, Taste.METRIC)


def test_a_label_that_means_total_chlorine_is_held_against_total() -> None:
    limits = ChlorineLimits(
        critical_low_mg_l=25,
        low_mg_l=35,
        target_mg_l=50,
        high_mg_l=75,
        label_max_mg_l=100,
        label_basis=LabelBasis.TOTAL,
    )
    shed = Shed(a_setup(a_tank(1, "Dunk", chlorine=limits)))
    shed.fill()
    shed.read(fac=60, total_mg_l=110)
    assert shed.flag("chlorine-label")


def test_high_ph_asks_for_a_small_step_of_acid_and_never_for_both_at_once(shed: Shed) -> None:
    shed.wash(2)
    shed.read(fac=31, ph=7.8)
    advice = shed.look().tank(1)
    assert {flag.rule for flag in advice.flags} == {"ph-high", "chlorine-low"}
    assert advice.step.kind is StepKind.ACID
    # Half a teaspoon of vinegar to five gallons (common practice, no published source):
    # 2.46 mL / 18.93 L * 500 L = 65 mL.
    assert advice.step.amount is not None
    assert advice.step.amount.value == pytest.approx(65.1, abs=0.2)
    for flag in advice.flags:
        assert not (
            Caution.ACID in flag.step.cautions and Caution.HYPOCHLORITE in flag.step.cautions
        )


def test_ph_over_eight_presses(shed: Shed) -> None:
    shed.read(fac=50, ph=8.3)
    flag = shed.flag("ph-high")
    assert flag is not None
    assert flag.level is Level.ACT


def test_low_ph_asks_for_no_acid_and_where_gas_comes_to_step_back(shed: Shed) -> None:
    shed.read(fac=50, ph=6.2)
    step = shed.look().tank(1).step
    assert step.kind is StepKind.LOWER
    assert "no acid" in say(step.say, Taste.METRIC).lower()
    shed.wait(1).read(fac=50, ph=4.8)
    advice = shed.look().tank(1)
    assert advice.condition is Condition.STOP
    assert advice.step.kind is StepKind.LEAVE
    assert Caution.GAS in advice.step.cautions


def test_a_line_without_acid_is_not_told_to_add_any() -> None:
    shed = Shed(a_setup(a_tank(1, "Dunk", acid=None)))
    shed.fill()
    shed.read(fac=50, ph=7.9)
    assert shed.look().tank(1).step.kind is StepKind.LOWER


def test_cloudy_water_is_changed_by_number_or_by_card(shed: Shed) -> None:
    shed.read(turbidity_ntu=70)
    assert shed.look().tank(1).step.kind is StepKind.CHANGE_WATER
    shed.fill()
    assert shed.flag("cloudy") is None
    shed.read(fac=50, look=Look.FAINT)
    assert shed.flag("cloudy") is None
    shed.wait(1).read(fac=50, look=Look.GONE)
    assert shed.flag("cloudy")


def test_batches_and_hours_per_fill_end_a_fill(shed: Shed) -> None:
    for _ in range(19):
        shed.wash(2)
        shed.read(fac=50)
    flag = shed.flag("batches")
    assert flag is not None
    assert flag.level is Level.WATCH
    assert "2 batches left" in say(flag.step.say, Taste.METRIC)
    shed.wash(1)
    flag = shed.flag("batches")
    assert flag is not None
    assert "1 batch left" in say(flag.step.say, Taste.METRIC)
    shed.wash(1)
    flag = shed.flag("batches")
    assert flag is not None
    assert flag.level is Level.ACT
    assert shed.flag("hours") is None
    shed.wait(240)
    assert shed.flag("hours")


def test_doses_that_do_not_last_ask_for_a_water_change(shed: Shed) -> None:
    shed.wash(5)
    shed.read(fac=30)
    for _ in range(2):
        shed.wait(1).dose()
        shed.wait(6).read(fac=50)
        shed.wash(2)
        shed.wait(1).read(fac=30)
    flag = shed.flag("doses-do-not-hold")
    assert flag is not None
    assert flag.step.kind is StepKind.CHANGE_WATER
    assert shed.look().tank(1).step.kind is StepKind.CHANGE_WATER


def test_a_check_is_overdue_by_batches_or_by_minutes_and_presses_at_twice(shed: Shed) -> None:
    shed.wash(5)
    assert shed.flag("overdue") is None
    shed.wash(1)
    flag = shed.flag("overdue")
    assert flag is not None
    assert flag.level is Level.WATCH
    shed.wash(6)
    flag = shed.flag("overdue")
    assert flag is not None
    assert flag.level is Level.ACT
    shed.read(fac=50, ph=7.0)
    assert shed.flag("overdue") is None
    shed.wait(31)
    assert shed.flag("overdue") is None  # the delay
    shed.wait(1.5)
    assert shed.flag("overdue")


def test_washing_in_water_that_was_never_measured_presses() -> None:
    shed = Shed()
    shed.fill()
    shed.wash(1)
    assert shed.flag("first-reading")
    shed.read(fac=50, ph=7.0)
    assert shed.flag("first-reading") is None


def test_short_contact_is_said_until_a_batch_stays_long_enough(shed: Shed) -> None:
    shed.wash(1, contact_s=40)
    assert shed.flag("contact-short")
    shed.wash(1, contact_s=70)
    assert shed.flag("contact-short") is None


def test_short_contact_names_its_batch_and_goes_when_that_batch_is_held(shed: Shed) -> None:
    (short,) = shed.wash(1, contact_s=40)
    shed.wash(1)
    flag = shed.flag("contact-short")
    assert flag is not None
    assert "The batch washed at 07:08" in say(flag.why, Taste.METRIC)
    shed.hold(short.seq)
    assert shed.flag("contact-short") is None


def test_acid_under_ph_7_is_not_guessed_and_the_step_does_not_gainsay_the_flag() -> None:
    # A small step is meant for pH 7 and more (common practice, no published source).
    limits = PhLimits(low=6.0, target=6.3, high=6.6)
    shed = Shed(a_setup(a_tank(1, "Dunk", ph=limits)))
    shed.fill()
    shed.read(fac=50, ph=6.8)
    flag = shed.flag("ph-high")
    assert flag is not None
    assert flag.step.kind is StepKind.LOOK
    assert flag.step.amount is None
    assert "alkalinity" in say(flag.step.say, Taste.METRIC)
    assert "no acid" not in say(flag.step.say, Taste.METRIC)


@pytest.mark.parametrize(
    ("kind", "water_c", "pulp_c", "flagged"),
    [
        # Tomato: water 10 °F (5.6 °C) over pulp, Florida/FDA guidance as relayed.
        (TemperatureRuleKind.WARMER, 24.0, 20.0, True),
        (TemperatureRuleKind.WARMER, 26.0, 20.0, False),
        # Peppers being cooled: at most 10 °F colder, UVM Extension, Managing dunk tank water.
        (TemperatureRuleKind.NOT_COLDER, 14.0, 20.0, True),
        (TemperatureRuleKind.NOT_COLDER, 15.0, 20.0, False),
    ],
)
def test_the_two_temperature_rules(
    kind: TemperatureRuleKind, water_c: float, pulp_c: float, *, flagged: bool
) -> None:
    wanted = TemperatureRule(kind=kind, by_c=5.6)
    shed = Shed(a_setup(a_tank(1, "Dump tank", temperature_rule=wanted)))
    shed.fill()
    shed.read(fac=50, water_c=water_c, pulp_c=pulp_c)
    assert (shed.flag("water-too-cold") is not None) is flagged


def test_a_rule_that_throws_is_itself_a_flag_and_the_others_go_on(shed: Shed) -> None:
    def throws(_sight: object) -> None:
        raise ZeroDivisionError("boom")

    shed.read(fac=30)
    advice = advise(shed.shift, shed.now, [*all_rules(), Rule("bad", "bad", "none", throws)])
    assert {flag.rule for flag in advice.flags} == {"chlorine-low", "broken:bad"}


def test_every_rule_names_its_source_and_has_an_id_of_its_own() -> None:
    rules = all_rules()
    assert len(rules) >= 14
    assert len({rule.id for rule in rules}) == len(rules)
    assert all(len(rule.source) > 10 for rule in rules)


def test_a_flag_is_journaled_when_it_comes_and_when_it_goes(shed: Shed) -> None:
    shed.read(fac=30)
    shed.look()
    assert [record.flag.rule for record in shed.shift.open_flags] == ["chlorine-low"]
    assert shed.shift.looked_upto >= 0
    shed.dose(ml=80)
    shed.wait(6).read(fac=50)
    shed.look()
    assert shed.shift.open_flags == ()
    assert [record.flag.rule for record in shed.shift.closed_flags] == ["chlorine-low"]


def test_a_batch_of_the_same_minute_as_a_good_check_is_held_if_it_was_entered_after_it(
    shed: Shed,
) -> None:
    def wash() -> int:
        return shed.tell(BatchWashed(at=shed.now, by="RM", tanks=(1,), lot="L-1")).seq

    wash()
    shed.read(fac=50)
    after = wash()
    shed.wait(1).read(fac=20)
    flag = shed.flag("hold")
    assert flag is not None
    assert flag.step.batches == (after,)
