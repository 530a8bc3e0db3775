"""What strips, kits, meters and cards say of the hidden water, with errors that stay or vary."""

from bisect import bisect_right
from itertools import pairwise

import numpy as np

from tests.obedience.basin import Basin
from tests.obedience.world import FAINT_NTU, GONE_NTU, Gauges
from washmon.line.events import Method
from washmon.line.reading import strip_range
from washmon.line.setup import Look, Tank

_STREAKS = 0.5
"""How far a sample of unmixed water is off, as a share of what is not mixed in yet."""
_WILD_MG_L = (0.0, 1.0, 4.0, 12.5, 24.9, 25.0, 49.5, 80.0, 100.5, 200.5, 250.0, 450.0)
_WILD_PH = (3.0, 5.9, 6.0, 6.4, 6.5, 6.9, 7.0, 7.5, 7.6, 8.0, 8.1, 9.0, 10.5, 12.0)
_WILD_NTU = (0.0, 1.0, 40.0, 60.5, 100.0, 800.0)
_ERROR = {Method.KIT: 0.10, Method.METER: 0.05}


class Bench:
    """The instruments of one shift."""

    def __init__(self, gauges: Gauges, seed: int) -> None:
        self.gauges = gauges
        self._random = np.random.default_rng([seed, 13])

    def level(self, basin: Basin) -> float:
        """Return the level as it is read, mg/L."""
        g = self.gauges
        if self._is_wild():
            return self._any((*g.pads, *_WILD_MG_L))
        streak = _STREAKS * basin.unmixed * self._draw()
        real = max(0.0, basin.free + streak + g.combined_seen * basin.held.combined)
        shown = real * max(0.0, 1.0 + g.level_bias + g.level_error * self._draw())
        if g.level_by is Method.STRIP:
            half_way = [(low + high) / 2 for low, high in pairwise(g.pads)]
            return g.pads[bisect_right(half_way, shown)]
        shown = max(0.0, shown + 0.4 * self._draw())
        return float(round(shown)) if g.level_by is Method.KIT else round(2.0 * shown) / 2.0

    def ph(self, basin: Basin) -> float:
        """Return the pH as it is read."""
        g = self.gauges
        if self._is_wild():
            return self._any(_WILD_PH)
        real = basin.ph + _STREAKS * basin.unmixed_ph * self._draw()
        shown = real + g.ph_bias + g.ph_error * self._draw()
        return round(round(min(max(shown, 2.0), 12.0) / g.ph_step) * g.ph_step, 2)

    def ntu(self, basin: Basin) -> float:
        """Return the cloudiness by a meter, NTU."""
        if self._is_wild():
            return self._any(_WILD_NTU)
        return float(round(basin.held.ntu * max(0.0, 1.0 + self.gauges.ntu_error * self._draw())))

    def look(self, basin: Basin) -> Look:
        """Return how a card looks through the sample."""
        cloudy = basin.held.ntu * max(0.0, 1.0 + self.gauges.ntu_error * self._draw())
        if cloudy < FAINT_NTU:
            return Look.READABLE
        return Look.FAINT if cloudy < GONE_NTU else Look.GONE

    def _is_wild(self) -> bool:
        return self.gauges.wild > 0.0 and float(self._random.random()) < self.gauges.wild

    def _any(self, known: tuple[float, ...]) -> float:
        return known[int(self._random.integers(len(known)))]

    def _draw(self) -> float:
        return float(np.clip(self._random.standard_normal(), -3.0, 3.0))


def error_mg_l(gauges: Gauges, tank: Tank, level_mg_l: float) -> tuple[float, float]:
    """Return by how much the water may be under and over what was read, mg/L."""
    if gauges.level_by is not Method.STRIP:
        error = _ERROR[gauges.level_by] * level_mg_l + 1.0
        return error, error
    if tank.peracetic is not None:
        return 0.25 * level_mg_l + 1.0, 0.25 * level_mg_l + 1.0
    known = [*gauges.pads, 1.5 * gauges.pads[-1]]
    place = min(range(len(known)), key=lambda at: abs(known[at] - level_mg_l))
    under = known[place] - known[max(0, place - 1)]
    over = known[min(place + 1, len(known) - 1)] - known[place]
    low, high = strip_range(level_mg_l, gauges.pads)
    return max(0.6 * under, level_mg_l - low), max(0.6 * over, high - level_mg_l)
