"""How much acid a tank needs, how much to add first, and what its response tells of alkalinity."""

from dataclasses import dataclass, replace

from washmon.chemistry.acid import WEAK_ACIDS, AcidKind, acid_mol_per_unit, anion_charge
from washmon.chemistry.checks import ChemistryError, Number, require, require_water, within
from washmon.chemistry.constants import hydrogen
from washmon.chemistry.water import (
    CACO3_MG_PER_EQ,
    CL2_MG_PER_MOL,
    HIGHEST_ALKALINITY_MG_L,
    Water,
    carbonate_charge,
    charge_at,
    ph_of,
    source_water,
    with_acid,
)

LOWEST_TARGET_PH = 6.0
USUAL_SOURCE_PH = 7.8

# A first step may take the softest water that is plausible to this pH, and no further: the gas
# limit of 6.0 with room for a pH reading that is 0.2 off.
_SAFE_PH = 6.2
_NO_MOVE = 1e-6


@dataclass(frozen=True, slots=True)
class Alkalinity:
    """What is known of the source water's alkalinity, mg/L as CaCO3: a best value and a range."""

    best_mg_l: float
    low_mg_l: float
    high_mg_l: float


# Common practice, no published source: soft surface water holds 20 to 60, limestone wells up to
# 350 and more; Florida irrigation water under 40 to over 400 (Thomas, Know Your Water Source,
# University of Georgia Extension).
UNKNOWN_ALKALINITY = Alkalinity(120.0, 20.0, 400.0)


@dataclass(frozen=True, slots=True)
class AcidPlan:
    """Acid for a tank, in mL (liquid) or g (solid).

    ``first`` is half of ``whole``, or less where the softest plausible water could not stand half.
    """

    first: float
    whole: float
    whole_low: float
    whole_high: float
    ph_after_first: float
    lowest_ph_after_first: float


def tank_water(
    alkalinity_mg_l: Number, source_ph: Number, temperature_c: Number, chlorine_mg_l: Number
) -> Water[Number]:
    """Return a tank's water from that of its source and the free chlorine (mg/L) now in it.

    Its pH is not set yet: ``at_ph`` does that from a reading.

    Args:
        alkalinity_mg_l: of the source, mg/L as CaCO3.
        source_ph: of the source.
        temperature_c: of the tank, °C.
        chlorine_mg_l: free chlorine in the tank, mg/L as Cl2; numbers and arrays must be of one
            shape.

    Raises:
        ChemistryError: a value that no water has.
    """
    require(chlorine_mg_l, "free chlorine", 0.0, 5000.0, "ppm")
    chlorine = chlorine_mg_l / CL2_MG_PER_MOL
    water = source_water(alkalinity_mg_l, source_ph, temperature_c, 0.0 * chlorine_mg_l)
    # Hypochlorite brings about as much chloride as itself.
    return replace(water, chlorine_mol_l=chlorine, salt_mol_l=chlorine)


def acid_needed_mol_l(water: Water[Number], target_ph: Number, kind: AcidKind) -> Number:
    """Return the acid (mol/L) that takes a water to a target pH, with no carbon dioxide lost.

    Raises:
        ChemistryError: the pH is at the target or lower already, or the target is under 6.
    """
    _require_target(target_ph)
    surplus = water.alkalinity_eq_l - charge_at(water, target_ph)
    if not within(surplus, 0.0):
        raise ChemistryError("The pH is not above its target: add no acid.")
    if kind.strong:
        return surplus
    h = hydrogen(target_ph)
    return surplus / anion_charge(WEAK_ACIDS[kind], h, water.constants.gamma, water.temperature_c)


def carbon_dioxide_needed_mol_l(water: Water[Number], target_ph: Number) -> Number:
    """Return the carbon dioxide (mol/L) that takes a water to a target pH.

    Raises:
        ChemistryError: the pH is at the target or lower already, or the target is under 6.
    """
    _require_target(target_ph)
    surplus = water.alkalinity_eq_l - charge_at(water, target_ph)
    if not within(surplus, 0.0):
        raise ChemistryError("The pH is not above its target: add no acid.")
    return surplus / carbonate_charge(water.constants, hydrogen(target_ph))


def acid_plan(
    water: Water[float],
    softest: Water[float],
    hardest: Water[float],
    *,
    target_ph: float,
    volume_l: float,
    product: tuple[AcidKind, float | None, float | None],
) -> AcidPlan:
    """Return how much of an acid (kind, strength in %, density) brings a tank to a target pH.

    Half first is common practice, no published source: mix, read the pH, then the rest.

    Args:
        water: the tank as it most likely is.
        softest: the same tank with the least plausible alkalinity.
        hardest: the same tank with the most plausible alkalinity.
        target_ph: what it is to come to.
        volume_l: of the tank, L.
        product: which acid, its strength in % by weight and its density in kg/L; None is the
            usual one of its kind.

    Raises:
        ChemistryError: no water, no acid due, a target under 6, or an impossible product.
    """
    require_water(volume_l)
    kind = product[0]
    per_unit = acid_mol_per_unit(*product)
    waters = (water, softest, hardest)
    whole, low, high = (acid_needed_mol_l(each, target_ph, kind) for each in waters)
    first = whole / 2
    if ph_of(with_acid(softest, kind, first)) < _SAFE_PH:
        first = acid_needed_mol_l(softest, _SAFE_PH, kind)
    in_product = volume_l / per_unit
    return AcidPlan(
        first=first * in_product,
        whole=whole * in_product,
        whole_low=min(low, whole) * in_product,
        whole_high=max(high, whole) * in_product,
        ph_after_first=ph_of(with_acid(water, kind, first)),
        lowest_ph_after_first=ph_of(with_acid(softest, kind, first)),
    )


def alkalinity_from_response(
    before: Water[float],
    after: Water[float],
    ph_before: float,
    ph_after: float,
    ph_error: float,
) -> Alkalinity:
    """Return the source alkalinity that the response to acid or bleach shows.

    The range holds the reading error of each pH.

    Args:
        before: the tank with any assumed alkalinity.
        after: the same with what was added (``with_acid``, ``with_hypochlorite``); only the
            difference counts.
        ph_before: as it was read before.
        ph_after: as it was read after.
        ph_error: of each of the two readings.

    Raises:
        ChemistryError: the pH moved too little, or the wrong way, to tell anything.
    """
    require(ph_error, "error of a pH reading", 0.001, 1.0)
    best = _carbonate(before, after, ph_before, ph_after)
    if best is None:
        raise ChemistryError(
            "The pH did not move as it should after that addition: mix, and read it again."
        )
    way = 1.0 if ph_after > ph_before else -1.0
    shift = way * ph_error / 2**0.5
    steeper = _carbonate(before, after, ph_before - shift, ph_after + shift)
    flatter = None
    if abs(ph_after - ph_before) > 2 * abs(shift):
        flatter = _carbonate(before, after, ph_before + shift, ph_after - shift)
    per_mol = carbonate_charge(before.constants, hydrogen(USUAL_SOURCE_PH)) * CACO3_MG_PER_EQ
    low = 0.0 if steeper is None else steeper * per_mol
    high = HIGHEST_ALKALINITY_MG_L if flatter is None else flatter * per_mol
    value = min(best * per_mol, HIGHEST_ALKALINITY_MG_L)
    return Alkalinity(value, min(low, value), min(max(high, value), HIGHEST_ALKALINITY_MG_L))


def _carbonate(
    before: Water[float], after: Water[float], ph_before: float, ph_after: float
) -> float | None:
    """Return the carbonate (mol/L) that two pH readings about an addition imply, if any can.

    Alkalinity is carbonate times its charge, plus the rest; its change is known from what was
    added, so that the carbonate is the only unknown.
    """
    if abs(ph_after - ph_before) < _NO_MOVE:
        return None
    added = after.alkalinity_eq_l - before.alkalinity_eq_l
    first = charge_at(replace(before, carbonate_mol_l=0.0), ph_before)
    last = charge_at(replace(after, carbonate_mol_l=0.0), ph_after)
    swing = carbonate_charge(after.constants, hydrogen(ph_after)) - carbonate_charge(
        before.constants, hydrogen(ph_before)
    )
    found = (added - (last - first)) / swing
    return found if found >= 0 else None


def _require_target(target_ph: Number) -> None:
    if not within(target_ph, LOWEST_TARGET_PH):
        raise ChemistryError("A pH under 6 gives off chlorine gas: choose a target of 6.5 to 7.5.")
    require(target_ph, "target pH", LOWEST_TARGET_PH, 9.0)
