"""A set of particles: equally likely ways the water of a fill may be, ready to be looked ahead of.

Whoever weighs what to do (a dose, an exchange, a wait) asks the same particles each time, so that
two answers differ by what is done and not by chance. See :mod:`washmon.forecast.predict`.
"""

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from washmon.forecast.kinetics import Chlorine, Floats, Rates, rest
from washmon.forecast.prior import Trait

Indices = NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Particles:
    """Particles of equal weight; immutable, the arrays are never written to.

    Shapes: each part of ``water`` (mg/L as Cl2) is one number per particle, ``traits`` has a row
    for each :class:`~washmon.forecast.prior.Trait`. ``volume_l`` is what the fill is said to hold.
    Chance is drawn from ``seed``, which belongs to the fill, so the same question always has the
    same answer.
    """

    water: Chlorine
    traits: Floats
    volume_l: float
    seed: int

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Particles):
            return NotImplemented
        mine, theirs = (*self.water, self.traits), (*other.water, other.traits)
        return (self.volume_l, self.seed) == (other.volume_l, other.seed) and all(
            np.array_equal(one, two) for one, two in zip(mine, theirs, strict=True)
        )

    def __hash__(self) -> int:
        return hash((self.seed, self.volume_l, self.count))

    @property
    def count(self) -> int:
        """How many particles there are."""
        return int(self.water.level.size)

    @property
    def level(self) -> Floats:
        """Free chlorine in each particle, mg/L."""
        return self.water.level

    @property
    def rates(self) -> Rates:
        """How fast chlorine goes in each particle."""
        return rates_of(self.traits)

    @property
    def strength(self) -> Floats:
        """Of the product against what is said of it, in each particle."""
        strength: Floats = np.exp(self.traits[Trait.STRENGTH])
        return strength

    def dosed(self, rise_mg_l: float) -> "Particles":
        """Return the particles after a dose that, as said, raises clean water so far."""
        level = self.water.level + rise_mg_l * self.strength
        return self.holding(self.water._replace(level=level))

    def propagated(self, minutes: float) -> "Particles":
        """Return the particles after some minutes in which nothing happens."""
        return self.holding(rest(self.water, self.rates, minutes))

    def holding(self, water: Chlorine) -> "Particles":
        """Return the particles with other water in them."""
        return replace(self, water=water)

    def beside(self, others: "Particles") -> "Particles":
        """Return these particles and others in one set, these first: looked ahead of in one go."""
        pairs = zip(self.water, others.water, strict=True)
        water = Chlorine(*(np.concatenate(pair) for pair in pairs))
        traits = np.concatenate((self.traits, others.traits), axis=1)
        return replace(self, water=water, traits=traits)

    def few(self, count: int) -> "Particles":
        """Return about so many of the particles."""
        every = slice(None, None, max(1, self.count // count))
        water = Chlorine(*(part[every] for part in self.water))
        return replace(self, water=water, traits=self.traits[:, every])


def rates_of(traits: Floats) -> Rates:
    """Return the rates that traits stand for."""
    fast, slow, loss = np.exp(traits[[Trait.FAST_RATE, Trait.SLOW_RATE, Trait.LOSS]])
    return Rates(fast, slow, loss)


def loads(traits: Floats, kg: Floats | float, volume_l: float) -> tuple[Floats, Floats]:
    """Return the fast and slow demand, mg/L as Cl2, that so many kg of produce bring in."""
    demand = np.exp(traits[Trait.DEMAND]) * kg * 1000.0 / volume_l
    fast: Floats = demand / (1 + np.exp(-traits[Trait.FAST_SHARE]))
    return fast, demand - fast


def systematic(weights: Floats, rng: np.random.Generator, count: int) -> Indices:
    """Return indices drawn by weight with as little chance as possible (systematic resampling)."""
    points = (rng.random() + np.arange(count)) / count
    found = np.searchsorted(np.cumsum(weights), points)
    return np.minimum(found, len(weights) - 1)


@lru_cache(maxsize=96)
def normals(seed: int, purpose: int, rows: int, count: int) -> Floats:
    """Return standard normal numbers that belong to a fill and a purpose, a row for each draw.

    Kept, as each look at a fill asks for the same: then two looks, or two things that might be
    done, differ by the water alone (common random numbers).
    """
    rng = np.random.Generator(np.random.Philox(key=[seed, 2**32 + purpose]))
    drawn: Floats = rng.standard_normal((rows, count))
    drawn.setflags(write=False)
    return drawn
