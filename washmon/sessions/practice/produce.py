"""What the batches of a practice shift bring in, drawn from the seed."""

import math
import zlib
from copy import deepcopy
from typing import NamedTuple

import numpy as np

from washmon.sessions.practice.parameters import Parameters
from washmon.sessions.practice.world import World

_STREAM = 1


class Load(NamedTuple):
    """What a kilogram of one batch carries before it is washed."""

    demand_g_kg: float
    cod_g_kg: float
    soil_ntu_m3_kg: float
    acid_mmol_kg: float


class Produce:
    """Draws loads, lognormal about the commodity's usual one.

    It has a random stream of its own: measuring more often does not change what comes next.
    """

    def __init__(self, parameters: Parameters, seed: int) -> None:
        self._p, self._seed = parameters, seed
        self._random = np.random.default_rng([seed, _STREAM])
        self._lots: dict[str, float] = {}

    def copy(self) -> "Produce":
        """Return a twin that will draw the same loads."""
        twin = object.__new__(Produce)
        twin.__dict__.update(self.__dict__)
        twin._random = deepcopy(self._random)
        twin._lots = dict(self._lots)
        return twin

    def load(self, world: World, lot: str) -> Load:
        """Return what the next batch of a lot carries."""
        usual, dirt = self._p.commodity[world.commodity], self._p.dirtiness[world.dirtiness]
        deviation, soil_deviation = (float(one) for one in self._random.standard_normal(2))
        together = self._of_lot(lot, usual.lot_spread) * math.exp(usual.batch_spread * deviation)
        soil = together * math.exp(usual.batch_spread * soil_deviation)
        return Load(
            demand_g_kg=usual.demand_g_kg * dirt.demand * world.demand_share * together,
            cod_g_kg=usual.cod_g_kg * dirt.demand * together,
            soil_ntu_m3_kg=usual.soil_ntu_m3_kg * dirt.soil * soil,
            acid_mmol_kg=usual.acid_mmol_kg * world.acid_share * together,
        )

    def _of_lot(self, lot: str, spread: float) -> float:
        if lot not in self._lots:
            own = np.random.default_rng([self._seed, _STREAM, zlib.crc32(lot.encode())])
            self._lots[lot] = math.exp(spread * float(own.standard_normal()))
        return self._lots[lot]
