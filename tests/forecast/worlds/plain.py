"""Two simple ways to the same answers, as anybody would try them first."""

import math
import warnings

import numpy as np
from scipy.stats import theilslopes

from washmon.line.events import (
    BatchWashed,
    DoseAdded,
    Event,
    Method,
    ReadingTaken,
    TankFilled,
    WaterExchanged,
)
from washmon.line.state import TankState

FURTHEST = 40


def theil_sen(tank: TankState, limit_mg_l: float) -> float | None:
    """Return batches to a limit by a Theil–Sen line through the readings since the last addition.

    Nothing from fewer than two places.
    """
    fill = tank.fill
    if fill is None:
        return None
    added = max([one.seq for one in (*fill.doses, *fill.exchanges)], default=-1)
    seen = [one for one in fill.readings if one.seq > added]
    batches = np.array([one.batches for one in seen], float)
    if np.unique(batches).size < 2:
        return None
    with warnings.catch_warnings():  # of its confidence band, which is not used
        warnings.simplefilter("ignore")
        slope, intercept, _, _ = theilslopes([one.event.fac_mg_l for one in seen], batches)
    now = intercept + slope * batches[-1]
    if now <= limit_mg_l:
        return 0.0
    return float(min(FURTHEST, (now - limit_mg_l) / -slope)) if slope < 0 else float(FURTHEST)


class PlainFilter:
    """An ordinary bootstrap particle filter: a level and its fall per batch, nothing else.

    Gordon, Salmond and Smith, IEE Proceedings F 140(2):107 (1993).
    """

    COUNT = 1000

    def __init__(self, seed: int, volume_l: float) -> None:
        self.rng = np.random.default_rng([seed, 5])
        self.volume_l = volume_l
        self.level = np.zeros(self.COUNT)
        self.fall = np.exp(math.log(2.0) + 0.9 * self.rng.standard_normal(self.COUNT))

    def hear(self, event: Event) -> None:
        draw = self.rng.standard_normal(self.COUNT)
        if isinstance(event, TankFilled):
            self.level = np.zeros(self.COUNT)
        elif isinstance(event, DoseAdded):
            rise = event.amount.value * 125.0 / self.volume_l
            self.level = self.level + rise * np.exp(0.08 * draw - 0.07)
        elif isinstance(event, WaterExchanged):
            self.level = self.level * (1 - event.volume_l / self.volume_l)
        elif isinstance(event, BatchWashed):
            self.fall = self.fall * np.exp(0.05 * draw)
            self.level = self.level - self.fall * np.exp(
                0.25 * self.rng.standard_normal(self.COUNT)
            )
        elif isinstance(event, ReadingTaken) and event.fac_mg_l is not None:
            self._weigh(event.fac_mg_l, 0.2 if event.fac_method is Method.STRIP else 0.05)

    def _weigh(self, value: float, share: float) -> None:
        off = (value - self.level) / math.hypot(share * value, 1.0)
        weights = (1 + off**2 / 4) ** -2.5
        chosen = self.rng.choice(self.COUNT, self.COUNT, p=weights / weights.sum())
        self.level = self.level[chosen] + 0.5 * self.rng.standard_normal(self.COUNT)
        self.fall = self.fall[chosen] * np.exp(0.03 * self.rng.standard_normal(self.COUNT))

    def until(self, limit_mg_l: float) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
        """Return batches to a limit in each particle."""
        found = np.maximum(self.level - limit_mg_l, 0.0) / np.maximum(self.fall, 1e-6)
        return np.minimum(found, FURTHEST)
