"""A scenario per rule, in the words of the shed."""

import pytest

from tests.shed import Shed, a_setup, a_tank
from tests.some import some
from washmon.line.events import BatchWashed, LinePaused, LineResumed
from washmon.line.flags import Condition, Level
from washmon.line.message import Message, say
from washmon.line.setup import (
    ChlorineLimits,
    LabelBasis,
    Look,
    TemperatureRule,
    TemperatureRuleKind,
)
from washmon.planning.advice import advise
from washmon.rules import all_rules
from washmon.rules.base import rule
from washmon.rules.in_question import to_hold
from washmon.units import UnitSystem


@pytest.fixture
def shed() -> Shed:
    """Return a shift whose first tank is filled, dosed, measured and good."""
    shed = Shed()
    shed.fill()
    shed.dose(ml=200)
    shed.wait(6).read(fac=50, ph=7.0)
    return shed


def spaced(message: Message) -> str:
    return say(message, UnitSystem.METRIC).replace("\N{NO-BREAK SPACE}", " ")


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


def test_ph_over_eight_presses(shed: Shed) -> None:
    shed.read(fac=50, ph=8.3)
    flag = shed.flag("ph-high")
    assert flag is not None
    assert flag.level is Level.ACT
    shed.wait(1).read(fac=50, ph=8.3, water_c=8.0)
    flag = shed.flag("ph-high")
    assert flag is not None
    # pKa 7.70 at 8 °C: Morris (1966); 1 / (1 + 10^(8.3 - 7.70)) is 20 %.
    assert "At pH 8.3 about 21 % of the free chlorine" in spaced(flag.why)


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
    both = Shed()  # late by batches and by minutes: what is later counts
    both.fill()
    both.read(fac=50, ph=7.0)
    both.wait(50)
    both.wash(6)
    flag = both.flag("overdue")
    assert flag is not None
    assert flag.level is Level.ACT
    shed.wait(31)
    assert shed.flag("overdue") is None  # the delay
    shed.wait(1.5)
    assert shed.flag("overdue")


def test_a_line_that_went_on_in_the_minute_of_its_last_batch_has_washed_nothing_since(
    shed: Shed,
) -> None:
    shed.wash(6)
    assert shed.flag("overdue")
    for event in (LinePaused, LineResumed):
        shed.tell(event(at=shed.now, by="RM"))
    assert shed.flag("overdue") is None
    shed.wash(1)
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
    assert "The batch washed at 07:08" in say(flag.why, UnitSystem.METRIC)
    shed.hold(short.seq)
    assert shed.flag("contact-short") is None


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


def test_water_that_was_too_cold_comes_back_half_a_degree_inside() -> None:
    # The deadband: common practice, no published source.
    wanted = TemperatureRule(kind=TemperatureRuleKind.WARMER, by_c=1.0)
    shed = Shed(a_setup(a_tank(1, "Dump tank", temperature_rule=wanted)))
    shed.fill()
    for water_c, up in ((21.2, False), (20.8, True), (21.4, True), (21.47, False), (21.2, False)):
        shed.wait(1).read(fac=50, water_c=water_c, pulp_c=20.0)
        assert (shed.flag("water-too-cold") is not None) is up, water_c


def test_a_rule_that_throws_is_itself_a_flag_and_the_others_go_on(shed: Shed) -> None:
    def throws(_rule_context: object) -> None:
        raise ZeroDivisionError("boom")

    shed.read(fac=30)
    advice = advise(shed.shift, shed.now, [*all_rules(), rule("bad", "bad", "none")(throws)])
    assert {flag.rule for flag in advice.flags} == {"chlorine-low", "broken:bad"}


def test_every_rule_names_its_source_and_has_an_id_of_its_own() -> None:
    rules = all_rules()
    assert len(rules) >= 14
    assert len({rule.id for rule in rules}) == len(rules)
    assert all(len(rule.source) > 10 for rule in some(rules))


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


# -- findings: what is so, without a word of what to do -------------------------------------------


def test_good_water_has_no_flag(shed: Shed) -> None:
    shed.wash(2)
    assert shed.look().tank(1).condition is Condition.IN_LIMITS
    assert shed.rules_up() == []


def test_no_rule_has_a_step_of_its_own(shed: Shed) -> None:
    shed.wash(3)
    shed.read(fac=20, ph=8.6, turbidity_ntu=70)
    flags = shed.look().flags
    assert len(flags) > 3
    assert all(flag.step is None for flag in some(flags))


def test_below_the_operating_low_acts(shed: Shed) -> None:
    shed.wash(4)
    shed.read(fac=31)
    advice = shed.look().tank(1)
    assert [flag.rule for flag in advice.flags] == ["chlorine-low"]
    assert advice.condition is Condition.ACT


def test_below_the_critical_low_stops_and_puts_all_since_the_last_good_check_in_question(
    shed: Shed,
) -> None:
    batches = shed.wash(3)
    shed.wait(1).read(fac=20)
    advice = shed.look().tank(1)
    assert advice.condition is Condition.STOP
    assert {flag.rule for flag in advice.flags} == {"hold", "chlorine-critical"}
    assert set(to_hold(shed.shift, shed.shift.tank(1))) == {entry.seq for entry in batches}


def test_too_much_chlorine_is_noted_and_over_the_label_it_stops(shed: Shed) -> None:
    shed.dose(ml=120)
    shed.wait(6).read(fac=80)
    assert shed.noted("chlorine-high")
    assert shed.rules_up() == []  # washing uses it up: nobody has to do a thing
    shed.dose(ml=160)
    shed.wait(6).read(fac=120)
    assert shed.look().tank(1).condition is Condition.STOP
    assert shed.rules_up() == ["chlorine-label"]


@pytest.mark.parametrize("exactly", [100.0, 100.04])
def test_water_at_the_label_maximum_as_it_is_read_is_not_over_it(
    shed: Shed, exactly: float
) -> None:
    shed.read(fac=exactly)
    assert shed.flag("chlorine-label") is None
    shed.wait(1).read(fac=101)
    assert shed.flag("chlorine-label")


def test_cloudy_water_is_found_by_number_or_by_card(shed: Shed) -> None:
    shed.read(turbidity_ntu=70)
    assert shed.flag("cloudy")
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
    assert shed.flag("batches") is None  # two are left: no hand is needed yet
    assert shed.noted("batches")
    shed.wash(1)
    assert shed.noted("batches")
    shed.wash(1)
    flag = shed.flag("batches")
    assert flag is not None
    assert flag.level is Level.ACT
    assert shed.flag("hours") is None
    shed.wait(240)
    hours = shed.flag("hours")
    assert hours is not None
    assert "the set-up allows 240 min" in spaced(hours.why)


def test_a_fill_for_one_batch_ends_with_it_and_is_told_of_it_alone() -> None:
    shed = Shed(a_setup(a_tank(1, "Only", batches_per_fill=1)))
    shed.fill()
    for words in ("1 batch was washed", "2 batches were washed"):
        shed.wash(1)
        flag = shed.flag("batches")
        assert flag is not None
        assert say(flag.why, UnitSystem.METRIC).startswith(words)


def test_doses_that_do_not_last_are_noted(shed: Shed) -> None:
    shed.wash(5)
    shed.read(fac=30)
    for batches in (2, 1):
        shed.wait(1).dose()
        shed.wait(6).read(fac=50)
        shed.wash(batches)
        shed.wait(1).read(fac=30)
    note = shed.noted("doses-do-not-hold")
    assert note is not None
    assert "held for: 2 and 1; 3 is the least" in say(note.why, UnitSystem.METRIC)
    assert shed.flag("doses-do-not-hold") is None


def test_a_dose_that_held_for_no_batch_is_told_so(shed: Shed) -> None:
    shed.wash(5)
    shed.read(fac=30)
    for _ in range(2):
        shed.wait(1).dose()
        shed.wait(6).read(fac=50)
        shed.wait(30).read(fac=30)
    note = shed.noted("doses-do-not-hold")
    assert note is not None
    assert "held for: 0 and 0; 3 is the least" in say(note.why, UnitSystem.METRIC)


def test_what_was_added_and_not_read_since_is_noted_once_it_has_mixed_in(shed: Shed) -> None:
    shed.wash(3)
    shed.read(fac=30)
    shed.wait(1).dose()
    assert shed.noted("check-after-adding") is None
    shed.wait(6)
    assert shed.noted("check-after-adding")
    shed.read(fac=45, ph=7.0)
    assert shed.noted("check-after-adding") is None


def test_a_low_ph_acts_and_gas_stops(shed: Shed) -> None:
    shed.read(fac=50, ph=6.2)
    assert shed.rules_up() == ["ph-low"]
    shed.wait(1).read(fac=50, ph=4.8)
    assert "ph-gas" in shed.rules_up()
    assert shed.look().tank(1).condition is Condition.STOP


def test_held_product_stays_asked_for_when_the_water_is_good_again(shed: Shed) -> None:
    batches = shed.wash(2)
    shed.wait(1).read(fac=20)
    shed.dose()
    late = shed.wash(1)
    shed.wait(6).read(fac=52)
    shed.wash(2)
    assert shed.flag("hold")
    asked = to_hold(shed.shift, shed.shift.tank(1))
    assert set(asked) == {entry.seq for entry in batches + late}
    shed.hold(*asked)
    assert shed.flag("hold") is None


def test_a_batch_of_the_same_minute_as_a_good_check_is_in_question_if_it_was_entered_after_it(
    shed: Shed,
) -> None:
    def wash() -> int:
        return shed.tell(BatchWashed(at=shed.now, by="RM", tanks=(1,), lot="L-1")).seq

    wash()
    shed.read(fac=50)
    after = wash()
    shed.wait(1).read(fac=20)
    assert shed.flag("hold")
    assert set(to_hold(shed.shift, shed.shift.tank(1))) == {after}
