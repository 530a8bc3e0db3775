"""What is to be expected of a fill: its level now and ahead, and how long it stays good."""

import math
from dataclasses import dataclass

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from washmon.forecast.kinetics import Chlorine, Floats, rest
from washmon.forecast.particles import Particles, loads, normals

MOST_BATCHES = 40
LATE_LOW, LATE_CRITICAL = 2.5, 5.0
"""What it costs if the operating or the critical low is passed before the next check, in checks: so
dear that nineteen checks of twenty are in time. Chosen in the worlds of the tests."""
ONCE_READ = 1.5
"""So many times dearer where the water was read once only, and nobody saw yet how fast it falls."""
CHECK_CHANCE = 0.08
"""By the clock the next check comes no sooner than the chance of being late passes this."""
_ENOUGH = 0.92
_TWICE = 2
_LOW, _MID, _HIGH = 0.1, 0.5, 0.9
_STEP_MIN = 15.0
"""Far ahead the dirt is so much less sure than the kinetics that long steps do."""
BATCH_SPREAD = 0.24
"""From one batch of one lot to the next (log). Common practice, no published source."""
_AHEAD, _FORWARD = 1, 3
"""What chance is drawn for: to look ahead, and to bring forward."""
_WALK = 0.035
"""How far the dirt per kg strays from one batch to the next, other lots included (log)."""


class Range(Struct, frozen=True):
    """A number with the two ends between which it lies in 8 of 10 cases (10, 50 and 90 %).

    ``inf`` means: not within the batches looked ahead.
    """

    low: float
    mid: float
    high: float


class Until(Struct, frozen=True):
    """How many more batches can be washed, and minutes pass, before the level is under a limit."""

    batches: Range
    minutes: Range


class FanPoint(Struct, frozen=True):
    """Free chlorine, mg/L, after so many more batches and so many minutes."""

    batches: int
    minutes: float
    level: Range


class NextCheck(Struct, frozen=True):
    """Check within so many batches and minutes, 0 is now; ``chance_now`` that it is too low."""

    batches: int
    minutes: float
    chance_now: float


class Pace(Struct, frozen=True, kw_only=True):
    """How batches come: minutes from one to the next, weight, and how long ago the last one was.

    Spreads are of the logarithm. Without weights ``kg`` is ``None``.
    """

    minutes: float = 5.0
    minutes_spread: float = 0.6
    kg: float | None = None
    kg_spread: float = 0.1
    since_min: float = 0.0


@dataclass(frozen=True)
class Ahead:
    """Particles looked ahead: levels (a row for each moment, a column for each particle).

    Row 0 is now, row 1 the moment of the next batch, row j + 1 the end of the time after j batches.
    """

    minutes: Floats
    levels: Floats

    def until(self, limit_mg_l: float) -> tuple[Floats, Floats]:
        """Return batches and minutes until each particle is under a limit, ``inf`` for never."""
        under = self.levels < limit_mg_l
        ever, first = under.any(axis=0), under.argmax(axis=0)
        column = np.arange(under.shape[1])
        before = np.maximum(first - 1, 0)
        fall = self.levels[before, column] - self.levels[first, column]
        share = (self.levels[before, column] - limit_mg_l) / np.where(fall > 0, fall, 1.0)
        share = np.clip(np.where(first > 0, share, 0.0), 0.0, 1.0)
        started = self.minutes[before, column]
        minutes = started + share * (self.minutes[first, column] - started)
        batches = np.where(first > 1, first - 2 + share, 0.0)
        return np.where(ever, batches, np.inf), np.where(ever, minutes, np.inf)

    def until_range(self, limit_mg_l: float) -> Until:
        """Return the ranges of batches and minutes until a limit."""
        batches, minutes = self.until(limit_mg_l)
        return Until(range_of(batches), range_of(minutes))

    def fan(self) -> tuple[FanPoint, ...]:
        """Return the level after each batch, from now on."""
        ends = np.sort(self.levels, axis=1)
        middle = np.sort(self.minutes, axis=1)[:, self.minutes.shape[1] // 2]
        last = ends.shape[0] - 1
        rows = [0, *range(2, last + 1)] if last > 1 else [0]
        return tuple(
            FanPoint(max(0, row - 1), float(middle[row]), _of_sorted(ends[row])) for row in rows
        )


def run(
    particles: Particles,
    pace: Pace,
    limit_mg_l: float = math.inf,
    *,
    batch_spread: float = BATCH_SPREAD,
    most: int = MOST_BATCHES,
) -> Ahead:
    """Let each particle go on at a pace, until nearly all are under a limit, where one is given."""
    water, rates = particles.water, particles.rates
    count = particles.count
    drawn = normals(particles.seed, _AHEAD, 2 * MOST_BATCHES + 1, count)
    steady = np.exp(pace.minutes_spread * drawn[0])
    both = math.hypot(pace.kg_spread, batch_spread)
    strays = np.cumsum(_WALK * drawn[1 : most + 1], axis=0)
    batch = drawn[MOST_BATCHES + 1 : MOST_BATCHES + 1 + most]
    kg = (pace.kg or 0.0) * np.exp(both * batch - batch_spread**2 / 2 + strays)
    gap = pace.minutes * steady
    first = np.maximum(gap - pace.since_min, 0.0)
    fast, slow = loads(particles.traits, kg, particles.volume_l)
    times, levels = [np.zeros(count)], [water.level]
    water = rest(water, rates, first)
    times.append(first)
    levels.append(water.level)
    for number in range(most):
        if (
            math.isfinite(limit_mg_l)
            and np.count_nonzero(water.level < limit_mg_l) >= _ENOUGH * count
        ):
            break
        water = Chlorine(water.level, water.fast + fast[number], water.slow + slow[number])
        water = rest(water, rates, gap, _STEP_MIN)
        times.append(times[-1] + gap)
        levels.append(water.level)
    return Ahead(np.array(times), np.array(levels))


def forward(particles: Particles, pace: Pace, batches: int, minutes: float) -> Particles:
    """Return the particles after so many batches came, evenly over some minutes, unread."""
    if batches <= 0:
        return particles.propagated(minutes)
    drawn = normals(particles.seed, _FORWARD, MOST_BATCHES, particles.count)
    off = math.hypot(pace.kg_spread, BATCH_SPREAD)
    kg = (pace.kg or 0.0) * np.exp(off * drawn[:batches] - BATCH_SPREAD**2 / 2)
    fast, slow = loads(particles.traits, kg, particles.volume_l)
    water = particles.water
    half_min = minutes / batches / 2
    for number in range(len(kg)):
        water = rest(water, particles.rates, half_min, _STEP_MIN)
        water = Chlorine(water.level, water.fast + fast[number], water.slow + slow[number])
        water = rest(water, particles.rates, half_min, _STEP_MIN)
    return particles.holding(water)


def next_check(
    ahead: Ahead, critical_mg_l: float, low_mg_l: float | None, *, readings: int
) -> NextCheck:
    """Return by when the water must be measured: where a check now and a late one cost least.

    An interval of n batches costs 1/n of a check a batch, and what being late costs by how likely
    it is: so a check comes sooner where little is known than where the water is sure to last.
    ``low_mg_l`` is the operating low; nothing where it is known already that the water is under it:
    then only the critical low is watched. ``readings`` were made in this fill.
    """
    dear = ONCE_READ if readings < _TWICE else 1.0
    batches, minutes = ahead.until(critical_mg_l)
    within = np.arange(ahead.levels.shape[0] - 1)
    late = under = _shares_before(batches, within)
    cost = 1 / np.maximum(within, 1) + dear * LATE_CRITICAL * under
    if low_mg_l is not None:
        sooner, sooner_min = ahead.until(low_mg_l)
        late, minutes = _shares_before(sooner, within), np.minimum(minutes, sooner_min)
        cost = cost + dear * LATE_LOW * late
    chosen = int(np.argmin(cost))
    if chosen == 0 and within.size > 1 and late[1] <= CHECK_CHANCE:
        chosen = 1  # that costs the same, and whoever reads it may go on
    place = max(0, math.ceil(max(CHECK_CHANCE, float(late[chosen])) * minutes.size) - 1)
    in_time = float(np.sort(minutes)[place])
    if math.isinf(in_time):
        in_time = float(np.median(ahead.minutes[-1]))
    chance = float(np.mean(ahead.levels[0] < critical_mg_l))
    return NextCheck(chosen, in_time, chance)


def _shares_before(batches: Floats, within: NDArray[np.intp]) -> Floats:
    """Return the share of particles that are under a limit before so many batches."""
    found: Floats = np.searchsorted(np.sort(batches), within) / batches.size
    return found


def range_of(values: Floats) -> Range:
    """Return 10, 50 and 90 % of values of equal weight."""
    return _of_sorted(np.sort(values))


def _of_sorted(ordered: Floats) -> Range:
    last = ordered.size - 1
    return Range(*(float(ordered[round(share * last)]) for share in (_LOW, _MID, _HIGH)))
