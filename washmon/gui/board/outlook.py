"""What lies ahead of a tank, in words and as a fan: how long its water stays good, and how sure."""

import math
from typing import TYPE_CHECKING, NamedTuple

from washmon.gui.i18n import tr
from washmon.gui.kit.trend_view import FanPoint
from washmon.line.judging import under_low
from washmon.line.setup import Tank

if TYPE_CHECKING:
    from washmon.forecast.look_ahead import Forecast
    from washmon.forecast.outlook import Range

FAN_BATCHES = 12
"""So far the fan is drawn, and no further than the water is likely to last."""
_UNSURE = 1.6
"""A range this many times as wide as its middle says too little to count on."""
_WIDE = 8.0


class Ahead(NamedTuple):
    """What a panel says of a forecast; a forecast changes with each second, this seldom does."""

    likely: tuple[float, float] | None
    lasts: str
    check: str


def ahead(forecast: "Forecast | None", spec: Tank) -> Ahead:
    """Return what is said of a tank's forecast."""
    return Ahead(likely(forecast), good_for(forecast, spec), check_within(forecast))


def good_for(forecast: "Forecast | None", spec: Tank) -> str:
    """Return for how many more batches the water is good; nothing where nobody looked ahead."""
    if forecast is None:
        return ""
    if not forecast.readings:
        return tr("How long it lasts is not known before the first reading")
    if under_low(forecast.level.mid, spec):
        return tr("Probably under the operating low by now")
    return _lasting(forecast.until_low.batches)


def _lasting(batches: "Range") -> str:
    low, high = _counted(batches.low), batches.high
    if math.isinf(batches.mid):
        return _at_least(low)
    middle = round(batches.mid)
    unsure = min(high, 40.0) - low > max(_WIDE, _UNSURE * batches.mid)
    if math.isinf(high):
        return _open_ended(middle, low, unsure=unsure)
    most = math.ceil(high)
    if unsure:
        return tr("Good for {low}–{high} more batches, too unsure to plan by", low=low, high=most)
    if middle == 1:
        return tr("Good for about 1 more batch ({low}–{high})", low=low, high=most)
    if middle < 1:
        return tr("Good for the next batch at most ({low}–{high})", low=low, high=most)
    return tr(
        "Good for about {middle} more batches ({low}–{high})", middle=middle, low=low, high=most
    )


def _open_ended(middle: int, low: int, *, unsure: bool) -> str:
    """Return how long water is good of which nobody knows how long it lasts at most."""
    if not unsure:
        return tr("Good for about {middle} more batches, at least {low}", middle=middle, low=low)
    return _at_least(low)


def _at_least(low: int) -> str:
    if low < 1:
        return tr("How long it lasts is too unsure to plan by")
    if low == 1:
        return tr("Good for at least 1 more batch")
    return tr("Good for at least {low} more batches", low=low)


def _counted(batches: float) -> int:
    return 40 if math.isinf(batches) else int(batches)


def check_within(forecast: "Forecast | None") -> str:
    """Return when to measure next, where that is known."""
    if forecast is None or not forecast.readings or forecast.check.batches < 1:
        return ""
    if forecast.check.batches == 1:
        return tr("check within 1 batch")
    return tr("check within {count} batches", count=forecast.check.batches)


def fan(forecast: "Forecast | None", batches: int) -> tuple[FanPoint, ...]:
    """Return the fan from the batches washed so far."""
    if forecast is None or not forecast.readings or len(forecast.fan) < 2:
        return ()
    lasts = forecast.until_critical.batches.high
    upto = FAN_BATCHES if math.isinf(lasts) else min(FAN_BATCHES, max(3, math.ceil(lasts)))
    return tuple(
        FanPoint(batches + one.batches, one.level.low, one.level.mid, one.level.high)
        for one in forecast.fan
        if one.batches <= upto
    )


def likely(forecast: "Forecast | None") -> tuple[float, float] | None:
    """Return between which levels the water probably is by now, mg/L."""
    if forecast is None or not forecast.readings:
        return None
    return forecast.level.low, forecast.level.high
