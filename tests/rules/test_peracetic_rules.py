"""Tanks kept with peracetic acid: their own limits, and none of chlorine's rules."""

import pytest

from tests.shed import Shed, a_peracetic_setup
from washmon.line.events import Method, ReadingTaken
from washmon.line.flags import Condition, Level
from washmon.line.message import say
from washmon.rules import all_rules
from washmon.rules.base import RuleScope
from washmon.units import UnitSystem


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


@pytest.mark.parametrize(
    ("paa", "rule", "level"),
    [
        (15.0, "paa-critical", Level.STOP),
        (25.0, "paa-low", Level.ACT),
        (85.0, "paa-limit", Level.STOP),  # 21 CFR 173.315(a)(5): 80 mg/L
    ],
)
def test_each_level_has_its_rule(paa: float, rule: str, level: Level) -> None:
    shed = a_shed()
    shed.paa(paa)
    (flag,) = shed.look().flags
    assert (flag.rule, flag.level) == (rule, level)


def test_more_than_is_needed_is_noted_and_asks_for_nobody() -> None:
    shed = a_shed()
    shed.paa(75.0)
    assert shed.rules_up() == []
    assert shed.noted("paa-high")


@pytest.mark.parametrize(("paa", "over"), [(80.0, False), (80.04, False), (81.0, True)])
def test_what_is_read_at_the_legal_maximum_is_not_over_it(paa: float, *, over: bool) -> None:
    shed = a_shed()
    shed.paa(paa)
    assert (shed.flag("paa-limit") is not None) is over


def test_water_in_its_limits_is_calm_and_is_checked_like_any_other() -> None:
    shed = a_shed()
    shed.dose(ml=149)
    shed.wait(6).paa(50)
    assert shed.look().tank(1).condition is Condition.IN_LIMITS
    shed.wash(6)
    assert shed.rules_up() == ["overdue"]


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
    marked = {rule.id for rule in all_rules() if rule.water is RuleScope.CHLORINE}
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
    assert shed.flag("paa-limit") is None


def test_peroxide_that_was_read_over_its_limit_stops() -> None:
    shed = a_shed()
    shed.paa(50, peroxide=65)
    flag = shed.flag("peroxide-limit")
    assert flag is not None
    assert flag.level is Level.STOP
    shed.paa(50, peroxide=40)
    assert shed.flag("peroxide-limit") is None


def test_acid_over_the_law_is_told_with_what_was_read_and_the_most_there_may_be() -> None:
    # 21 CFR 173.315(a)(5): 80 ppm.
    shed = Shed(a_peracetic_setup())
    shed.fill()
    shed.read(paa_mg_l=81.0)
    flag = shed.flag("paa-limit")
    assert flag is not None
    said = say(flag.why, UnitSystem.METRIC).replace("\N{NO-BREAK SPACE}", " ")
    assert said.startswith("81 ppm is over the most that label and law allow, 80 ppm.")
    assert flag.since == shed.now
