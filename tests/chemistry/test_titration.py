"""Acid for a tank, against PHREEQC, and alkalinity from a tank's response."""

from itertools import product
from statistics import median

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import brentq

from tests.chemistry.geochemistry import BACKGROUND_MG_L, FORMULAS, bleach, ph_after
from washmon.chemistry.acid import AcidKind, acid_mol_per_unit, small_step
from washmon.chemistry.checks import ChemistryError
from washmon.chemistry.titration import (
    UNKNOWN_ALKALINITY,
    AcidPlan,
    acid_needed_mol_l,
    acid_plan,
    alkalinity_from_response,
    carbon_dioxide_needed_mol_l,
    tank_water,
)
from washmon.chemistry.water import (
    Water,
    at_ph,
    ph_of,
    source_water,
    with_acid,
    with_carbon_dioxide,
    with_hypochlorite,
)

GRID = list(
    product(
        (0.0, 20.0, 50.0, 100.0, 200.0, 400.0),
        (6.0, 7.0, 8.0, 9.5),
        (5.0, 15.0, 30.0),
        (0.0, 50.0, 200.0),
        (6.5, 7.0),
    )
)
VINEGAR = (AcidKind.VINEGAR, None, None)


def phreeqc_acid(
    fresh: tuple[float, float, float],
    reaction: dict[str, float],
    goal: tuple[AcidKind, float],
    carbon_mol_l: float | None,
    about: float,
) -> float:
    """Return the acid (mol/L) that takes PHREEQC's water to a target, near a first guess."""
    kind, target = goal

    def off(acid: float) -> float:
        return ph_after(*fresh, {**reaction, FORMULAS[kind]: acid}, carbon_mol_l) - target

    return float(brentq(off, about * 0.8, about * 1.25, xtol=about * 1e-5))


@pytest.mark.parametrize("kind", AcidKind)
def test_the_acid_to_a_target_agrees_with_phreeqc(kind: AcidKind) -> None:
    gaps, misses = [], []
    for alkalinity, ph, celsius, rise, target in GRID:
        source = source_water(alkalinity, ph, celsius, BACKGROUND_MG_L)
        dosed = with_hypochlorite(source, rise)
        if ph_of(dosed) < target + 0.1:
            continue
        carbon = source.carbonate_mol_l if alkalinity == 0 else None
        ours = acid_needed_mol_l(dosed, target, kind)
        fresh, reaction = (alkalinity, ph, celsius), bleach(rise)
        theirs = phreeqc_acid(fresh, reaction, (kind, target), carbon, ours)
        gaps.append(abs(ours / theirs - 1))
        if alkalinity > 0:  # without any, the pH falls off a cliff and only the dose can agree
            reached = ph_after(*fresh, {**reaction, FORMULAS[kind]: ours}, carbon)
            misses.append(abs(reached - target))
    assert len(gaps) > 280
    assert max(gaps) < 0.03
    assert median(gaps) < 0.01
    assert max(misses) < 0.03


def test_carbon_dioxide_to_a_target_agrees_with_phreeqc() -> None:
    for alkalinity, target in ((30.0, 7.0), (100.0, 7.0), (100.0, 6.5), (250.0, 6.5)):
        dosed = with_hypochlorite(source_water(alkalinity, 7.8, 20.0, BACKGROUND_MG_L), 100.0)
        needed = carbon_dioxide_needed_mol_l(dosed, target)
        reaction = bleach(100.0) | {"CO2": needed}
        assert ph_after(alkalinity, 7.8, 20.0, reaction) == pytest.approx(target, abs=0.01)
        assert ph_of(with_carbon_dioxide(dosed, needed)) == pytest.approx(target, abs=1e-3)


waters = st.builds(
    lambda alk, ph, celsius, rise: with_hypochlorite(source_water(alk, ph, celsius, 0.0), rise),
    st.floats(5, 400),
    st.floats(6.5, 9.5),
    st.floats(2, 35),
    st.floats(5, 200),
)


@given(waters, st.floats(6, 8), st.sampled_from(AcidKind))
def test_the_acid_that_was_worked_out_brings_the_water_to_its_target(
    water: Water[float], target: float, kind: AcidKind
) -> None:
    assume(ph_of(water) > target + 0.01)
    acid = acid_needed_mol_l(water, target, kind)
    assert acid > 0
    assert ph_of(with_acid(water, kind, acid)) == pytest.approx(target, abs=1e-3)
    assert (
        acid_needed_mol_l(water, target - 0.0 if target == 6 else max(6.0, target - 0.1), kind)
        >= acid
    )


def plan_for(
    ph: float, chlorine: float, volume: float, product: tuple[AcidKind, None, None]
) -> AcidPlan:
    known = UNKNOWN_ALKALINITY
    tanks = [
        at_ph(tank_water(alkalinity, 7.8, 15.0, chlorine), ph)
        for alkalinity in (known.best_mg_l, known.low_mg_l, known.high_mg_l)
    ]
    return acid_plan(*tanks, target_ph=7.0, volume_l=volume, product=product)


@given(
    st.floats(7.05, 10),
    st.floats(0, 200),
    st.floats(10, 10_000),
    st.sampled_from(AcidKind),
)
def test_a_first_step_can_not_take_the_softest_plausible_water_under_ph_six(
    ph: float, chlorine: float, volume: float, kind: AcidKind
) -> None:
    plan = plan_for(ph, chlorine, volume, (kind, None, None))
    assert 0 < plan.first <= plan.whole / 2 * (1 + 1e-9)
    assert plan.whole_low <= plan.whole <= plan.whole_high
    assert plan.lowest_ph_after_first >= 6.2 - 1e-3
    assert plan.lowest_ph_after_first < plan.ph_after_first + 1e-6 < ph + 1e-6


def test_a_first_step_is_half_or_what_takes_the_softest_plausible_water_to_a_safe_ph() -> None:
    # 6.2 is the gas limit of 6.0 with room for a reading: common practice, no published source.
    half, less = (plan_for(ph, 0.0, 500.0, VINEGAR) for ph in (8.5, 9.5))
    assert half.first == pytest.approx(half.whole / 2)
    assert half.lowest_ph_after_first > 6.2
    assert less.first < 0.99 * less.whole / 2
    assert less.lowest_ph_after_first == pytest.approx(6.2, abs=1e-6)


def test_the_small_step_is_smaller_than_half_of_what_usual_water_needs() -> None:
    # Common practice, no published source: half a teaspoon of vinegar to 5 gallons.
    plan = plan_for(8.5, 50.0, 500.0, VINEGAR)
    assert small_step(500.0, 8.5, AcidKind.VINEGAR) < plan.first


def test_a_hundred_litres_take_what_titration_by_phreeqc_took() -> None:
    # Alkalinity 100, pH 7.8, 20 °C, 100 ppm, to pH 7.0, worked with PHREEQC without the salt that
    # bleach brings: 1.53 mmol/L of hydrochloric acid is 15.3 mL of 31.45 %.
    dosed = with_hypochlorite(source_water(100.0, 7.8, 20.0, 0.0), 100.0)
    for kind, amount in (
        (AcidKind.VINEGAR, 185.0),
        (AcidKind.HYDROCHLORIC, 15.3),
        (AcidKind.CITRIC, 10.3),
        (AcidKind.PHOSPHORIC, 8.9),
        (AcidKind.SODIUM_BISULFATE, 19.5),
    ):
        ours = acid_needed_mol_l(dosed, 7.0, kind) * 100 / acid_mol_per_unit(kind)
        assert ours == pytest.approx(amount, rel=0.025)


@given(st.floats(30, 400), st.floats(7.2, 8.6), st.floats(10, 120), st.sampled_from(AcidKind))
def test_alkalinity_is_found_again_from_the_response_to_acid(
    alkalinity: float, ph: float, chlorine: float, kind: AcidKind
) -> None:
    true = at_ph(tank_water(alkalinity, 7.8, 15.0, chlorine), ph)
    acid = acid_needed_mol_l(true, 6.7, kind)
    assumed = at_ph(tank_water(120.0, 7.8, 15.0, chlorine), ph)
    found = alkalinity_from_response(assumed, with_acid(assumed, kind, acid), ph, 6.7, 0.05)
    assert found.best_mg_l == pytest.approx(alkalinity, rel=0.06)  # salt of the assumed water
    assert found.low_mg_l <= found.best_mg_l <= found.high_mg_l


def test_alkalinity_is_found_again_from_the_response_to_bleach() -> None:
    true = at_ph(tank_water(200.0, 7.8, 15.0, 30.0), 7.4)
    after = ph_of(with_hypochlorite(true, 60.0))
    assumed = at_ph(tank_water(120.0, 7.8, 15.0, 30.0), 7.4)
    found = alkalinity_from_response(assumed, with_hypochlorite(assumed, 60.0), 7.4, after, 0.05)
    assert found.best_mg_l == pytest.approx(200, rel=0.05)


def test_the_range_of_an_answer_is_that_of_both_readings_being_off_against_each_other() -> None:
    # Two independent errors of one size add by their squares: each is taken as that over root two.
    assumed = at_ph(tank_water(120.0, 7.8, 20.0, 50.0), 7.8)
    after, off = with_acid(assumed, AcidKind.HYDROCHLORIC, 4e-4), 0.1 / 2**0.5
    found = alkalinity_from_response(assumed, after, 7.8, 7.0, 0.1)
    ends = [
        alkalinity_from_response(assumed, after, 7.8 + one, 7.0 - one, 0.001).best_mg_l
        for one in (off, -off)
    ]
    assert (found.low_mg_l, found.high_mg_l) == pytest.approx(ends, rel=1e-6)
    assert found.low_mg_l < found.best_mg_l < found.high_mg_l


@pytest.mark.parametrize("move", [0.02, 0.06, 0.1, 0.14])
@pytest.mark.parametrize("ph", [7.2, 9.0, 9.9])
def test_a_move_within_the_error_of_the_readings_rules_out_no_hard_water(
    ph: float, move: float
) -> None:
    # The readings, each off by 0.1 / root two, may stand the other way round: it need not have
    # moved at all, as in water of any alkalinity.
    before = at_ph(tank_water(40.0, 7.8, 15.0, 10.0), ph)
    after = with_hypochlorite(before, 300.0)
    assert alkalinity_from_response(before, after, ph, ph + move, 0.1).high_mg_l == 2000.0


def test_a_move_beyond_the_error_of_both_readings_rules_out_the_hardest_water() -> None:
    # 0.15 is just more than two readings that are off against each other by 0.1 / root two each.
    before = at_ph(tank_water(40.0, 7.8, 15.0, 10.0), 7.6)
    after = with_acid(before, AcidKind.HYDROCHLORIC, 3e-5)
    found = alkalinity_from_response(before, after, 7.6, 7.6 - 0.15, 0.1)
    assert found.best_mg_l < found.high_mg_l < 2000.0


def test_chlorine_that_was_added_changes_nothing_of_what_the_source_brought() -> None:
    plain, dosed = (tank_water(100.0, 7.8, 20.0, chlorine) for chlorine in (0.0, 2000.0))
    assert dosed.carbonate_mol_l == plain.carbonate_mol_l
    assert dosed.salt_mol_l == dosed.chlorine_mol_l == pytest.approx(2000.0 / 70_906.0)


def test_a_coarse_strip_tells_less_than_a_meter() -> None:
    true = at_ph(tank_water(150.0, 7.8, 15.0, 50.0), 8.2)
    acid = acid_needed_mol_l(true, 7.2, AcidKind.HYDROCHLORIC)
    after = with_acid(true, AcidKind.HYDROCHLORIC, acid)
    meter = alkalinity_from_response(true, after, 8.2, 7.2, 0.05)
    strip = alkalinity_from_response(true, after, 8.2, 7.2, 0.4)
    assert strip.low_mg_l < meter.low_mg_l < 150 < meter.high_mg_l < strip.high_mg_l


def test_a_response_that_makes_no_sense_is_refused() -> None:
    tank = at_ph(tank_water(150.0, 7.8, 15.0, 50.0), 8.2)
    after = with_acid(tank, AcidKind.HYDROCHLORIC, 1e-3)
    for ph_after_acid in (8.2, 8.6):
        with pytest.raises(ChemistryError, match="did not move as it should"):
            alkalinity_from_response(tank, after, 8.2, ph_after_acid, 0.05)


def test_acid_that_is_not_due_or_too_much_is_refused() -> None:
    tank = at_ph(tank_water(150.0, 7.8, 15.0, 50.0), 6.9)
    with pytest.raises(ChemistryError, match="add no acid"):
        acid_needed_mol_l(tank, 7.0, AcidKind.VINEGAR)
    with pytest.raises(ChemistryError, match="chlorine gas"):
        acid_needed_mol_l(tank, 5.5, AcidKind.VINEGAR)
    with pytest.raises(ChemistryError, match="no water in this tank"):
        plan_for(8.0, 50.0, 0.0, VINEGAR)


def test_ten_thousand_tanks_are_solved_in_one_call() -> None:
    rng = np.random.default_rng(1)
    alk, ph = rng.uniform(20, 400, 10_000), rng.uniform(7, 9.5, 10_000)
    celsius, rise = rng.uniform(5, 30, 10_000), rng.uniform(0, 200, 10_000)
    waters = with_hypochlorite(source_water(alk, ph, celsius, 0 * alk), rise)
    acid = acid_needed_mol_l(waters, np.full(10_000, 6.8), AcidKind.CITRIC)
    assert ph_of(with_acid(waters, AcidKind.CITRIC, acid)) == pytest.approx(6.8, abs=1e-3)
    one = with_hypochlorite(source_water(alk[7], ph[7], celsius[7], 0.0), float(rise[7]))
    assert acid[7] == pytest.approx(acid_needed_mol_l(one, 6.8, AcidKind.CITRIC), rel=1e-9)
