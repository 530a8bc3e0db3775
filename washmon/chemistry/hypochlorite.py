"""Hypochlorite: what the strength on a label means, how much to add, and what an amount does.

Levels are mg/L of chlorine as Cl2, as Standard Methods 4500-Cl reports them. Demand of the water
is not in a mass balance: real water reads lower, so dose, mix, read again.
"""

from enum import StrEnum
from itertools import pairwise

from washmon.chemistry.checks import ChemistryError, Number, require, require_water, within

# From the IUPAC atomic weights.
CL2_G_PER_MOL = 70.906
NAOCL_G_PER_MOL = 74.442
NAOCL_PER_CL2 = NAOCL_G_PER_MOL / CL2_G_PER_MOL
NAOH_G_PER_MOL = 39.997

HIGHEST_LEVEL_MG_L = 5000.0
MOST_CAUSTIC_PCT = 5.0  # value from memory: data sheets tell 0.2 to 1 %
STRONGEST_LIQUID_G_L = 350.0  # value from memory: no liquid that is sold holds more

# (weight % NaOCl, kg/L) of clean product at 20 °C: values from memory, for a label without one.
_TYPICAL_DENSITY = ((0, 1.0), (5.25, 1.08), (6, 1.085), (8.25, 1.11), (10, 1.14), (12.5, 1.2))


class StrengthBasis(StrEnum):
    """What the number on a label counts: "12.5 %" alone does not say, and the dose differs."""

    WEIGHT_PCT_NAOCL = "weight_pct_naocl"
    WEIGHT_PCT_AVAILABLE_CHLORINE = "weight_pct_available_chlorine"
    TRADE_PCT = "trade_pct"  # g of available chlorine in 100 mL
    G_PER_L_AVAILABLE_CHLORINE = "g_per_l_available_chlorine"


def available_chlorine_g_l(value: float, basis: StrengthBasis, density_kg_l: float) -> float:
    """Return the available chlorine (g/L as Cl2) of a liquid, from its label.

    Conversions of White, Handbook of Chlorination (1972): one mole of hypochlorite counts as one
    mole of Cl2; a weight percentage counts in 100 g, a trade percentage in 100 mL.

    Raises:
        ChemistryError: a strength or a density that no product has.
    """
    if basis is not StrengthBasis.G_PER_L_AVAILABLE_CHLORINE and not within(value, 0.0, 100.0):
        raise ChemistryError(
            "A strength of {value} % is not possible: read the label again.", value=f"{value:g}"
        )
    strength_g_l = value * _g_l_per_unit(basis, density_kg_l)
    _require_liquid(strength_g_l)
    return strength_g_l


def strength_value(available_g_l: float, basis: StrengthBasis, density_kg_l: float) -> float:
    """Return the number that a label of this basis carries for a strength in g/L as Cl2.

    Raises:
        ChemistryError: a strength or a density that no product has.
    """
    _require_liquid(available_g_l)
    return available_g_l / _g_l_per_unit(basis, density_kg_l)


def typical_density_kg_l(value: float, basis: StrengthBasis) -> float:
    """Return the density (kg/L) that liquid sodium hypochlorite of this strength usually has.

    A guess from remembered values, good to about 0.02 kg/L; the label or the safety data sheet
    is better, because excess caustic raises it.

    Raises:
        ChemistryError: a strength that no product has.
    """
    by_weight = StrengthBasis.WEIGHT_PCT_NAOCL
    labels = [
        (weight_pct * _g_l_per_unit(by_weight, density) / _g_l_per_unit(basis, density), density)
        for weight_pct, density in _TYPICAL_DENSITY
    ]
    density_kg_l = labels[-1][1]
    for (low, thin), (high, thick) in pairwise(labels):
        if low <= value < high:
            density_kg_l = thin + (thick - thin) * (value - low) / (high - low)
    available_chlorine_g_l(value, basis, density_kg_l)
    return density_kg_l


def caustic_per_mol(naoh_pct: float, density_kg_l: float, strength_g_l: float) -> float:
    """Return the excess caustic, mol to the mol of chlorine, from NaOH in % by weight.

    Raises:
        ChemistryError: so much as no product that is sold holds.
    """
    require(naoh_pct, "sodium hydroxide in the product", 0.0, MOST_CAUSTIC_PCT, "%")
    require(density_kg_l, "density of the product", 0.95, 1.45, "kg/L")
    _require_liquid(strength_g_l)
    naoh_mol_l = naoh_pct * 10.0 * density_kg_l / NAOH_G_PER_MOL
    return naoh_mol_l / (strength_g_l / CL2_G_PER_MOL)


def solid_available_chlorine_g_kg(weight_pct: float) -> float:
    """Return the available chlorine (g/kg as Cl2) of calcium hypochlorite: 650 for 65 %.

    Raises:
        ChemistryError: a strength that no solid has (pure Ca(OCl)2 counts as 99.2 %).
    """
    if not within(weight_pct, 1e-3, 100.0):
        raise ChemistryError(
            "A strength of {value} % is not possible: read the label again.",
            value=f"{weight_pct:g}",
        )
    return weight_pct * 10.0


def dose_ml(
    volume_l: Number, level_mg_l: Number, target_mg_l: Number, strength_g_l: Number
) -> Number:
    """Return the mL of a liquid (g/L) that raise a tank (L) from a level to a target (mg/L).

    Mass balance that counts the volume added: (level V + strength v) / (V + v) = target.

    Args:
        volume_l: of the tank, L.
        level_mg_l: free chlorine now, mg/L as Cl2.
        target_mg_l: what it is to come to, mg/L as Cl2.
        strength_g_l: available chlorine of the product, g/L as Cl2; numbers and arrays must be
            of one shape.

    Raises:
        ChemistryError: no water, a target not above the level, or a product not above the target.
    """
    _require_rise(volume_l, level_mg_l, target_mg_l)
    _require_liquid(strength_g_l)
    margin_g_l = strength_g_l - target_mg_l / 1000.0
    if not within(margin_g_l, 1e-6):
        raise ChemistryError("The product is weaker than the target: use a stronger product.")
    return volume_l * (target_mg_l - level_mg_l) / margin_g_l


def dose_g(
    volume_l: Number, level_mg_l: Number, target_mg_l: Number, strength_g_kg: Number
) -> Number:
    """Return the g of a solid (g/kg) that raise a tank (L) from a level to a target (mg/L).

    Args:
        volume_l: of the tank, L.
        level_mg_l: free chlorine now, mg/L as Cl2.
        target_mg_l: what it is to come to, mg/L as Cl2.
        strength_g_kg: available chlorine of the product, g/kg as Cl2; numbers and arrays must
            be of one shape.

    Raises:
        ChemistryError: no water, a target not above the level, or a strength of nothing.
    """
    _require_rise(volume_l, level_mg_l, target_mg_l)
    require(strength_g_kg, "strength", 1e-3, 1000.0, "g/kg")
    return volume_l * (target_mg_l - level_mg_l) / strength_g_kg


def rise_mg_l(
    volume_l: Number, level_mg_l: Number, added_ml: Number, strength_g_l: Number
) -> Number:
    """Return by how many mg/L an amount (mL) of a liquid (g/L) raises a tank (L) at a level.

    The opposite of ``dose_ml``; the volume added is counted.

    Args:
        volume_l: of the tank, L.
        level_mg_l: free chlorine before, mg/L as Cl2.
        added_ml: of the product, mL.
        strength_g_l: available chlorine of the product, g/L as Cl2; numbers and arrays must be
            of one shape.

    Raises:
        ChemistryError: no water, or a negative or absurd level, amount or strength.
    """
    _require_tank(volume_l, level_mg_l)
    _require_liquid(strength_g_l)
    require(added_ml, "amount added", 0.0, 1e6, "mL")
    return added_ml * (strength_g_l - level_mg_l / 1000.0) / (volume_l + added_ml / 1000.0)


def rise_from_solid_mg_l(volume_l: Number, added_g: Number, strength_g_kg: Number) -> Number:
    """Return by how many mg/L an amount (g) of a solid (g/kg) raises a tank (L).

    Raises:
        ChemistryError: no water, or a negative or absurd amount or strength.
    """
    require_water(volume_l)
    require(strength_g_kg, "strength", 1e-3, 1000.0, "g/kg")
    require(added_g, "amount added", 0.0, 1e6, "g")
    return added_g * strength_g_kg / volume_l


def _g_l_per_unit(basis: StrengthBasis, density_kg_l: float) -> float:
    """Return the g/L of available chlorine that one unit of a label's number stands for."""
    if basis is StrengthBasis.G_PER_L_AVAILABLE_CHLORINE:
        return 1.0
    if basis is StrengthBasis.TRADE_PCT:
        return 10.0
    require(density_kg_l, "density of the product", 0.95, 1.45, "kg/L")
    if basis is StrengthBasis.WEIGHT_PCT_NAOCL:
        return 10.0 * density_kg_l / NAOCL_PER_CL2
    return 10.0 * density_kg_l


def _require_liquid(strength_g_l: Number) -> None:
    if not within(strength_g_l, 1e-3, STRONGEST_LIQUID_G_L):
        raise ChemistryError(
            "No liquid hypochlorite has this strength: read the label again, the number and "
            "what it counts."
        )


def _require_tank(volume_l: Number, level_mg_l: Number) -> None:
    require_water(volume_l)
    require(level_mg_l, "present level", 0.0, HIGHEST_LEVEL_MG_L, "ppm")


def _require_rise(volume_l: Number, level_mg_l: Number, target_mg_l: Number) -> None:
    _require_tank(volume_l, level_mg_l)
    require(target_mg_l, "target", 0.0, HIGHEST_LEVEL_MG_L, "ppm")
    if not within(target_mg_l - level_mg_l, 1e-9):
        raise ChemistryError(
            "The target is not above the present level: wait, or drain part of the water and "
            "refill, but do not dose."
        )
