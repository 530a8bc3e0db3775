"""Equally likely particles: what the water of a fill may be, and what its pH becomes."""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from washmon.chemistry.acid import WEAK_ACIDS, AcidKind, anion_charge
from washmon.chemistry.constants import hydrogen
from washmon.chemistry.water import (
    CL2_MG_PER_MOL,
    Water,
    charge_at,
    not_negative,
    ph_of,
    with_weak_acid,
)
from washmon.forecast.kinetics import Floats
from washmon.forecast.ph_belief import ACID_SPREAD, PhBelief, plausible
from washmon.forecast.ph_prior import PH_BIAS, PH_NOISE, even_normal
from washmon.line.events import Method

COUNT = 256
_FEWEST, _MOST_HALVINGS = 24.0, 20
"""Fewer hypotheses than that never hold all the chance: the net would decide, not the water."""
DOSE_SPREAD = 0.1
"""Of how far a dose raises: strength and volume."""


class PhRange(Struct, frozen=True):
    """A pH with the ends under which it lies in 2.5, 10, 50, 90 and 97.5 % of cases."""

    lowest: float
    low: float
    best: float
    high: float
    highest: float


@dataclass(frozen=True, eq=False)
class PhParticles:
    """PhParticles the water may be; arrays over them."""

    water: Water[Floats]
    drift: Floats
    """Of the charge with each batch, eq/L."""
    caustic_per_mol: Floats
    bias: Floats
    alkalinity_mg_l: Floats
    """Of the source, as CaCO3."""
    fresh_eq_l: Floats
    """Of the source, as charge of strong base."""

    @cached_property
    def ph(self) -> Floats:
        """The pH in each particle."""
        return plausible(ph_of(self.water))

    def range(self) -> PhRange:
        """Return how the pH spreads over the particles."""
        return PhRange(*(float(q) for q in np.quantile(self.ph, (0.025, 0.1, 0.5, 0.9, 0.975))))

    def read_by(self, method: Method) -> Floats:
        """Return what an instrument would read in each particle."""
        noise = PH_NOISE[method] * even_normal(COUNT, 5, 4)
        return self.ph + PH_BIAS[method] * self.bias + noise

    def exchanged(self, share: float) -> "PhParticles":
        """Return the particles after fresh water took the place of a share (0 to 1) of it."""
        water, stays = self.water, 1.0 - share
        return replace(
            self,
            water=replace(
                water,
                alkalinity_eq_l=stays * water.alkalinity_eq_l + share * self.fresh_eq_l,
                chlorine_mol_l=stays * water.chlorine_mol_l,
                acids=tuple((acid, stays * mol_l) for acid, mol_l in water.acids),
            ),
        )

    def washed(self, batches: int, used_mg_l: float) -> "PhParticles":
        """Return the particles after batches that used up so much chlorine in all."""
        water = self.water
        left = not_negative(water.chlorine_mol_l - used_mg_l / CL2_MG_PER_MOL)
        used = water.chlorine_mol_l - left
        alkalinity = water.alkalinity_eq_l + batches * self.drift - used
        return replace(
            self,
            water=replace(
                water,
                alkalinity_eq_l=alkalinity,
                chlorine_mol_l=left,
                salt_mol_l=water.salt_mol_l + used,
            ),
        )

    def dosed(self, rise_mg_l: float) -> "PhParticles":
        """Return the particles after hypochlorite that raises free chlorine by about so much."""
        error = np.maximum(1.0 + DOSE_SPREAD * even_normal(COUNT, 5, 3), 0.0)
        dose = rise_mg_l / CL2_MG_PER_MOL * error
        water = self.water
        return replace(
            self,
            water=replace(
                water,
                alkalinity_eq_l=water.alkalinity_eq_l + dose * (1.0 + self.caustic_per_mol),
                chlorine_mol_l=water.chlorine_mol_l + dose,
                salt_mol_l=water.salt_mol_l + dose,
            ),
        )

    def acidified(self, kind: AcidKind, mol_l: float) -> "PhParticles":
        """Return the particles after about so much of an acid, mol/L."""
        added = mol_l * _acid_error()
        water = self.water
        if not kind.strong:
            return replace(self, water=with_weak_acid(water, WEAK_ACIDS[kind], added))
        return replace(
            self,
            water=replace(
                water,
                alkalinity_eq_l=water.alkalinity_eq_l - added,
                salt_mol_l=water.salt_mol_l + added,
            ),
        )

    def acid_to(self, ph: float, kind: AcidKind) -> Floats:
        """Return how much of an acid, mol/L as measured, brings each particle to a pH, or 0."""
        water, level = self.water, np.full(COUNT, ph)
        surplus = not_negative(water.alkalinity_eq_l - charge_at(water, level))
        if kind.strong:
            return surplus / _acid_error()
        gamma = water.constants.gamma
        given = anion_charge(WEAK_ACIDS[kind], hydrogen(level), gamma, water.temperature_c)
        return surplus / given / _acid_error()

    def batches_until_over(self, ph: float) -> Floats:
        """Return after how many batches the drift takes each particle over a pH; ``inf``: never."""
        room = charge_at(self.water, np.full(COUNT, ph)) - self.water.alkalinity_eq_l
        with np.errstate(divide="ignore", invalid="ignore"):
            batches = np.where(self.drift > 0, room / self.drift, np.inf)
        return np.where(room <= 0, 0.0, batches)


def _acid_error() -> Floats:
    error: Floats = np.exp(ACID_SPREAD * even_normal(COUNT, 5, 2))
    return error


def particles_of(belief: PhBelief, log_chance: Floats) -> PhParticles:
    """Return particles picked evenly from a belief, whose hypotheses have logarithmic weights."""
    chosen = _chosen(belief, log_chance)
    among = belief.among
    own, both, drift = (part[chosen] for part in belief.variance)
    first, other = even_normal(COUNT, 5, 0), even_normal(COUNT, 5, 1)
    off = np.sqrt(own) * first
    rest = np.sqrt(np.maximum(drift - both**2 / own, 0.0))
    every = belief.water
    water = Water(
        alkalinity_eq_l=every.alkalinity_eq_l[chosen] + off,
        carbonate_mol_l=every.carbonate_mol_l[chosen],
        chlorine_mol_l=every.chlorine_mol_l[chosen],
        salt_mol_l=every.salt_mol_l[chosen],
        temperature_c=every.temperature_c[chosen],
        acids=tuple((acid, mol_l[chosen]) for acid, mol_l in every.acids),
    )
    return PhParticles(
        water=water,
        drift=belief.drift[chosen] + both / own * off + rest * other,
        caustic_per_mol=among.caustic_per_mol[chosen],
        bias=among.bias[chosen],
        alkalinity_mg_l=among.alkalinity_mg_l[chosen],
        fresh_eq_l=among.water.alkalinity_eq_l[chosen],
    )


def _chosen(belief: PhBelief, log_chance: Floats) -> NDArray[np.intp]:
    """Return places of hypotheses, each as often as it is likely, the soft water first."""
    softest_first = np.argsort(belief.among.alkalinity_mg_l)
    upto = np.cumsum(_chances(log_chance)[softest_first])
    places = np.searchsorted(upto, (np.arange(COUNT) + 0.5) / COUNT)
    chosen: NDArray[np.intp] = softest_first[np.minimum(places, upto.size - 1)]
    return chosen


def _chances(log_chance: Floats) -> Floats:
    """Return how likely each hypothesis is; the evidence counts less where few are left by it."""
    off = log_chance - log_chance.max()
    for _ in range(_MOST_HALVINGS):
        chance: Floats = np.exp(off)
        chance /= chance.sum()
        if 1.0 / np.square(chance).sum() >= _FEWEST:
            break
        off = off / 2**0.5
    return chance
