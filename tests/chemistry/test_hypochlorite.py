"""Strengths, doses and rises of hypochlorite, against bulletins and the mass balance."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from washmon.chemistry.checks import ChemistryError
from washmon.chemistry.hypochlorite import (
    StrengthBasis,
    available_chlorine_g_l,
    dose_g,
    dose_ml,
    rise_from_solid_mg_l,
    rise_mg_l,
    solid_available_chlorine_g_kg,
    strength_value,
    typical_density_kg_l,
)

NAOCL = StrengthBasis.WEIGHT_PCT_NAOCL
AVAILABLE = StrengthBasis.WEIGHT_PCT_AVAILABLE_CHLORINE
TRADE = StrengthBasis.TRADE_PCT
G_PER_L = StrengthBasis.G_PER_L_AVAILABLE_CHLORINE

GALLON_L, TEASPOON_ML, FLUID_OUNCE_ML = 3.785411784, 4.92892159375, 29.5735295625


@pytest.mark.parametrize(
    ("value", "basis", "density", "g_l"),
    [
        # White, Handbook of Chlorination (1972): wt % NaOCl = 1.05 G / (10 SG); trade % = G / 10.
        (5.25, NAOCL, 1.08, 54.0),
        (6.0, NAOCL, 1.085, 62.0),
        (8.25, NAOCL, 1.11, 87.2),
        (10.0, NAOCL, 1.14, 108.6),
        (12.5, NAOCL, 1.20, 142.9),
        (12.5, TRADE, 1.17, 125.0),
        (5.0, AVAILABLE, 1.08, 54.0),
        (125.0, G_PER_L, 1.17, 125.0),
    ],
)
def test_a_label_means_what_the_handbook_says(
    value: float, basis: StrengthBasis, density: float, g_l: float
) -> None:
    assert available_chlorine_g_l(value, basis, density) == pytest.approx(g_l, abs=0.06)


def test_twelve_and_a_half_per_cent_by_weight_is_a_seventh_more_than_by_trade() -> None:
    by_weight = available_chlorine_g_l(12.5, NAOCL, 1.20)
    by_trade = available_chlorine_g_l(12.5, TRADE, 1.17)
    assert by_weight / by_trade == pytest.approx(1.14, abs=0.005)


@given(st.floats(0.1, 17), st.sampled_from(StrengthBasis), st.floats(0.95, 1.45))
def test_a_strength_survives_the_way_there_and_back(
    value: float, basis: StrengthBasis, density: float
) -> None:
    g_l = available_chlorine_g_l(value, basis, density)
    assert strength_value(g_l, basis, density) == pytest.approx(value, rel=1e-12)


def test_a_fluid_ounce_in_a_gallon_is_as_the_health_department_prints_it() -> None:
    # Kansas Dept. of Health & Environment, hypochlorite dosing page: 1 fl oz of about 5.25 % in
    # 1 gal = 410 mg/L, which counts 5.25 % as 52.5 g/L.
    printed = rise_mg_l(GALLON_L, 0.0, FLUID_OUNCE_ML, 52.5)
    assert printed == pytest.approx(410, abs=6)
    # The same bottle by weight holds 54.0 g/L: 3 % more.
    assert rise_mg_l(GALLON_L, 0.0, FLUID_OUNCE_ML, 54.0) / printed == pytest.approx(1.03, abs=0.01)


def test_a_teaspoon_in_a_gallon_is_more_than_the_boil_water_notice_says() -> None:
    # Southern Nevada Health District, boil-water FAQ: 1 tsp of 8.25 % per gallon = "100 ppm".
    # Its own rounding leaves out density: with it, 114 mg/L.
    strength = available_chlorine_g_l(8.25, NAOCL, 1.11)
    assert rise_mg_l(GALLON_L, 0.0, TEASPOON_ML, strength) == pytest.approx(113.4, abs=1)


def test_calcium_hypochlorite_of_65_per_cent_counts_as_the_bulletin_says() -> None:
    # Ritenour, Sargent, Bartz, Chlorine Use in Produce Packing Lines, UF/IFAS CH160: 65 % products.
    strength = solid_available_chlorine_g_kg(65)
    assert strength == 650
    # 400 US gal from 0 to 120 ppm: 279.5 g, mass balance.
    assert dose_g(400 * GALLON_L, 0.0, 120.0, strength) == pytest.approx(279.5, abs=0.1)
    assert rise_from_solid_mg_l(400 * GALLON_L, 279.5, strength) == pytest.approx(120, abs=0.05)


@pytest.mark.parametrize(
    ("ppm", "amounts_ml"),
    [
        (25, (175, 153, 108, 66, 76)),
        (50, (350, 305, 217, 132, 151)),
        (75, (526, 458, 325, 199, 227)),
        (100, (701, 610, 434, 265, 303)),
        (150, (1051, 916, 651, 397, 454)),
        (200, (1402, 1221, 868, 530, 606)),
    ],
)
def test_a_hundred_gallons_take_what_the_mass_balance_says(
    ppm: float, amounts_ml: tuple[float, ...]
) -> None:
    # Worked by hand from the formulas of White, Handbook of Chlorination (1972), without the
    # volume that the product adds (at most 0.4 % here).
    labels = ((5.25, 1.08), (6.0, 1.085), (8.25, 1.11), (12.5, 1.20))
    strengths = [available_chlorine_g_l(value, NAOCL, density) for value, density in labels]
    strengths.append(125.0)
    for strength, amount_ml in zip(strengths, amounts_ml, strict=True):
        exact = dose_ml(100 * GALLON_L, 0.0, ppm, strength)
        assert exact == pytest.approx(amount_ml, rel=0.005, abs=0.6)


def test_a_re_dose_of_600_litres_is_as_worked_by_hand() -> None:
    assert dose_ml(600.0, 55.0, 100.0, 125.0) == pytest.approx(216, abs=0.3)
    assert dose_ml(600.0, 55.0, 100.0, 142.9) == pytest.approx(189, abs=0.3)


def test_five_gallons_take_two_and_a_third_teaspoons_by_the_simple_percent_rule() -> None:
    # Common practice, no published source: 8.25 % is treated as 82.5 g/L.
    starting = dose_ml(5 * GALLON_L, 0.0, 50.0, 82.5) / TEASPOON_ML
    assert starting == pytest.approx(2.3, abs=0.05)
    assert dose_ml(5 * GALLON_L, 40.0, 50.0, 82.5) / TEASPOON_ML == pytest.approx(
        starting / 5, rel=1e-9
    )


VOLUMES = st.floats(1, 50_000)
LEVELS = st.floats(0, 400)
STRENGTHS = st.floats(20, 300)


@given(VOLUMES, LEVELS, st.floats(0.1, 400), STRENGTHS)
def test_the_dose_raises_the_tank_by_exactly_what_was_asked(
    volume: float, level: float, rise: float, strength: float
) -> None:
    amount = dose_ml(volume, level, level + rise, strength)
    assert rise_mg_l(volume, level, amount, strength) == pytest.approx(rise, rel=1e-9, abs=1e-9)
    mixed = (level * volume + strength * amount) / (volume + amount / 1000)
    assert mixed == pytest.approx(level + rise, rel=1e-9)
    solid = dose_g(volume, level, level + rise, strength)
    assert rise_from_solid_mg_l(volume, solid, strength) == pytest.approx(rise, rel=1e-9)


@given(VOLUMES, LEVELS, st.floats(1, 400), STRENGTHS)
def test_more_water_a_higher_target_and_a_weaker_product_all_take_more(
    volume: float, level: float, rise: float, strength: float
) -> None:
    amount = dose_ml(volume, level, level + rise, strength)
    assert 0 < amount < math.inf
    assert dose_ml(volume * 1.01, level, level + rise, strength) > amount
    assert dose_ml(volume, level, level + rise * 1.01, strength) > amount
    assert dose_ml(volume, level, level + rise, strength * 0.99) > amount


def test_many_tanks_are_worked_out_in_one_call() -> None:
    volume, level = np.array([500.0, 600.0]), np.array([0.0, 55.0])
    target, strength = np.array([50.0, 100.0]), np.array([125.0, 125.0])
    amounts = dose_ml(volume, level, target, strength)
    assert amounts.tolist() == [
        dose_ml(500.0, 0.0, 50.0, 125.0),
        dose_ml(600.0, 55.0, 100.0, 125.0),
    ]
    with pytest.raises(ChemistryError, match="no water"):
        dose_ml(np.array([500.0, 0.0]), level, target, strength)


@pytest.mark.parametrize(
    ("value", "basis", "sentence"),
    [
        (101.0, NAOCL, "A strength of 101 % is not possible: read the label again."),
        (-1.0, TRADE, "A strength of -1 % is not possible: read the label again."),
        (math.nan, TRADE, "A strength of nan % is not possible: read the label again."),
        (90.0, TRADE, "No liquid hypochlorite has this strength"),
        (0.0, NAOCL, "No liquid hypochlorite has this strength"),
        (1250.0, G_PER_L, "No liquid hypochlorite has this strength"),
    ],
)
def test_a_strength_that_no_product_has_is_refused(
    value: float, basis: StrengthBasis, sentence: str
) -> None:
    with pytest.raises(ChemistryError, match=sentence):
        available_chlorine_g_l(value, basis, 1.2)


def test_a_density_in_the_wrong_unit_is_refused() -> None:
    with pytest.raises(ChemistryError, match=r"density of the product must be between 0.95 and"):
        available_chlorine_g_l(12.5, NAOCL, 1200)


@pytest.mark.parametrize(
    ("volume", "level", "target", "strength", "sentence"),
    [
        (0, 0, 50, 125, "There is no water in this tank"),
        (-5, 0, 50, 125, "There is no water in this tank"),
        (math.nan, 0, 50, 125, "There is no water in this tank"),
        (1e9, 0, 50, 125, "not plausible for a tank"),
        (500, 60, 50, 125, "The target is not above the present level"),
        (500, 50, 50, 125, "The target is not above the present level"),
        (500, -1, 50, 125, "The present level must be between 0 and 5000 ppm"),
        (500, 0, math.inf, 125, "The target must be between 0 and 5000 ppm"),
        (500, 0, 4000, 2, "weaker than the target"),
    ],
)
def test_a_dose_that_makes_no_sense_is_refused(
    volume: float, level: float, target: float, strength: float, sentence: str
) -> None:
    with pytest.raises(ChemistryError, match=sentence):
        dose_ml(volume, level, target, strength)


@pytest.mark.parametrize("pct", [0.0, -65.0, 101.0, math.nan])
def test_a_solid_of_impossible_strength_is_refused(pct: float) -> None:
    with pytest.raises(ChemistryError):
        solid_available_chlorine_g_kg(pct)


@pytest.mark.parametrize(
    ("value", "basis", "density"),
    [(8.25, NAOCL, 1.11), (12.5, TRADE, 1.17), (125, G_PER_L, 1.17), (15, NAOCL, 1.2)],
)
def test_a_label_without_a_density_gets_the_usual_one(
    value: float, basis: StrengthBasis, density: float
) -> None:
    # Values from memory, as the module says.
    assert typical_density_kg_l(value, basis) == pytest.approx(density, abs=0.005)
