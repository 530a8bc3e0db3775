"""Forecasts, and two plain baselines, held against what would really have happened.

The shifts come from the practice model, which is not the estimator's: its rates follow temperature,
chlorine also goes through combined chlorine, pH and gas, produce drags water out, a volume and a
container are not what they are said to be, strips show combined chlorine too.
"""

import math
import warnings
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.stats import theilslopes
from statsmodels.tsa.statespace.structural import UnobservedComponents

from tests.simulated.shift import Simulated, simulated_shift
from washmon.forecast.look_ahead import Forecast
from washmon.forecast.outlook import Range
from washmon.forecast.shift import FilterCache, forecast_shift
from washmon.line.events import Method
from washmon.line.fold import fold
from washmon.line.state import TankState
from washmon.sessions.practice.parameters import Dirtiness

FURTHEST = 40
COMMODITIES = ("leafy_greens", "root_vegetables", "tree_fruit", "cut_leafy_greens", "mixed")
METHODS = (Method.STRIP, Method.KIT)


class Case(NamedTuple):
    """One look ahead in one shift, for one limit; in batches."""

    seed: int
    method: Method
    limit: str
    truth: float
    ours: Forecast
    theil_sen: float | None
    trend: float | None

    @property
    def range(self) -> Range:
        """What the forecast says: 10, 50 and 90 %."""
        until = self.ours.until_low if self.limit == "low" else self.ours.until_critical
        return until.batches

    @property
    def error(self) -> float:
        """How far its middle is off."""
        return abs(min(self.range.mid, FURTHEST) - self.truth)

    @property
    def covers(self) -> bool:
        """Whether the truth is in its range."""
        return self.range.low <= self.truth <= self.range.high

    @property
    def bounded(self) -> bool:
        """Whether the forecast itself has two ends: neither now, nor beyond what it looked at.

        A range that begins now can't be too high, so it would cover nine times in ten.
        """
        return self.range.low > 0 and self.range.high < FURTHEST

    @property
    def open(self) -> bool:
        """Whether the limit still lies ahead, and within what was looked at."""
        return 0 < self.truth < FURTHEST


def shift_of(seed: int) -> Simulated:
    return simulated_shift(
        seed,
        commodity=COMMODITIES[seed % len(COMMODITIES)],
        dirtiness=list(Dirtiness)[seed // 2 % 3],
        method=METHODS[seed % 2],
        hours=2.3,
        tanks=1,
        ahead=FURTHEST,
    )


def cases_of(seed: int) -> list[Case]:
    """Judge every look of a shift; the slow baseline only at one of them, picked by the seed."""
    simulated = shift_of(seed)
    cache, found = FilterCache(), list[Case]()
    picked = 1 + seed % 3
    for place, ahead in enumerate(simulated.ahead):
        shift = fold("practice", simulated.entries[: ahead.seq + 1])
        ours = forecast_shift(shift, ahead.at, cache)[ahead.tank]
        seen = readings_since_dose(shift.tank(ahead.tank))
        limits = shift.setup.tank(ahead.tank).chlorine
        for limit, level, truth in (
            ("low", limits.low_mg_l, ahead.low_batches),
            ("critical", limits.critical_low_mg_l, ahead.critical_batches),
        ):
            line = theil_sen(seen, level)
            local = local_trend(seen, level) if place == picked else None
            lasted = math.inf if truth is None else truth
            found.append(Case(seed, METHODS[seed % 2], limit, lasted, ours, line, local))
    return found


Series = NDArray[np.float64]


def readings_since_dose(tank: TankState) -> tuple[Series, Series]:
    """Return batches washed before each reading since the last dose, and what was read."""
    fill = tank.fill
    assert fill is not None
    dosed = fill.doses[-1].seq if fill.doses else -1
    seen = [
        (placed.batches, placed.event.fac_mg_l)
        for placed in fill.readings
        if placed.seq > dosed and placed.event.fac_mg_l is not None
    ]
    return np.array([one[0] for one in seen], float), np.array([one[1] for one in seen], float)


def theil_sen(seen: tuple[Series, Series], limit: float) -> float | None:
    """Return batches to a limit by a Theil–Sen line; nothing from fewer than two places."""
    batches, levels = seen
    if np.unique(batches).size < 2:
        return None
    with warnings.catch_warnings():  # of its confidence band, which is not used
        warnings.simplefilter("ignore")
        slope, intercept, _, _ = theilslopes(levels, batches)
    now = intercept + slope * batches[-1]
    if now <= limit:
        return 0.0
    return float(min(FURTHEST, (now - limit) / -slope)) if slope < 0 else float(FURTHEST)


def local_trend(seen: tuple[Series, Series], limit: float) -> float | None:
    """Return batches to a limit by the forecast of a local linear trend, one step a batch."""
    batches, levels = seen
    if np.unique(batches).size < 2:
        return None
    course = np.full(int(batches[-1] - batches[0]) + 1, np.nan)
    course[(batches - batches[0]).astype(int)] = levels
    model = UnobservedComponents(course, "local linear trend")
    with warnings.catch_warnings():  # so few readings seldom let it converge
        warnings.simplefilter("ignore")
        fit = model.fit(disp=False, cov_type="none")
    ahead = np.asarray(fit.forecast(FURTHEST))
    now = float(fit.level["filtered"][-1])
    course = np.concatenate([[now], ahead])
    if now <= limit:
        return 0.0
    under = np.flatnonzero(course < limit)
    if under.size == 0:
        return float(FURTHEST)
    after = int(under[0])
    return after - 1 + float((course[after - 1] - limit) / (course[after - 1] - course[after]))
