"""What is known of the water of one fill: a cloud of particles, carried from event to event."""

import zlib
from dataclasses import dataclass, replace
from datetime import datetime
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from washmon.forecast.batch_weights import BatchWeights
from washmon.forecast.kinetics import Chlorine, Floats, Rates
from washmon.forecast.memory import Belief, Row, Subject, keeping, place_of, rounded
from washmon.forecast.particles import Indices, Particles, rates_of, systematic
from washmon.forecast.prior import Trait

Booleans = NDArray[np.bool_]
REMEMBERED = 64
"""Batches of a fill, the newest, whose chance of bad water later readings still change."""
_SHRINK = 0.99


class LastRead(NamedTuple):
    """A reading against what the instrument was expected to show just before, mg/L.

    In 8 of 10 cases it lies between the two ends; ``chance`` is the two-sided tail probability.
    """

    value_mg_l: float
    low_mg_l: float
    high_mg_l: float
    chance: float


@dataclass(frozen=True, slots=True)
class Estimate:
    """The state of one fill at a moment; immutable, its arrays are never written to.

    A particle is one way the water may be: its ``water``, its ``traits`` (a row for each
    :class:`Trait`) and its weight. Chance is drawn from ``seed`` and the count of ``steps``, so the
    same events always give the same estimate.
    """

    tank: int
    seed: int
    steps: int
    at: datetime
    volume_l: float
    water: Chlorine
    traits: Floats
    weights: Floats
    mixed_at: datetime
    """When what was last added will have mixed in."""
    under: Booleans
    """Whether each batch met water under the critical low: a row for each of the newest batches,
    the newest last, a column for each particle, kept along its line of descent."""
    batch_kg: BatchWeights
    lot: str | None = None
    kept: tuple[Row, ...] = ()
    """Whose rows stand in ``traits`` under those of each :class:`Trait`."""
    reader: str | None = None
    """Who last read a strip."""
    batches: int = 0
    readings: int = 0
    read_mg_l: float | None = None
    """What the newest reading of this fill said, until something was added."""
    last_read: LastRead | None = None
    """How the newest reading stood to what had been expected; nothing for the first of a fill."""

    @property
    def rates(self) -> Rates:
        """How fast chlorine goes in each particle."""
        return rates_of(self.traits)

    def chance(self, purpose: int = 0) -> np.random.Generator:
        """Return a source of random numbers that belongs to this step and purpose alone."""
        return np.random.Generator(np.random.Philox(key=[self.seed, 8 * self.steps + purpose]))

    def effective_sample_size(self) -> float:
        """Return how many particles count, by their weights."""
        return 1.0 / float(np.sum(self.weights**2))

    def chances_below(self) -> Floats:
        """Return how likely each of the newest batches met water under the critical low.

        All readings so far count, those after a batch too: particles that they speak against take
        what they once were with them (the filter as a smoother: Kitagawa, J. Comput. Graph. Stat.
        5(1):1, 1996).
        """
        chances: Floats = self.under @ self.weights
        return chances

    def resampled(self, chosen: Indices, traits: Floats) -> "Estimate":
        """Return the chosen particles, all of one weight, with the traits that they have now."""
        return replace(
            self,
            water=Chlorine(*(part[chosen] for part in self.water)),
            traits=traits,
            weights=np.full(chosen.size, 1.0 / chosen.size),
            under=self.under[:, chosen],
        )

    def pick(self, rng: np.random.Generator, count: int) -> Particles:
        """Return so many particles of equal weight, their strips read by who last read one."""
        chosen = systematic(self.weights, rng, count)
        water = Chlorine(*(part[chosen] for part in self.water))
        traits = self.traits[: len(Trait), chosen]
        eye = self.row_of(Row(Subject.PERSON, self.reader or ""))
        if eye is not None:
            traits[Trait.STRIP] += self.traits[eye, chosen]
        return Particles(water, traits, self.volume_l, self.seed)

    def row_of(self, row: Row) -> int | None:
        """Return which row of ``traits`` is of somebody or something, if one is."""
        return place_of(self.kept, row, len(Trait))

    def keeping(self, row: Row, values: Floats) -> "Estimate":
        """Return the estimate with a value in each particle for somebody or something."""
        traits, kept = keeping(self.traits, self.kept, row, values, len(Trait))
        return replace(self, traits=traits, kept=kept)

    def demanding(self, demand: Floats) -> "Estimate":
        """Return the estimate with another demand in hand (log), a value in each particle."""
        traits = self.traits.copy()
        traits[Trait.DEMAND] = demand
        return replace(self, traits=traits)

    def belief(self, count: int) -> Belief:
        """Return what so many particles say of traits, people, lots and produce together."""
        chosen = systematic(self.weights, self.chance(5), count)
        return rounded(self.kept, self.traits[:, chosen])


def spread_out(
    traits: Floats, weights: Floats, chosen: Indices, rng: np.random.Generator
) -> Floats:
    """Return the chosen traits, each moved a little so that no two stay alike.

    Drawn in to the mean as much as they are spread, so mean and spread stay (Liu and West, in
    Sequential Monte Carlo Methods in Practice, 2001).
    """
    mean = (traits @ weights)[:, None]
    deviation = np.sqrt(((traits - mean) ** 2) @ weights)[:, None]
    picked = traits[:, chosen]
    noise = np.sqrt(1 - _SHRINK**2) * deviation * rng.standard_normal(picked.shape)
    moved: Floats = _SHRINK * picked + (1 - _SHRINK) * mean + noise
    return moved


def seed_of(*parts: object) -> int:
    """Return a seed that depends on nothing but what is given."""
    return zlib.crc32(repr(parts).encode())
