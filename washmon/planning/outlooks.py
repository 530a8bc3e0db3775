"""Which outlook a tank has: its forecast's, or what mass balance tells without one."""

from collections.abc import Iterator
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


def _level(sight: Sight) -> tuple[float, float]:
    """Return mean and standard deviation of the level now, mg/L."""
    spec, fill = sight.spec, sight.fill
    level, spread, since = 0.0, 0.0, order(fill.begun)
    seen = fill.latest(spec.level_field)
    if seen is not None:
        low, high = range_of(spec, seen.event)
        level = float(getattr(seen.event, spec.level_field))
        spread, since = (high - low) / _ENDS, order(seen)
    for added in sorted((*fill.doses, *fill.exchanges), key=order):
        event = added.event
        if order(added) <= since:
            continue
        if isinstance(event, DoseAdded):
            up = rise_by(sight.setup, fill, event)
            level, spread = level + up, (spread**2 + (_STRENGTH_SPREAD * up) ** 2) ** 0.5
        elif isinstance(event, WaterExchanged):
            stays = max(0.0, 1.0 - event.volume_l / fill.volume_l)
            level, spread = level * stays, spread * stays
    use, stray = _use(sight)
    washed = 0 if seen is None else sight.tank.batches - seen.batches
    level = max(0.0, level - washed * use)
    spread = (spread**2 + (washed * stray) ** 2) ** 0.5
    return level, max(spread, _LEAST_SPREAD * spec.limits.target_mg_l)


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
