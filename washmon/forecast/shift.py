"""The forecast of a whole shift, with what was worked out before kept at hand."""

import heapq
import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from itertools import pairwise
from statistics import fmean

import numpy as np
from msgspec import structs

from washmon.forecast.batch_weights import LEAST_KG, spread_of
from washmon.forecast.estimate import Estimate
from washmon.forecast.forecaster import Forecaster
from washmon.forecast.look_ahead import Forecast, look_ahead
from washmon.forecast.outlook import Pace
from washmon.forecast.prior import Prior, prior_for, prior_told
from washmon.forecast.readings import accuracy_of
from washmon.line.events import BatchWashed, TankFilled, WaterEvent
from washmon.line.setup import Tank
from washmon.line.state import Fill, Placed, ShiftState, TankState, order

_KEPT = 12
_RECENT = 8
_LONGEST_GAP_MIN = 25.0
"""A longer time between two batches is a pause, not the pace."""


Series = tuple[tuple[Placed[WaterEvent], ...], ...]
"""What happened to a fill, each kind of event in the order in which it happened."""


@dataclass(frozen=True, slots=True)
class Followed:
    """A fill as far as it was followed: its events, and the newest estimates, one after each."""

    forecaster: Forecaster
    begun: TankFilled
    before: Estimate | None
    series: Series
    events: tuple[Placed[WaterEvent], ...]
    """The same in one order."""
    estimates: tuple[Estimate, ...]
    """The last belongs to all of ``events``, the one before to all but one, and so on."""

    @property
    def estimate(self) -> Estimate:
        """What is known after all events."""
        return self.estimates[-1]


@dataclass(slots=True)
class FilterCache:
    """What was worked out at the last look, by tank; loses nothing but time when it is emptied."""

    followed: dict[int, tuple[Followed, ...]] = field(default_factory=dict)
    forecasts: dict[int, tuple[Followed, Forecast]] = field(default_factory=dict)


def forecast_shift(
    shift: ShiftState,
    now: datetime,
    cache: FilterCache | None = None,
    priors: Mapping[int, Prior] | None = None,
    *,
    fresh_s: float = 0.0,
    only: Collection[int] | None = None,
) -> dict[int, Forecast]:
    """Return the forecast of each tank that holds chlorinated water.

    Pure but for the cache, which saves work: only events that it has not seen are followed.
    ``priors`` are by tank, from :func:`washmon.forecast.learning.prior_from`, for a journal that
    keeps none itself. Where nothing happened to a tank, a forecast up to ``fresh_s`` seconds old
    is given again as it was. ``only`` names the tanks that are asked for, if not all are.
    """
    cache = FilterCache() if cache is None else cache
    found = {}
    for place, tank in enumerate(shift.tanks):
        if only is not None and tank.number not in only:
            continue
        if tank.fill is None or tank.spec.peracetic is not None:
            cache.followed.pop(tank.number, None)
            continue
        prior = prior_in(shift, place) or (priors or {}).get(tank.number)
        prior = prior or prior_for(shift.setup.commodity, place)
        forecaster = forecaster_of(shift, tank.spec, prior)
        fills = follow_tank(forecaster, tank, cache.followed.get(tank.number, ()))
        cache.followed[tank.number] = fills
        known = cache.forecasts.get(tank.number)
        if known is None or not _is_fresh(known, fills[-1], now, fresh_s):
            ahead = look_ahead(forecaster, fills[-1].estimate, now, pace_of(tank, now))
            ahead = structs.replace(ahead, below=chances_below(tank, fills))
            known = cache.forecasts[tank.number] = (fills[-1], ahead)
        found[tank.number] = known[1]
    return found


def forecaster_of(shift: ShiftState, tank: Tank, prior: Prior) -> Forecaster:
    """Return who follows a tank of a shift from a prior on."""
    lots = shift.started.lots
    return Forecaster(shift.setup, tank, prior, accuracy_of(shift.setup), lots=lots)


def prior_in(shift: ShiftState, place: int) -> Prior | None:
    """Return the prior that the shift's journal keeps for the tank at a place of the line."""
    number = shift.tanks[place].number
    told = next((one for one in shift.learned if one.tank == number), None)
    return None if told is None else prior_told(told, shift.setup.commodity, place)


def _is_fresh(
    known: tuple[Followed, Forecast], followed: Followed, now: datetime, fresh_s: float
) -> bool:
    age_s = (now - known[1].at).total_seconds()
    return known[0] is followed and 0 <= age_s < fresh_s


def follow_tank(
    forecaster: Forecaster, tank: TankState, known: tuple[Followed, ...] = ()
) -> tuple[Followed, ...]:
    """Follow a tank through all its fills, taking up what is known of the very same events."""
    found: list[Followed] = []
    before = None
    for place, fill in enumerate(tank.fills):
        old = known[place] if place < len(known) else None
        if old is not None and not (
            old.before is before and old.begun is fill.begun.event and old.forecaster == forecaster
        ):
            old = None
        kept = _KEPT if place == len(tank.fills) - 1 else 1
        found.append(_follow(forecaster, fill, before, series_of(tank, place), old, kept=kept))
        before = found[-1].estimate
    return tuple(found)


def _follow(
    forecaster: Forecaster,
    fill: Fill,
    before: Estimate | None,
    series: Series,
    old: Followed | None,
    *,
    kept: int,
) -> Followed:
    done, estimates, events = 0, list[Estimate](), tuple[Placed[WaterEvent], ...]()
    if old is not None:
        newest = _added(old, series)
        events = in_order(series) if newest is None else old.events + newest
        done = len(old.events) if newest is not None else _same(old.events, events)
        if done == len(old.events) == len(events):
            return old
        undone = len(old.events) - done
        estimates = list(old.estimates[: max(0, len(old.estimates) - undone)])
    else:
        events = in_order(series)
    if not estimates:
        done, estimates = 0, [forecaster.begin(fill, before)]
    for placed in events[done:]:
        estimates.append(forecaster.after(estimates[-1], placed.event))
    estimates = estimates[-kept:]
    return Followed(forecaster, fill.begun.event, before, series, events, tuple(estimates))


def _added(old: Followed, series: Series) -> tuple[Placed[WaterEvent], ...] | None:
    """Return what came after all that was followed; nothing where anything else changed.

    Tuples of the very same events are compared at the speed of C, so a long fill costs little.
    """
    for was, now in zip(old.series, series, strict=True):
        if was is not now and now[: len(was)] != was:
            return None
    added = in_order(tuple(now[len(was) :] for was, now in zip(old.series, series, strict=True)))
    late = added and old.events and order(added[0]) < order(old.events[-1])
    return None if late else added


def _same(old: Sequence[Placed[WaterEvent]], new: Sequence[Placed[WaterEvent]]) -> int:
    """Return how many events at the start are the very same."""
    for place, (one, other) in enumerate(zip(old, new, strict=False)):
        if one.event is not other.event:
            return place
    return min(len(old), len(new))


def series_of(tank: TankState, place: int) -> Series:
    """Return what happened to one fill of a tank."""
    fill = tank.fills[place]
    return (fill.readings, fill.doses, fill.acids, fill.exchanges, washed_in(tank, place))


def in_order(series: Series) -> tuple[Placed[WaterEvent], ...]:
    """Return all events in the order in which they happened."""
    return tuple(heapq.merge(*series, key=order))


def washed_in(tank: TankState, place: int) -> tuple[Placed[BatchWashed], ...]:
    """Return what was washed in one fill of a tank, in the order in which it happened."""
    upto = tank.fills[place + 1].begun.batches if place + 1 < len(tank.fills) else None
    return tank.washed[tank.fills[place].begun.batches : upto]


def chances_below(tank: TankState, fills: Sequence[Followed]) -> dict[int, float]:
    """Return how likely each batch met water under the critical low, by its place in the journal.

    By all that was read up to now; left out are the oldest batches of a long fill, and fills in
    which nothing was read.
    """
    found: dict[int, float] = {}
    for place, followed in enumerate(fills):
        if not followed.estimate.readings:
            continue
        chances = followed.estimate.chances_below()
        washed = washed_in(tank, place)
        newest = washed[len(washed) - chances.size :]
        found |= {one.seq: float(chance) for one, chance in zip(newest, chances, strict=True)}
    return found


def pace_of(tank: TankState, now: datetime) -> Pace:
    """Return how batches come to a tank, from the last few."""
    recent = [placed.event for placed in tank.washed[-_RECENT:]]
    if not recent:
        return Pace()
    gaps = [
        minutes
        for one, other in pairwise(recent)
        if 0 < (minutes := _minutes(one.at, other.at)) <= _LONGEST_GAP_MIN
    ]
    weights = tuple(
        event.weight_kg
        for event in recent
        if event.weight_kg is not None and LEAST_KG <= event.weight_kg < math.inf
    )
    usual = Pace()
    spread = float(np.std(np.log(gaps))) if len(gaps) > 1 else usual.minutes_spread
    return Pace(
        minutes=fmean(gaps) if gaps else usual.minutes,
        minutes_spread=max(0.1, spread) / max(1.0, len(gaps)) ** 0.5,
        kg=None,
        kg_spread=spread_of(weights),
        since_min=max(0.0, _minutes(recent[-1].at, now)),
    )


def _minutes(then: datetime, now: datetime) -> float:
    return (now - then).total_seconds() / 60
