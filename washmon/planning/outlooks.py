"""Which outlook a tank has: its forecast's, or what mass balance tells without one."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from itertools import pairwise

from washmon.chemistry.checks import ChemistryError
from washmon.line.events import DoseAdded, ReadingTaken, WaterExchanged
from washmon.line.product import rise
from washmon.line.reading import range_of
from washmon.line.setup import LineSetup, Tank
from washmon.line.state import Fill, Placed, order
from washmon.planning.outlook import BalanceOutlook, ForecastOutlook, Outlook
from washmon.rules.base import Sight

_ENDS = 2.56
"""From 10 to 90 % of a normal distribution, in sigma."""
_STRENGTH_SPREAD = 0.1
"""Of a product, against its label (common practice, no published source)."""
_USE_SPREAD = 0.5
"""Of what a batch uses up, where few were seen (common practice, no published source)."""
_SEEN_SPREAD = 0.35
_USUAL_LASTS = 6
"""Batches from target to critical low, where nothing was seen (common practice)."""
_LEAST_SPREAD = 0.03
"""Of the target: no level is known better."""


def outlook_of(sight: Sight) -> Outlook:
    """Return how the level of a tank goes on."""
    ahead = sight.forecast
    if ahead is not None and ahead.particles is not None:
        return ForecastOutlook(ahead.particles, ahead.pace)
    return BalanceOutlook.of(_level(sight), _use(sight), _STRENGTH_SPREAD)


Event = Placed[ReadingTaken] | Placed[DoseAdded] | Placed[WaterExchanged]
_Gauss = tuple[float, float]
"""Mean and variance of a level."""


def _level(sight: Sight) -> tuple[float, float]:
    """Return mean and standard deviation of the level now, mg/L.

    A Kalman filter through the fill: doses add, exchanges thin, batches use up, readings correct
    (Kalman, J. Basic Eng. 82(1):35, 1960).
    """
    fill, use = sight.fill, _use(sight)
    level, then = (0.0, 0.0), (fill.begun.batches, fill.begun.event.at)
    read: list[Event] = [one for one in fill.readings if _read(sight, one.event) is not None]
    for event in sorted((*read, *fill.doses, *fill.exchanges), key=order):
        here = (event.batches, event.event.at)
        level = _after(sight, event, _used_up(level, _passed(then, here), use))
        then = here
    level = _used_up(level, _passed(then, (sight.tank.batches, sight.now)), use)
    return level[0], max(level[1] ** 0.5, _LEAST_SPREAD * sight.spec.limits.target_mg_l)


def _passed(then: tuple[int, datetime], now: tuple[int, datetime]) -> float:
    """Return how many batches' worth of loss lies between two moments.

    In a break dirt goes on reacting, a little slower than while it is brought in.
    """
    minutes = max(0.0, (now[1] - then[1]) / timedelta(minutes=1))
    return max(0.0, float(now[0] - then[0]), _IDLE * minutes / _PACE_MIN)


def _used_up(level: _Gauss, batches: float, use: tuple[float, float]) -> _Gauss:
    return max(0.0, level[0] - batches * use[0]), level[1] + batches * use[1] ** 2


def _after(sight: Sight, event: Event, level: _Gauss) -> _Gauss:
    """Return mean and variance of the level after one thing that was done or read."""
    mean, variance = level
    match event.event:
        case DoseAdded() as dose:
            up = rise_by(sight.setup, sight.fill, dose)
            return mean + up, variance + (_STRENGTH_SPREAD * up) ** 2
        case WaterExchanged() as exchange:
            stays = max(0.0, 1.0 - exchange.volume_l / sight.fill.volume_l)
            return mean * stays, variance * stays**2
        case ReadingTaken() as reading:
            return _corrected(sight, reading, level)
    return level


def _corrected(sight: Sight, reading: ReadingTaken, level: _Gauss) -> _Gauss:
    mean, variance = level
    low, high = range_of(sight.spec, reading)
    seen = _read(sight, reading) or 0.0
    error = max(((high - low) / _ENDS) ** 2, 1e-6)
    if (seen - mean) ** 2 > _FAR**2 * (variance + error):
        return seen, error  # what was predicted is no guide any more
    weight = variance / (variance + error)
    return mean + weight * (seen - mean), variance * (1 - weight)


def _read(sight: Sight, reading: ReadingTaken) -> float | None:
    value: float | None = getattr(reading, sight.spec.level_field)
    return value


_FAR = 2.5
"""Sigma between what was predicted and what was read, over which the reading alone counts."""
_IDLE = 0.5
"""Of the loss at work, in a break: common practice, no published source."""
_PACE_MIN = 6.0


def _use(sight: Sight) -> tuple[float, float]:
    """Return mean and standard deviation of what one batch uses up, mg/L."""
    seen = [
        used
        for fill in sight.tank.fills
        for used in used_in(sight.setup, sight.spec, fill)
        if used >= 0
    ][-_RECENT:]
    limits = sight.spec.limits
    if not seen:
        use = (limits.target_mg_l - limits.critical_low_mg_l) / _USUAL_LASTS
        return use, _USE_SPREAD * use
    use = sum(seen) / len(seen)
    return use, max(_SEEN_SPREAD * use, (max(seen) - min(seen)) / 2)


_RECENT = 4


def used_in(setup: LineSetup, spec: Tank, fill: Fill) -> Iterator[float]:
    """Yield what each batch used up between two readings of a fill, mg/L, doses counted in."""
    field = spec.level_field
    read = [one for one in fill.read_in_use if getattr(one.event, field) is not None]
    for before, after in pairwise(read):
        washed = after.batches - before.batches
        if washed <= 0 or _any_between(fill.exchanges, before, after):
            continue
        brought = sum(
            rise_by(setup, fill, dose.event)
            for dose in fill.doses
            if order(before) < order(dose) <= order(after)
        )
        fell = getattr(before.event, field) - getattr(after.event, field)
        yield (fell + brought) / washed


def _any_between(
    exchanges: tuple[Placed[WaterExchanged], ...],
    before: Placed[ReadingTaken],
    after: Placed[ReadingTaken],
) -> bool:
    return any(order(before) < order(one) <= order(after) for one in exchanges)


def rise_by(setup: LineSetup, fill: Fill, dose: DoseAdded) -> float:
    """Return by how much a dose raised the level, mg/L; 0 where that can't be told."""
    product = setup.sanitizer(dose.product)
    if product is None:
        return 0.0
    try:
        return rise(product, fill.volume_l, dose.amount, on=dose.at.date())
    except ChemistryError:
        return 0.0
