"""How strong a container of sodium hypochlorite still is, from its dates and where it stood."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from washmon.chemistry.checks import ChemistryError, require, within
from washmon.chemistry.hypochlorite import CL2_G_PER_MOL, STRONGEST_LIQUID_G_L
from washmon.chemistry.speciation import KELVIN

SECONDS_PER_DAY = 86_400.0
WEAK_SHARE = 0.8
"""Of the label: a container with less is weak. Common practice, no published source."""
USUAL_CAUSTIC_MOL_L = 0.1

_GAS_CONSTANT = 8.314
_MOST_DILUTE_MOL_L, _LONGEST_DAYS = 1.0, 3650.0


@dataclass(frozen=True, slots=True)
class Stay:
    """So many days at one storage temperature."""

    days: float
    temperature_c: float


def decay_l_mol_s(temperature_c: float, ionic_strength: float) -> float:
    """Return the second-order rate constant (L/(mol s)) at which hypochlorite decomposes.

    Adam & Gordon (1999), Inorg. Chem. 38:1299, for clean bleach at 15 to 55 °C, 1 to 6 mol/L and
    pH 9 to 14. Light, nickel, copper and a pH under 11 are all faster: this is the best case.
    """
    kelvin = temperature_c + KELVIN
    salt: float = 10.0 ** (0.149 * max(ionic_strength, _MOST_DILUTE_MOL_L))
    heat = math.exp(-1.018e5 / (_GAS_CONSTANT * kelvin)) * math.exp(-56.5 / _GAS_CONSTANT)
    return salt * 2.083e10 * kelvin * heat


def present_strength_g_l(
    label_g_l: float, stays: Iterable[Stay], caustic_mol_l: float = USUAL_CAUSTIC_MOL_L
) -> float:
    """Return the strength (g/L as Cl2) left of what it was, after some stays.

    Second-order decay: half as strong decays a quarter as fast. Fresh bleach holds as much
    chloride as hypochlorite, and the sum of salt does not change as it decays.

    Raises:
        ChemistryError: a strength, a time or a temperature that cannot be.
    """
    if not within(label_g_l, 1e-3, STRONGEST_LIQUID_G_L):
        raise ChemistryError("The strength at the start is not known: read it from the label.")
    require(caustic_mol_l, "caustic of the product", 0.0, 2.0, "mol/L")
    start = label_g_l / CL2_G_PER_MOL
    ionic_strength = 2.0 * start + caustic_mol_l
    lost = 0.0
    for stay in stays:
        require(stay.days, "time in storage", 0.0, _LONGEST_DAYS, "days")
        require(stay.temperature_c, "storage temperature", -20.0, 60.0, "°C")
        rate = decay_l_mol_s(stay.temperature_c, ionic_strength)
        lost += rate * stay.days * SECONDS_PER_DAY
    return label_g_l / (1.0 + start * lost)


def half_life_days(
    strength_g_l: float,
    temperature_c: float,
    caustic_mol_l: float = USUAL_CAUSTIC_MOL_L,
    fresh_g_l: float | None = None,
) -> float:
    """Return after how many days half of a strength (g/L) is left; it doubles as it halves.

    Args:
        strength_g_l: available chlorine as Cl2 now, g/L.
        temperature_c: at which it stands, °C.
        caustic_mol_l: sodium hydroxide in it, mol/L.
        fresh_g_l: what an aged product held when it was fresh, g/L: its salt, which speeds decay,
            does not change as it ages.

    Raises:
        ChemistryError: a strength or a temperature that cannot be.
    """
    require(strength_g_l, "strength", 1e-3, STRONGEST_LIQUID_G_L, "g/L")
    require(temperature_c, "storage temperature", -20.0, 60.0, "°C")
    start = strength_g_l / CL2_G_PER_MOL
    fresh = start if fresh_g_l is None else fresh_g_l / CL2_G_PER_MOL
    rate = decay_l_mol_s(temperature_c, 2.0 * max(start, fresh) + caustic_mol_l)
    return 1.0 / (rate * start * SECONDS_PER_DAY)


def is_weak(present_g_l: float, label_g_l: float) -> bool:
    """Tell whether so little is left that the container should be tested or replaced."""
    return present_g_l < WEAK_SHARE * label_g_l


def strength_from_diluted_g_l(reading_mg_l: float, sample_ml: float, total_ml: float) -> float:
    """Return a product's strength (g/L) from a kit's reading of a diluted sample.

    ``sample_ml`` of the product was made up with water to ``total_ml``.

    Raises:
        ChemistryError: a dilution that is none, or a strength that no liquid has.
    """
    require(reading_mg_l, "reading", 0.0, 100_000.0, "ppm")
    if not (within(sample_ml, 1e-3, 10_000.0) and within(total_ml, sample_ml, 1e6)):
        raise ChemistryError(
            "The diluted sample must be more than the product in it: enter both in mL."
        )
    strength = reading_mg_l / 1000.0 * total_ml / sample_ml
    if not within(strength, 1e-3, STRONGEST_LIQUID_G_L):
        raise ChemistryError(
            "No liquid hypochlorite has this strength: check the dilution and the reading."
        )
    return strength
