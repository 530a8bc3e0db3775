"""Tanks kept with peracetic acid: their own limits, and none of chlorine's rules."""

import pytest

from tests.shed import Shed, a_peracetic_setup
from washmon.line.events import Method, ReadingTaken
from washmon.line.flags import Caution, Condition, Level, StepKind
from washmon.line.message import say
from washmon.rules import all_rules
from washmon.rules.base import Water
from washmon.units import Taste


class PaaShed(Shed):
    """A shift on one tank of peracetic acid."""

    def paa(self, paa: float, peroxide: float | None = None) -> None:
        """Measure it."""
        self.wait(1)
        self.tell(
            ReadingTaken(
                at=self.now,
                by="RM",
                tank=1,
                paa_mg_l=paa,
                paa_method=Method.KIT,
                peroxide_mg_l=peroxide,
            )
        )


def a_shed(**product: float) -> PaaShed:
    shed = PaaShed(a_peracetic_setup(**product))
    shed.fill()
    return shed


def test_a_fresh_fill_is_given_its_dose_by_density() -> None:
    advice = a_shed().look().tank(1)
    assert advice.condition is Condition.UNKNOWN
    assert advice.step.kind is StepKind.DOSE
    # 500 L * 50 mg/L = 25 g; 15 % of 1.12 g/mL is 0.168 g/mL: 148.8 mL, and a little for its own
    # volume. Without the density it would be 167 mL.
    assert advice.step.amount is not None
    assert advice.step.amount.unit == "mL"
    assert advice.step.amount.value == pytest.approx(148.85, abs=0.1)
    assert Caution.PERACETIC in advice.step.cautions
    assert Caution.HYPOCHLORITE not in advice.step.cautions


@pytest.mark.parametrize(
    ("paa", "rule", "level"),
    [
        (15.0, "paa-critical", Level.STOP),
        (25.0, "paa-low", Level.ACT),
        (75.0, "paa-high", Level.WATCH),
        (85.0, "paa-limit", Level.STOP),  # 21 CFR 173.315(a)(5): 80 mg/L
    ],
)
def test_each_level_has_its_rule(paa: float, rule: str, level: Level) -> None:
    shed = a_shed()
    shed.paa(paa)
    (flag,) = shed.look().flags
    assert (flag.rule, flag.level) == (rule, level)


def test_water_in_its_limits_is_calm_and_is_checked_like_any_other() -> None:
    shed = a_shed()
    shed.dose(ml=149)
    shed.wait(6).paa(50)
    assert shed.look().tank(1).condition is Condition.IN_LIMITS
    shed.wash(6)
    assert shed.rules_up() == ["overdue"]
    assert say(shed.look().tank(1).step.say, Taste.METRIC) == "Measure peracetic acid now"


def test_low_product_is_held_as_in_chlorine() -> None:
    shed = a_shed()
    shed.paa(50)
    shed.wash(2)
    shed.paa(10)
    assert {"hold", "paa-critical"} <= set(shed.rules_up())


def test_chlorine_and_its_ph_have_no_say() -> None:
    shed = a_shed()
    shed.paa(50)
    shed.read(fac=0, ph=5.0)
    shed.wait(1).read(ph=9.0)
    assert shed.rules_up() == []


def test_every_rule_of_chlorine_and_ph_is_marked_as_such() -> None:
    marked = {rule.id for rule in all_rules() if rule.water is Water.CHLORINE}
    named = {rule.id for rule in all_rules() if rule.id.startswith(("chlorine-", "ph-"))}
    assert marked >= named
    assert marked - named == {
        "check-now",
        "combined-high",
        "demand-unusual",
        "doses-will-not-hold",
        "orp-contradicts",
        "reading-jumps",
        "reading-repeats",
        "redose-soon",
        "second-gas",
    }


def test_a_product_can_keep_the_limit_of_the_acid_and_break_that_of_its_peroxide() -> None:
    # 5.6 % acid with 26.5 % peroxide (a composition that is sold, value from memory): 50 mg/L bring
    # 237 mg/L of peroxide, four times the 59 mg/L of 21 CFR 173.315(a)(5).
    shed = a_shed(strength=5.6, peroxide_pct=26.5, density_kg_l=1.12)
    shed.dose(ml=400)
    shed.wait(6).paa(50)
    flag = shed.flag("peroxide-limit")
    assert flag is not None
    assert flag.level is Level.ACT
    assert flag.step.kind is StepKind.CHANGE_WATER
    assert shed.flag("paa-limit") is None


def test_peroxide_that_was_read_over_its_limit_stops() -> None:
    shed = a_shed()
    shed.paa(50, peroxide=65)
    flag = shed.flag("peroxide-limit")
    assert flag is not None
    assert flag.level is Level.STOP
    shed.paa(50, peroxide=40)
    assert shed.flag("peroxide-limit") is None


def test_what_comes_with_each_dose_adds_up_until_only_new_water_helps() -> None:
    shed = a_shed()
    # Each 50 mg/L brings 33 mg/L of peroxide (10 % to 15 %): the second makes 67, over 59.
    shed.dose(ml=149)
    shed.wait(6).paa(25)
    advice = shed.look()
    assert shed.flag("peroxide-limit") is None
    assert advice.tank(1).step.kind is StepKind.DOSE
    shed.dose(ml=75)
    shed.wait(6).paa(25)
    flag = shed.flag("paa-low")
    assert flag is not None
    assert flag.step.kind is StepKind.CHANGE_WATER
    shed.fill()
    assert shed.look().tank(1).step.kind is StepKind.DOSE
