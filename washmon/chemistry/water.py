"""Wash water as a closed carbonate system: its pH before and after hypochlorite and acid.

The balance is the usual one of aquatic chemistry (Stumm & Morgan, Aquatic Chemistry): the strong
base left over, alkalinity, equals the charge of bicarbonate, carbonate, hypochlorite, hydroxide and
weak-acid anions, less that of hydrogen. Carbon dioxide that escapes from sprays, so that the pH
creeps up again over hours, is not in it.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Generic

from washmon.chemistry.acid import WEAK_ACIDS, AcidKind, WeakAcid, anion_charge
from washmon.chemistry.checks import ChemistryError, Number, require, within
from washmon.chemistry.constants import Constants, constants, hydrogen
from washmon.chemistry.hypochlorite import CL2_G_PER_MOL, HIGHEST_LEVEL_MG_L
from washmon.chemistry.speciation import COLDEST_C, HOTTEST_C

CACO3_MG_PER_EQ = 50_043.5
CL2_MG_PER_MOL = CL2_G_PER_MOL * 1000.0
CHLORIDE_MG_PER_MOL = 35_453.0
HIGHEST_ALKALINITY_MG_L = 2000.0

# Caustic in excess, mol to the mol of sodium hypochlorite: 0.07 is 5 g/L of NaOH in a 12.5 %
# product, value from memory. Where no data sheet tells it, it may be anything in the range: 0.2 to
# 1 % of NaOH are 0.03 to 0.17 in such a product (supplier data, value from memory).
CAUSTIC_PER_MOL = 0.08
CAUSTIC_LOW, CAUSTIC_HIGH = 0.0, 0.2

_FIRST_PH, _FIRST_STEP, _HALVINGS, _POLISHES = 7.5, 2.75, 12, 2
_SALT_PASSES = 3


@dataclass(frozen=True, slots=True)
class Water(Generic[Number]):
    """What a water holds, in mol or equivalents per litre; floats for one tank, arrays for many."""

    alkalinity_eq_l: Number  # strong base less strong acid, hypochlorite counted
    carbonate_mol_l: Number  # carbon dioxide, bicarbonate and carbonate together
    chlorine_mol_l: Number  # HOCl and OCl-
    salt_mol_l: Number  # chloride and other strong anions
    temperature_c: Number
    acids: tuple[tuple[WeakAcid, Number], ...] = ()  # weak ones added, mol/L

    @property
    def constants(self) -> Constants[Number]:
        """The equilibrium constants at this temperature and salt content."""
        return constants(self.temperature_c, not_negative(self.alkalinity_eq_l) + self.salt_mol_l)


def source_water(
    alkalinity_mg_l: Number, ph: Number, temperature_c: Number, chloride_mg_l: Number
) -> Water[Number]:
    """Return fresh water from its alkalinity (mg/L as CaCO3), pH, temperature and chloride.

    Where the alkalinity is too small for the pH, the least that can hold it is taken.

    Args:
        alkalinity_mg_l: mg/L as CaCO3.
        ph: as it comes.
        temperature_c: °C.
        chloride_mg_l: mg/L; numbers and arrays must be of one shape.

    Raises:
        ChemistryError: a value that no source water has.
    """
    require(alkalinity_mg_l, "alkalinity", 0.0, HIGHEST_ALKALINITY_MG_L, "mg/L")
    require(ph, "pH of the source water", 4.0, 11.0)
    require(temperature_c, "temperature of the water", COLDEST_C, HOTTEST_C, "°C")
    require(chloride_mg_l, "chloride", 0.0, 20_000.0, "mg/L")
    none = 0.0 * ph
    alkalinity = alkalinity_mg_l / CACO3_MG_PER_EQ + none
    salt = chloride_mg_l / CHLORIDE_MG_PER_MOL
    water = Water(alkalinity, none, none, salt, temperature_c)
    rest = _charge(water, water.constants, ph)
    one = _charge(replace(water, carbonate_mol_l=none + 1.0), water.constants, ph) - rest
    carbonate = not_negative(alkalinity - rest) / one
    return replace(water, carbonate_mol_l=carbonate, alkalinity_eq_l=rest + carbonate * one)


def with_hypochlorite(
    water: Water[Number], rise_mg_l: Number, caustic_per_mol: float = CAUSTIC_PER_MOL
) -> Water[Number]:
    """Return the water after a hypochlorite dose that raises free chlorine by so much (mg/L).

    Each mol brings a mol of OCl-, its excess caustic, and a mol of chloride from how it is made.

    Raises:
        ChemistryError: a negative or absurd rise.
    """
    require(rise_mg_l, "rise", 0.0, HIGHEST_LEVEL_MG_L, "ppm")
    require(caustic_per_mol, "caustic of the product", 0.0, 2.0, "mol/mol")
    dose = rise_mg_l / CL2_MG_PER_MOL
    return replace(
        water,
        alkalinity_eq_l=water.alkalinity_eq_l + dose * (1.0 + caustic_per_mol),
        chlorine_mol_l=water.chlorine_mol_l + dose,
        salt_mol_l=water.salt_mol_l + dose,
    )


def with_chlorine_used(water: Water[Number], used_mg_l: Number) -> Water[Number]:
    """Return the water after produce has used up so much free chlorine (mg/L as Cl2).

    Hypochlorite leaves as chloride: its alkalinity goes with it and the pH drifts down.

    Raises:
        ChemistryError: more is used than is there.
    """
    used = used_mg_l / CL2_MG_PER_MOL
    if not (within(used, 0.0) and within(water.chlorine_mol_l - used, -1e-12)):
        raise ChemistryError("More chlorine cannot be used up than is in the water.")
    return replace(
        water,
        alkalinity_eq_l=water.alkalinity_eq_l - used,
        chlorine_mol_l=not_negative(water.chlorine_mol_l - used),
        salt_mol_l=water.salt_mol_l + used,
    )


def with_acid(water: Water[Number], kind: AcidKind, added_mol_l: Number) -> Water[Number]:
    """Return the water after an acid (mol/L).

    Raises:
        ChemistryError: a negative or absurd amount.
    """
    require(added_mol_l, "acid added", 0.0, 10.0, "mol/L")
    if kind.strong:
        return replace(
            water,
            alkalinity_eq_l=water.alkalinity_eq_l - added_mol_l,
            salt_mol_l=water.salt_mol_l + added_mol_l,
        )
    return with_weak_acid(water, WEAK_ACIDS[kind], added_mol_l)


def with_weak_acid(water: Water[Number], acid: WeakAcid, added_mol_l: Number) -> Water[Number]:
    """Return the water after a weak acid (mol/L)."""
    added: tuple[tuple[WeakAcid, Number], ...] = ((acid, added_mol_l),)
    return replace(water, acids=water.acids + added)


def with_carbon_dioxide(water: Water[Number], added_mol_l: Number) -> Water[Number]:
    """Return the water after carbon dioxide (mol/L) has dissolved in it.

    Raises:
        ChemistryError: a negative or absurd amount.
    """
    require(added_mol_l, "carbon dioxide added", 0.0, 1.0, "mol/L")
    return replace(water, carbonate_mol_l=water.carbonate_mol_l + added_mol_l)


def at_ph(water: Water[Number], ph: Number) -> Water[Number]:
    """Return the water with the alkalinity that a measured pH shows it to have.

    Raises:
        ChemistryError: a pH that no wash water has.
    """
    require(ph, "pH", 2.0, 12.5)
    for _ in range(_SALT_PASSES):  # the constants depend a little on the alkalinity
        water = replace(water, alkalinity_eq_l=_charge(water, water.constants, ph))
    return water


def ph_of(water: Water[Number]) -> Number:
    """Return the pH of a water, to 1e-6, between 2 and 13."""
    k = water.constants

    def excess(ph: Number) -> Number:
        return _charge(water, k, ph) - water.alkalinity_eq_l

    start = _FIRST_PH + 0.0 * water.alkalinity_eq_l
    return rising_root(excess, start)


def rising_root(excess: Callable[[Number], Number], start: Number) -> Number:
    """Return the pH at which a function that rises with pH is 0: halving, then Newton's steps.

    Plain arithmetic, so that floats stay fast floats and arrays go all at once.
    """
    ph, step = start, _FIRST_STEP
    for _ in range(_HALVINGS):
        ph = ph + step * (1.0 - 2.0 * (excess(ph) > 0))
        step /= 2
    for _ in range(_POLISHES):
        here = excess(ph)
        slope = (excess(ph + 1e-4) - here) / 1e-4
        ph = ph - here / slope
    return ph


def charge_at(water: Water[Number], ph: Number) -> Number:
    """Return the alkalinity (eq/L) that this water would have at a pH."""
    return _charge(water, water.constants, ph)


def carbonate_charge(k: Constants[Number], h: Number) -> Number:
    """Return the mean charge of one mol of carbonate at a hydrogen activity."""
    first, second = k.k1 * h, k.k1 * k.k2
    return (first + 2.0 * second) / (h * h + first + second)


def not_negative(value: Number) -> Number:
    """Return the value, or 0 where it is below."""
    return (value + abs(value)) / 2.0


def _charge(water: Water[Number], k: Constants[Number], ph: Number) -> Number:
    """Return the charge (eq/L) that strong base must balance at a pH; it rises with pH."""
    h = hydrogen(ph)
    charge = (
        water.carbonate_mol_l * carbonate_charge(k, h)
        + water.chlorine_mol_l * k.hocl / (k.hocl + h)
        + k.kw / h
        - h / k.gamma
    )
    before, each = None, h
    for acid, amount in water.acids:
        if acid is not before:  # most tanks get one acid again and again
            before, each = acid, anion_charge(acid, h, k.gamma, water.temperature_c)
        charge = charge + amount * each
    return charge
