"""What is taken for a measurement at all, and what is a slip of the finger.

The ends are common practice, no published source: wide enough for any shed, so that only what was
mistyped is refused.
"""

import math
import re
from collections.abc import Callable
from typing import Any

import pytest

from washmon.chemistry.acid import AcidKind, acid_mol_per_unit, small_step
from washmon.chemistry.ageing import (
    Stay,
    half_life_days,
    present_strength_g_l,
    strength_from_diluted_g_l,
)
from washmon.chemistry.checks import ChemistryError, require_water
from washmon.chemistry.chlorine_gas import chlorine_in_air_ppm, dissolved_chlorine_mg_l
from washmon.chemistry.dilution import drained_share
from washmon.chemistry.exposure import ct_mg_min_l
from washmon.chemistry.hypochlorite import (
    StrengthBasis,
    available_chlorine_g_l,
    caustic_per_mol,
    dose_g,
    dose_ml,
    rise_from_solid_mg_l,
    rise_mg_l,
    solid_available_chlorine_g_kg,
    strength_value,
)
from washmon.chemistry.measuring import in_measure
from washmon.chemistry.neutralising import Neutraliser, neutraliser_g
from washmon.chemistry.peracetic import (
    PeraceticProduct,
    contents_at,
    peracetic_dose_ml,
    with_peracetic,
)
from washmon.chemistry.speciation import hocl_share, hocl_share_in_salt, pka
from washmon.chemistry.titration import acid_needed_mol_l, alkalinity_from_response, tank_water
from washmon.chemistry.water import (
    at_ph,
    source_water,
    with_acid,
    with_carbon_dioxide,
    with_hypochlorite,
)

WATER = source_water(100.0, 7.8, 20.0, 10.0)
HARD = source_water(2000.0, 9.5, 20.0, 10.0)
PAA = PeraceticProduct(15.0, 10.0, 1.12, hedp_pct=0.6)
THIO = next(iter(Neutraliser))
HCL = AcidKind.HYDROCHLORIC


def _response(ph_error: float) -> object:
    """Work out an alkalinity from an acid addition that went as it should."""
    return alkalinity_from_response(WATER, with_acid(WATER, HCL, 1e-3), 7.8, 6.6, ph_error)


Row = tuple[str, float, float, Callable[[float], Any]]
ROWS: list[Row] = [
    ("total chlorine", 0, 5000, lambda x: neutraliser_g(500.0, x, THIO)),
    ("density of the product", 0.95, 1.45, lambda x: PeraceticProduct(15.0, 10.0, x)),
    ("present level", 0, 5000, lambda x: peracetic_dose_ml(500.0, x, 80.0, PAA)),
    ("target", 0, 5000, lambda x: peracetic_dose_ml(500.0, 0.0, x, PAA)),
    ("peracetic acid", 0, 5000, lambda x: contents_at(x, PAA)),
    ("peracetic acid", 0, 5000, lambda x: with_peracetic(WATER, x, PAA)),
    ("density of the acid", 0.95, 1.9, lambda x: acid_mol_per_unit(HCL, 20.0, x)),
    ("pH", 0, 14, lambda x: small_step(500.0, x, HCL, 20.0, 1.1)),
    ("caustic of the product", 0, 2, lambda x: present_strength_g_l(125.0, [], x)),
    ("time in storage", 0, 3650, lambda x: present_strength_g_l(125.0, [Stay(x, 20.0)])),
    ("storage temperature", -20, 60, lambda x: present_strength_g_l(125.0, [Stay(9.0, x)])),
    ("strength", 0.001, 350, lambda x: half_life_days(x, 20.0)),
    ("storage temperature", -20, 60, lambda x: half_life_days(125.0, x)),
    ("reading", 0, 100_000, lambda x: strength_from_diluted_g_l(x, 1.0, 1000.0)),
    ("free chlorine", 0, 5000, lambda x: tank_water(100.0, 7.8, 20.0, x)),
    ("error of a pH reading", 0.001, 1, _response),
    ("temperature of the water", -2, 60, pka),
    ("pH", 0, 14, lambda x: hocl_share(x, 20.0)),
    ("dissolved salt", 0, 0.5, lambda x: hocl_share_in_salt(7.0, 20.0, x)),
    ("sodium hydroxide in the product", 0, 5, lambda x: caustic_per_mol(x, 1.17, 125.0)),
    ("density of the product", 0.95, 1.45, lambda x: caustic_per_mol(0.5, x, 125.0)),
    ("strength", 0.001, 1000, lambda x: dose_g(500.0, 0.0, 50.0, x)),
    ("amount added", 0, 1e6, lambda x: rise_mg_l(500.0, 0.0, x, 125.0)),
    ("strength", 0.001, 1000, lambda x: rise_from_solid_mg_l(500.0, 60.0, x)),
    ("amount added", 0, 1e6, lambda x: rise_from_solid_mg_l(500.0, x, 650.0)),
    (
        "density of the product",
        0.95,
        1.45,
        lambda x: available_chlorine_g_l(12.5, StrengthBasis.WEIGHT_PCT_NAOCL, x),
    ),
    ("present level", 0, 5000, lambda x: dose_ml(500.0, x, 50.0, 125.0)),
    ("target", 0, 5000, lambda x: dose_ml(500.0, 0.0, x, 125.0)),
    ("free chlorine", 0, 5000, lambda x: dissolved_chlorine_mg_l(x, 6.5, 20.0, 100.0)),
    ("chloride", 0, 20_000, lambda x: dissolved_chlorine_mg_l(50.0, 6.5, 20.0, x)),
    ("temperature of the water", -2, 60, lambda x: dissolved_chlorine_mg_l(50.0, 6.5, x, 100.0)),
    ("dissolved chlorine gas", 0, 5000, lambda x: chlorine_in_air_ppm(x, 20.0)),
    ("temperature of the water", -2, 60, lambda x: chlorine_in_air_ppm(0.1, x)),
    ("present level", 0, 1e6, lambda x: drained_share(x, 40.0)),
    ("target", 0, 1e6, lambda x: drained_share(80.0, x)),
    ("level of the fresh water", 0, 1e6, lambda x: drained_share(80.0, 40.0, x)),
    ("alkalinity", 0, 2000, lambda x: source_water(x, 7.8, 20.0, 10.0)),
    ("pH of the source water", 4, 11, lambda x: source_water(100.0, x, 20.0, 10.0)),
    ("temperature of the water", -2, 60, lambda x: source_water(100.0, 7.8, x, 10.0)),
    ("chloride", 0, 20_000, lambda x: source_water(100.0, 7.8, 20.0, x)),
    ("rise", 0, 5000, lambda x: with_hypochlorite(WATER, x)),
    ("caustic of the product", 0, 2, lambda x: with_hypochlorite(WATER, 50.0, x)),
    ("acid added", 0, 10, lambda x: with_acid(WATER, HCL, x)),
    ("carbon dioxide added", 0, 1, lambda x: with_carbon_dioxide(WATER, x)),
    ("pH", 2, 12.5, lambda x: at_ph(WATER, x)),
    ("free chlorine", 0, 5000, lambda x: ct_mg_min_l(x, 60.0)),
    ("contact time", 0, 86_400, lambda x: ct_mg_min_l(50.0, x)),
]


def refused(what: str, call: Callable[[float], Any], value: float) -> bool:
    """Whether a value is refused for what it is; it may be refused for what follows from it."""
    try:
        call(value)
    except ChemistryError as fault:
        return re.match(f"The {what} must be between", str(fault)) is not None
    return False


@pytest.mark.parametrize(("what", "low", "high", "call"), ROWS)
def test_a_value_is_taken_up_to_its_ends_and_refused_beyond(
    what: str, low: float, high: float, call: Callable[[float], Any]
) -> None:
    within = low + 0.5 * min(high - low, 1.0)
    outside = (math.nextafter(low, -math.inf), low - 0.5, math.nextafter(high, math.inf), high + 1)
    taken = (low, within, high, math.nextafter(high, low))
    assert [refused(what, call, value) for value in taken] == [False] * 4
    assert [refused(what, call, value) for value in outside] == [True] * 4
    assert refused(what, call, math.nan)


@pytest.mark.parametrize(
    ("volume_l", "told"), [(9e-4, "There is no water"), (1e6 + 1, "More than")]
)
def test_a_tank_holds_some_water_and_no_lake(volume_l: float, told: str) -> None:
    for taken in (1e-3, 1.0, 1e6):
        require_water(taken)
    with pytest.raises(ChemistryError, match=told):
        require_water(volume_l)


Call = Callable[[float], Any]
OTHERS: list[tuple[float, float, Call]] = [
    (1e-3, 100.0, lambda x: acid_mol_per_unit(HCL, x, 1.1)),
    (1e-3, 100.0, solid_available_chlorine_g_kg),
    (1e-3, 350.0, lambda x: present_strength_g_l(x, [])),
    (1e-3, 350.0, lambda x: strength_value(x, StrengthBasis.TRADE_PCT, 1.1)),
    (1e-3, 350.0, lambda x: rise_mg_l(500.0, 0.0, 60.0, x)),
    (1e-3, 350.0, lambda x: available_chlorine_g_l(x, StrengthBasis.G_PER_L_AVAILABLE_CHLORINE, 1)),
    (1e-3, 350.0, lambda x: strength_from_diluted_g_l(100.0 * x, 1.0, 10.0)),
    (1e-3, 10_000.0, lambda x: strength_from_diluted_g_l(100.0, x, x)),
    (10.0, 1e6, lambda x: strength_from_diluted_g_l(3.0, 10.0, x)),
    (0.1, 40.0, lambda x: PeraceticProduct(x, 10.0, 1.12)),
    (0.0, 85.0, lambda x: PeraceticProduct(15.0, x, 1.12)),
    (0.0, 75.0, lambda x: PeraceticProduct(15.0, 10.0, 1.12, acetic_pct=x)),
    (0.0, 75.0, lambda x: PeraceticProduct(15.0, 10.0, 1.12, hedp_pct=x)),
    (1e-9, 1e9, lambda x: in_measure(x, ["cup"])),
]


@pytest.mark.parametrize(("low", "high", "call"), OTHERS)
def test_what_has_a_sentence_of_its_own_is_refused_from_its_ends_on_too(
    low: float, high: float, call: Call
) -> None:
    for taken in (low, high):
        call(taken)
    for refused_value in (low - 1e-3 * (low or 1.0), high * 1.001, math.nan):
        with pytest.raises(ChemistryError):
            call(refused_value)


DOSES: list[Callable[[float, float], float]] = [
    lambda level, target: dose_ml(500.0, level, target, 125.0),
    lambda level, target: dose_g(500.0, level, target, 650.0),
    lambda level, target: peracetic_dose_ml(500.0, level, target, PAA),
]


@pytest.mark.parametrize("dose", DOSES)
def test_a_target_is_aimed_at_from_anything_above_rounding_on(
    dose: Callable[[float, float], float],
) -> None:
    assert dose(50.0, 50.0 + 1e-6) > 0
    with pytest.raises(ChemistryError, match="not above the present level"):
        dose(50.0, 50.0)


def test_a_product_stronger_than_the_target_by_anything_can_reach_it() -> None:
    assert dose_ml(500.0, 0.0, 999.0, 1.0) == pytest.approx(500 * 999 / 1e-3)
    for target in (1000.0, 1001.0):
        with pytest.raises(ChemistryError, match="weaker than the target"):
            dose_ml(500.0, 0.0, target, 1.0)


def test_no_target_under_six_and_none_over_nine_is_aimed_at() -> None:
    # Under pH 6 chlorine gas comes off: UF/IFAS CH160 asks for 6.5 to 7.5.
    for target in (6.0, 9.0):
        assert acid_needed_mol_l(HARD, target, HCL) > 0
    with pytest.raises(ChemistryError, match="under 6 gives off chlorine gas"):
        acid_needed_mol_l(HARD, math.nextafter(6.0, 0.0), HCL)
    with pytest.raises(ChemistryError, match="target pH must be between 6 and 9"):
        acid_needed_mol_l(HARD, math.nextafter(9.0, 10.0), HCL)
