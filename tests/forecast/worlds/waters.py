"""Two waters whose mechanisms are neither the estimator's nor each other's.

Every constant is invented so that levels fall about as they do in wash tanks; none is a measurement
(common practice, no published source). What counts is that the shapes differ.
"""

import math
from copy import copy
from typing import Protocol

import numpy as np

STEP_MIN = 0.5


class Water(Protocol):
    """A tank that can be washed in, and copied to see what would come."""

    volume_l: float

    @property
    def free(self) -> float:
        """Free chlorine where samples are taken, mg/L."""
        ...

    @property
    def combined(self) -> float:
        """Combined chlorine, mg/L."""
        ...

    def rest(self, minutes: float) -> None:
        """Let time pass."""
        ...

    def dose(self, rise_mg_l: float) -> None:
        """Take chlorine."""
        ...

    def wash(self, demand_mg: float) -> None:
        """Take what a batch brings in, mg as Cl2."""
        ...

    def exchange(self, share: float) -> None:
        """Let a share of the water out, and tap water in."""
        ...


class Pools:
    """Three pools of reactants, set free slowly by the produce; some chlorine stays combined.

    Rates rise as the water warms; each batch carries water out, and a float valve lets tap water
    in.
    """

    RATES = (0.03, 0.005, 0.0004)
    RELEASE_PER_MIN = 0.35
    CARRIED = 0.006

    def __init__(self, volume_l: float, rng: np.random.Generator) -> None:
        self.volume_l = volume_l
        self._free = 0.1
        self.combined = 0.0
        shares = rng.dirichlet((3.0, 3.0, 3.0))
        self._shares = tuple(float(share) for share in shares)
        self._pools = [0.2, 0.3, 0.3]
        self._coming = 0.0
        self._warmth = float(rng.uniform(0.7, 1.2))
        self._warming = float(rng.uniform(0.0, 0.0015))
        self._loss = float(rng.uniform(0.0003, 0.002))
        self._yield = float(rng.uniform(0.0, 0.25))

    @property
    def free(self) -> float:
        return self._free

    def rest(self, minutes: float) -> None:
        while minutes > 1e-9:
            step = min(STEP_MIN, minutes)
            minutes -= step
            freed = self._coming * -math.expm1(-self.RELEASE_PER_MIN * step)
            self._coming -= freed
            self._warmth += self._warming * step
            exposure, gone = self._free * step, 0.0
            for place, rate in enumerate(self.RATES):
                there = self._pools[place] + freed * self._shares[place]
                used = there * -math.expm1(-rate * self._warmth * exposure)
                self._pools[place] = there - used
                gone += used
                if place == 0:
                    self.combined += self._yield * used
            self._free = max(0.0, self._free - gone) * math.exp(-self._loss * step)
            self.combined *= math.exp(-0.01 * step)

    def dose(self, rise_mg_l: float) -> None:
        self._free += rise_mg_l
        burnt = min(self.combined, 0.1 * rise_mg_l)  # towards breakpoint
        self.combined -= burnt
        self._free = max(0.0, self._free - burnt)

    def wash(self, demand_mg: float) -> None:
        self.exchange(self.CARRIED)
        self._coming += demand_mg / self.volume_l

    def exchange(self, share: float) -> None:
        stays = 1 - share
        self._free = self._free * stays + 0.2 * share
        self.combined *= stays
        self._coming *= stays
        self._pools = [pool * stays + 0.25 * share for pool in self._pools]


class Bed:
    """Soil that settles and eats chlorine by a power of both, in a tank with a dead corner.

    Part of what a batch brings reacts at once; the rest is a bed that is never used up, only slowly
    loses its bite. The sun takes more as the day goes on.
    """

    CORNER = 0.15

    def __init__(self, volume_l: float, rng: np.random.Generator) -> None:
        self.volume_l = volume_l
        self._main, self._corner = 0.1, 0.1
        self._bed = 0.3
        self._at_once = float(rng.uniform(0.25, 0.7))
        self._power = float(rng.uniform(0.5, 0.9))
        self._of_level = float(rng.uniform(0.4, 1.2))
        self._rate = 0.016 * float(np.exp(0.3 * rng.standard_normal()))
        self._tires = float(rng.uniform(0.01, 0.03))
        self._sun = float(rng.uniform(0.0, 0.001))
        self._sunrise = float(rng.uniform(0.0, 0.000006))
        self._turn = float(rng.uniform(0.15, 0.6))

    @property
    def free(self) -> float:
        return self._main

    @property
    def combined(self) -> float:
        return 0.05 * self._bed

    def rest(self, minutes: float) -> None:
        while minutes > 1e-9:
            step = min(STEP_MIN, minutes)
            minutes -= step
            self._sun += self._sunrise * step
            self._bed *= math.exp(-self._tires * step)
            eaten = self._rate * self._bed**self._power * step
            self._main = _after(self._main, eaten, self._of_level) * math.exp(-self._sun * step)
            self._corner = _after(self._corner, eaten, self._of_level)
            mixed = -math.expm1(-self._turn * step) * (self._corner - self._main)
            self._main += self.CORNER * mixed
            self._corner -= (1 - self.CORNER) * mixed

    def dose(self, rise_mg_l: float) -> None:
        self._main += rise_mg_l / (1 - self.CORNER)

    def wash(self, demand_mg: float) -> None:
        brought = demand_mg / self.volume_l
        self._main = max(0.0, self._main - self._at_once * brought / (1 - self.CORNER))
        self._bed += (1 - self._at_once) * brought * 3.0

    def exchange(self, share: float) -> None:
        stays = 1 - share
        self._main *= stays
        self._corner *= stays
        self._bed *= 1 - 0.7 * share  # what has settled stays


def _after(level: float, eaten: float, power: float) -> float:
    """Return a level after it lost at a rate that goes by its own power (40 mg/L: as it is)."""
    if level <= 0:
        return 0.0
    return level * math.exp(-eaten * (level / 40.0) ** power / max(level, 1.0))


WATERS: dict[str, type[Pools] | type[Bed]] = {"pools": Pools, "bed": Bed}


def twin(water: Pools | Bed) -> Pools | Bed:
    """Return a copy that goes its own way."""
    other = copy(water)
    if isinstance(other, Pools):
        other._pools = list(other._pools)
    return other
