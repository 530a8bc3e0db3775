"""Acids that lower the pH of wash water, and the careful small step for unknown alkalinity.

Acid and hypochlorite together give off chlorine gas: one of them at a time goes into the full
volume of water, at different places, never one into the other, and the label comes first.
"""

from enum import StrEnum
from typing import NamedTuple, TypeAlias

from washmon.chemistry.checks import ChemistryError, Number, require, require_water, within
from washmon.chemistry.constants import power10
from washmon.chemistry.speciation import KELVIN

LOWEST_PH_FOR_ACID = 7.0
HIGHEST_PH = 12.0

# Common practice, no published source: half a teaspoon of 5 % vinegar to a tub of 5 US gallons,
# mix, read again. That is 0.11 mmol of acid to the litre.
_STEP_ML, _TUB_L = 4.92892159375 / 2, 5 * 3.785411784


class AcidKind(StrEnum):
    """An acid that a shed may have; the label and local rules decide which may be used."""

    VINEGAR = "vinegar"
    CITRIC = "citric"
    HYDROCHLORIC = "hydrochloric"
    PHOSPHORIC = "phosphoric"
    SODIUM_BISULFATE = "sodium_bisulfate"

    @property
    def strong(self) -> bool:
        """Whether it gives one proton whole at any pH of wash water."""
        return self in {AcidKind.HYDROCHLORIC, AcidKind.SODIUM_BISULFATE}


class AcidFacts(NamedTuple):
    """What is sold, and what it gives off in water above pH 6.

    ``strength_pct`` is by weight, but for vinegar g in 100 mL. Strengths are those usually sold
    (values from memory). ``densities`` are kg/L at 20 °C by percent; none where the strength needs
    none.
    """

    g_per_mol: float
    protons: int  # the most that one molecule gives below pH 9
    strength_pct: float
    densities: tuple[tuple[float, float], ...] = ()
    solid: bool = False
    uses_up_chlorine: bool = False

    @property
    def density_kg_l(self) -> float:
        """The density of what is usually sold; 0 where the strength needs none."""
        return self.density_at(self.strength_pct)

    def density_at(self, strength_pct: float) -> float:
        """Return the density, kg/L, of a strength; 0 where the strength needs none."""
        if not self.densities:
            return 0.0
        before, thin = self.densities[0]
        for pct, dense in self.densities[1:]:
            if strength_pct <= pct:
                break
            before, thin = pct, dense
        else:
            return dense
        return thin + (dense - thin) * (strength_pct - before) / (pct - before)


# Hydrochloric: as in Perry's Chemical Engineers' Handbook (value from memory, seen in public copies
# of the table). Phosphoric: the same; 10, 30, 50, 75 and 85 % agree with the handbook values that
# ECHA registration dossier 15531 lists.
_HYDROCHLORIC = ((0, 0.998), (10, 1.048), (20, 1.098), (30, 1.149), (36, 1.179), (38, 1.189))
_PHOSPHORIC = (
    (0, 0.998),
    (10, 1.053),
    (20, 1.113),
    (30, 1.181),
    (40, 1.254),
    (50, 1.335),
    (75, 1.579),
    (85, 1.689),
    (100, 1.870),
)

# Citric acid reacts with free chlorine to trichloromethane: Fan & Gurtler (2024), J. Food Prot.
# 87(7):100296. Food-grade vinegar is diluted acetic acid by volume.
ACIDS = {
    AcidKind.VINEGAR: AcidFacts(60.052, 1, 5.0),
    AcidKind.CITRIC: AcidFacts(192.124, 3, 100.0, solid=True, uses_up_chlorine=True),
    AcidKind.HYDROCHLORIC: AcidFacts(36.461, 1, 31.45, _HYDROCHLORIC),
    AcidKind.PHOSPHORIC: AcidFacts(97.995, 2, 75.0, _PHOSPHORIC),
    AcidKind.SODIUM_BISULFATE: AcidFacts(120.06, 1, 93.0, solid=True),
}


# The protons that a weak acid can give: (pKa at 25 °C, enthalpy of dissociation in kJ/mol) each.
WeakAcid: TypeAlias = tuple[tuple[float, float], ...]

# Phosphoric: PHREEQC's phreeqc.dat. Acetic, citric, peracetic: values from memory, as in the usual
# tables.
WEAK_ACIDS: dict[AcidKind, WeakAcid] = {
    AcidKind.VINEGAR: ((4.757, -0.41),),
    AcidKind.CITRIC: ((3.128, 0.0), (4.761, 0.0), (6.396, 0.0)),
    AcidKind.PHOSPHORIC: ((2.168, -8.8), (7.207, 4.14), (12.346, 14.77)),
}
PERACETIC: WeakAcid = ((8.2, 0.0),)
_PER_KJ = 1.0 / (0.008314463 * 2.302585)  # kelvin per kJ/mol, in decades


def anion_charge(acid: WeakAcid, h: Number, gamma: Number, temperature_c: Number) -> Number:
    """Return how many protons one molecule has given off at a hydrogen activity (10^-pH).

    Args:
        acid: with its constants.
        h: the hydrogen activity, 10^-pH.
        gamma: the activity coefficient of an ion with one charge; n charges have its n² power.
        temperature_c: of the water, °C; numbers and arrays must be of one shape.
    """
    warmth = 1.0 / 298.15 - 1.0 / (temperature_c + KELVIN)
    share, total, charge = 1.0 + 0.0 * h, 1.0 + 0.0 * h, 0.0 * h
    for lost, (pk, enthalpy) in enumerate(acid, start=1):
        constant = power10(enthalpy * _PER_KJ * warmth - pk)
        share = share * constant / (h * gamma ** (2 * lost - 1))
        total = total + share
        charge = charge + lost * share
    return charge / total


def is_solid(kind: AcidKind) -> bool:
    """Tell whether amounts of this acid are in g; the others are in mL."""
    return ACIDS[kind].solid


def acid_mol_per_unit(
    kind: AcidKind, strength_pct: float | None = None, density_kg_l: float | None = None
) -> float:
    """Return mol of the acid in one mL of a liquid or one g of a solid.

    The strength usually sold, and the usual density of a strength, stand in where not given.

    Raises:
        ChemistryError: a strength over 100 %, or an implausible density.
    """
    facts = ACIDS[kind]
    strength = facts.strength_pct if strength_pct is None else strength_pct
    density = facts.density_at(strength) if density_kg_l is None else density_kg_l
    if not within(strength, 1e-3, 100.0):
        raise ChemistryError(
            "An acid of {value} % is not possible: read the label again.", value=f"{strength:g}"
        )
    if not facts.densities:
        density = 1.0
    require(density, "density of the acid", 0.95, 1.9, "kg/L")
    return strength / 100.0 * density / facts.g_per_mol


def small_step(
    volume_l: float,
    ph: float,
    kind: AcidKind,
    strength_pct: float | None = None,
    density_kg_l: float | None = None,
) -> float:
    """Return the first careful amount (mL, or g of a solid) of acid; mix and read the pH again.

    Common practice, no published source: half a teaspoon of 5 % vinegar per 5 US gallons, scaled
    by volume and, for other acids, by the most protons that they can give. It cannot take water
    with 20 mg/L of alkalinity as CaCO3 from pH 7 or more to pH 6.

    Args:
        volume_l: of the water, L.
        ph: as it was read.
        kind: which acid.
        strength_pct: by weight; None is the usual strength of its kind.
        density_kg_l: of the acid; None is the usual one of its kind.

    Raises:
        ChemistryError: no water, a pH at which no acid is due, or an impossible product.
    """
    require_water(volume_l)
    require(ph, "pH", 0.0, 14.0)
    if ph < LOWEST_PH_FOR_ACID:
        raise ChemistryError(
            "The pH is {ph} already: add no acid.",
            ph=f"{ph:.1f}",
        )
    if ph > HIGHEST_PH:
        raise ChemistryError(
            "A pH of {ph} is not wash water: read it again, or drain the tank.", ph=f"{ph:.1f}"
        )
    vinegar_mol = _STEP_ML * acid_mol_per_unit(AcidKind.VINEGAR, 5.0) * volume_l / _TUB_L
    return vinegar_mol / (acid_mol_per_unit(kind, strength_pct, density_kg_l) * ACIDS[kind].protons)
