"""What lies ahead of a tank, in words and as a fan: how long its water stays good, and how sure."""

import math
from typing import TYPE_CHECKING, NamedTuple

from washmon.gui.i18n import tr
from washmon.gui.kit.trend_view import DrawnFan
from washmon.line.judging import under_low
from washmon.line.setup import Tank

if TYPE_CHECKING:
    from washmon.forecast.look_ahead import Forecast
    from washmon.forecast.outlook import Range

FAN_BATCHES = 12
"""So far the fan is drawn, and no further than the water is likely to last."""
_SURE, _UNSURE = 0.5, 1.6
"""How many times as wide as its middle a range is, at most, of a number said outright; and of one
that is said with "about": beyond that it is a guess."""
_FARTHEST = 40
"""So many batches are looked ahead."""


class AheadView(NamedTuple):
    """What a panel says of a forecast; a forecast changes with each second, this seldom does."""

    likely: tuple[float, float] | None
    lasts: str
    check: str


def ahead(forecast: "Forecast | None", spec: Tank) -> AheadView:
    """Return what is said of a tank's forecast."""
    return AheadView(likely(forecast), good_for(forecast, spec), check_within(forecast))


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
    """Return the middle, always, with a plain word for how sure it is, and the range."""
    low, high = _whole(batches.low), _whole(batches.high, up=True)
    middle = _whole(batches.mid, near=True)
    if batches.mid > _FARTHEST:
        return tr("Good for {count} more or longer ({low} at least)", count=middle, low=low)
    most = tr("{count}+", count=_FARTHEST) if batches.high > _FARTHEST else str(high)
    if middle < 1:
        return tr("Good for the next batch at most ({low}–{high})", low=low, high=most)
    wide = (high - low) / middle
    if wide > _UNSURE:
        return tr("Good for perhaps {count} more ({low}–{high})", count=middle, low=low, high=most)
    if wide > _SURE:
        return tr("Good for about {count} more ({low}–{high})", count=middle, low=low, high=most)
    return tr("Good for {count} more ({low}–{high})", count=middle, low=low, high=most)


def _whole(batches: float, *, up: bool = False, near: bool = False) -> int:
    """Return a number of batches, no more than are looked ahead."""
    if batches > _FARTHEST:
        return _FARTHEST
    return round(batches) if near else math.ceil(batches) if up else int(batches)


def check_within(forecast: "Forecast | None") -> str:
    """Return when to measure next, where that is known."""
    if forecast is None or not forecast.readings or forecast.check.batches < 1:
        return ""
    if forecast.check.batches == 1:
        return tr("check within 1 batch")
    return tr("check within {count} batches", count=forecast.check.batches)


def fan(forecast: "Forecast | None", batches: int) -> tuple[DrawnFan, ...]:
    """Return the fan from the batches washed so far."""
    if forecast is None or not forecast.readings or len(forecast.fan) < 2:
        return ()
    lasts = forecast.until_critical.batches.high
    upto = FAN_BATCHES if math.isinf(lasts) else min(FAN_BATCHES, max(3, math.ceil(lasts)))
    return tuple(
        DrawnFan(batches + one.batches, one.level.low, one.level.mid, one.level.high)
        for one in forecast.fan
        if one.batches <= upto
    )


def likely(forecast: "Forecast | None") -> tuple[float, float] | None:
    """Return between which levels the water probably is by now, mg/L."""
    if forecast is None or not forecast.readings:
        return None
    return forecast.level.low, forecast.level.high
