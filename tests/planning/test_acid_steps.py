"""How much acid a plan gives, and what it does about a pH that acid does not mend."""

import pytest

from tests.planning.steps import amount_of, words
from tests.shed import Shed, a_setup, a_tank
from washmon.chemistry.acid import AcidKind, acid_mol_per_unit
from washmon.chemistry.titration import UNKNOWN_ALKALINITY, tank_water
from washmon.chemistry.water import Water, at_ph, ph_of, with_acid
from washmon.line.events import WaterExchanged
from washmon.line.flags import Caution, StepKind
from washmon.line.setup import LineSetup, PhLimits, SourceWater


def a_shed(setup: LineSetup | None = None, fac: float = 70.0, ph: float = 7.0) -> Shed:
    """Return a tank that was dosed, mixed and read, so full that no dose is worth a hand."""
    shed = Shed(setup)
    shed.fill()
    shed.dose(ml=280)
    shed.wait(6).read(fac=fac, ph=ph)
    return shed


def after_vinegar(water: Water, ml: float, volume_l: float = 500.0) -> float:
    """Return the pH that vinegar of 5 % takes a water to, by the carbonate balance."""
    mol = ml * acid_mol_per_unit(AcidKind.VINEGAR, 5.0) / volume_l
    return ph_of(with_acid(water, AcidKind.VINEGAR, mol))


@pytest.mark.parametrize("alkalinity", [50.0, 100.0, 200.0])
def test_acid_takes_a_known_water_towards_its_target_and_never_under_its_low_limit(
    alkalinity: float,
) -> None:
    """Carbonate balance: Stumm & Morgan, Aquatic Chemistry; here as the set-up tells the water."""
    shed = a_shed(a_setup(source=SourceWater(alkalinity_mg_l=alkalinity, ph=7.8)), ph=7.9)
    plan = shed.plan()
    ml = amount_of(plan, StepKind.ACID)
    assert plan.answers == ("ph-high",)
    assert Caution.ACID in plan.now.cautions
    assert Caution.HYPOCHLORITE not in plan.now.cautions
    made = at_ph(tank_water(alkalinity, 7.8, 20.0, 70.0), 7.9)
    assert 6.5 <= after_vinegar(made, ml) < 7.8
    assert plan.expected is not None
    assert plan.expected.ph is not None
    assert 6.5 <= plan.expected.ph.low < plan.expected.ph.high < 7.9


@pytest.mark.parametrize("ph", [7.8, 8.0, 8.3])
def test_where_no_alkalinity_was_told_the_softest_plausible_water_stays_over_ph_6(
    ph: float,
) -> None:
    plan = a_shed(ph=ph).plan()
    ml = amount_of(plan, StepKind.ACID)
    soft = at_ph(tank_water(UNKNOWN_ALKALINITY.low_mg_l, 7.8, 20.0, 70.0), ph)
    assert after_vinegar(soft, ml) > 6.0


def test_an_acid_step_under_every_measure_is_told_in_millilitres_with_what_works() -> None:
    setup = a_setup(measures=("jug_1000_ml",), tanks=(a_tank(1, "Tub", volume_l=20.0),))
    shed = Shed(setup)
    shed.fill(volume_l=20.0)
    shed.read(fac=70, ph=7.9)
    plan = shed.plan()
    ml = amount_of(plan, StepKind.ACID)
    assert f"Add {ml:.0f} mL vinegar" in words(plan.now.say)
    assert "dilution" in words(plan.how)


def test_a_ph_inside_its_limits_asks_for_no_acid_though_it_was_over_them_before() -> None:
    shed = a_shed(ph=7.8)
    shed.look()
    shed.acid(ml=100)
    shed.wait(6).read(fac=68, ph=7.5)  # the high limit is 7.5
    assert shed.flag("ph-high") is None
    assert shed.plan().now.kind is not StepKind.ACID


def test_acid_is_not_asked_for_on_the_ph_before_the_last_acid() -> None:
    shed = a_shed(fac=70, ph=8.6)
    shed.acid()
    shed.wait(1).dose(ml=10)
    shed.wait(6).read(fac=70)
    assert shed.plan().now.kind is not StepKind.ACID


def test_acid_is_not_asked_for_on_the_ph_before_an_exchange() -> None:
    shed = a_shed(fac=70, ph=8.6)
    shed.tell(WaterExchanged(at=shed.now, by="RM", tank=1, volume_l=400))
    shed.wait(6).read(fac=70)
    assert shed.plan().now.kind is not StepKind.ACID


def test_water_whose_ph_was_low_before_an_exchange_is_read_and_neither_dosed_nor_exchanged() -> (
    None
):
    shed = a_shed(fac=50, ph=6.2)
    shed.tell(WaterExchanged(at=shed.now, by="RM", tank=1, volume_l=400))
    shed.wait(6).read(fac=50)
    # A dose says nothing of the pH, which may still be low.
    assert shed.plan().now.kind is StepKind.CHECK


def test_a_low_ph_asks_for_no_acid() -> None:
    plan = a_shed(fac=50, ph=6.2).plan()
    assert plan.now.kind in {StepKind.LOWER, StepKind.DOSE}
    assert "ph-low" in plan.answers


@pytest.mark.parametrize("fac", [65.0, 70.0, 74.0])
def test_a_low_ph_is_not_answered_by_a_dose_that_does_not_mend_it(fac: float) -> None:
    plan = a_shed(fac=fac, ph=6.2).plan()
    assert "ph-low" in plan.answers
    if plan.now.kind is StepKind.DOSE:
        assert plan.expected is not None
        assert plan.expected.ph is not None
        assert plan.expected.ph.low >= 6.5
    else:
        assert plan.now.kind is StepKind.LOWER
        assert "no acid" in words(plan.now.say).lower()


def test_where_gas_comes_everybody_steps_back_and_nothing_is_added() -> None:
    plan = a_shed(fac=50, ph=4.8).plan()
    assert plan.now.kind is StepKind.LEAVE
    assert plan.now.amount is None
    assert Caution.GAS in plan.now.cautions
    assert not plan.feed


def test_a_line_without_acid_is_not_told_to_add_any_and_not_that_all_is_well() -> None:
    shed = Shed(a_setup(a_tank(1, "Dunk", acid=None)))
    shed.fill()
    shed.read(fac=70, ph=8.4)  # which presses: over 8 chlorine is relatively ineffective
    assert shed.flag("ph-high")
    plan = shed.plan()
    assert plan.now.kind is not StepKind.ACID
    assert "No acid" in words(plan.now.say)


def test_acid_under_ph_7_keeps_its_low_limit() -> None:
    limits = PhLimits(low=6.0, target=6.3, high=6.6)
    shed = Shed(a_setup(a_tank(1, "Dunk", ph=limits)))
    shed.fill()
    shed.read(fac=70, ph=6.8)
    plan = shed.plan()
    if plan.now.kind is StepKind.ACID:
        ml = amount_of(plan, StepKind.ACID)
        soft = at_ph(tank_water(UNKNOWN_ALKALINITY.low_mg_l, 7.8, 20.0, 70.0), 6.8)
        assert after_vinegar(soft, ml) > 5.5
        assert plan.expected is not None
        assert plan.expected.ph is not None
        assert plan.expected.ph.low >= 6.0
