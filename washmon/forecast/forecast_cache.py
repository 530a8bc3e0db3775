"""Forecasts kept up with a shift: made anew where it matters, brought forward in between.

To look ahead costs about a hundredth of a second for a tank. A batch is what the last look expected
anyway, so it only moves along that look; whatever else touches the water is a reason to look anew.
Live and in a replay the same rule holds, so both show the same.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import NamedTuple

import numpy as np
from msgspec.structs import replace

from washmon.forecast.look_ahead import Forecast
from washmon.forecast.outlook import FanPoint, NextCheck, Range, Until, forward, range_of
from washmon.forecast.prior import Prior
from washmon.forecast.shift import FilterCache, forecast_shift
from washmon.line.state import Fill, ShiftState, TankState

RENEW_BATCHES = 4
RENEW_AFTER = timedelta(minutes=20)


class CachedForecast(NamedTuple):
    """A forecast as it was made, and the water it was made for."""

    forecast: Forecast
    fill: Fill
    batches: int


@dataclass(slots=True)
class ForecastCache:
    """Keeps the forecasts of one shift. Emptied, it loses nothing but time."""

    priors: Mapping[int, Prior] = field(default_factory=dict)
    _cache: FilterCache = field(default_factory=FilterCache)
    made: Mapping[int, CachedForecast] = field(default_factory=dict)
    """By tank; never changed in place, so it may be kept."""

    def twin(self) -> "ForecastCache":
        """Return a cache that knows the same and may go on alone."""
        cache = FilterCache(dict(self._cache.followed), dict(self._cache.forecasts))
        return ForecastCache(self.priors, cache, self.made)

    def due(self, shift: ShiftState, now: datetime) -> tuple[int, ...]:
        """Return the tanks whose forecast must be made anew."""
        return tuple(
            tank.number
            for tank in shift.tanks
            if tank.fill is not None and tank.spec.peracetic is None and self._is_due(tank, now)
        )

    def renew(self, shift: ShiftState, now: datetime, tank: int) -> None:
        """Make one tank's forecast anew."""
        found = forecast_shift(shift, now, self._cache, self.priors, only=(tank,))
        state = shift.tank(tank)
        if tank in found and state.fill is not None:
            self.made = {**self.made, tank: CachedForecast(found[tank], state.fill, state.batches)}

    def forecasts(
        self, shift: ShiftState, now: datetime, only: int | None = None
    ) -> dict[int, Forecast]:
        """Return what is known ahead of each tank, brought forward; makes nothing anew."""
        made = {tank: one for tank, one in self.made.items() if only in (None, tank)}
        return as_of(made, shift, now)

    def renewed(self, shift: ShiftState, now: datetime) -> dict[int, Forecast]:
        """Make anew what is due, and return what is known ahead of each tank."""
        for tank in self.due(shift, now):
            self.renew(shift, now, tank)
        return self.forecasts(shift, now)

    def _is_due(self, tank: TankState, now: datetime) -> bool:
        made = self.made.get(tank.number)
        return (
            made is None
            or made.fill is not tank.fill
            or not 0 <= tank.batches - made.batches < RENEW_BATCHES
            or now - made.forecast.at >= RENEW_AFTER
        )


def as_of(
    made: Mapping[int, CachedForecast], shift: ShiftState, now: datetime
) -> dict[int, Forecast]:
    """Return forecasts that were made, brought forward to a moment; those of old water are gone."""
    return {
        tank.number: brought_forward(kept.forecast, tank.batches - kept.batches, now)
        for tank in shift.tanks
        if (kept := made.get(tank.number)) is not None
        and tank.fill is not None
        and kept.fill.number == tank.fill.number
    }


def brought_forward(forecast: Forecast, batches: int, now: datetime) -> Forecast:
    """Return a forecast as it stands so many batches later, with nothing else done to the water."""
    if batches <= 0 and now <= forecast.at:
        return forecast
    on = min(max(batches, 0), len(forecast.fan) - 1)
    minutes = max(0.0, (now - forecast.at).total_seconds() / 60)
    here, fan = forecast.fan[on], forecast.fan
    particles = forward(forecast.particles, forecast.pace, max(batches, 0), minutes)
    if on:
        fan = tuple(
            FanPoint(one.batches - here.batches, max(0.0, one.minutes - minutes), one.level)
            for one in fan[on:]
        )
    check = forecast.check
    return replace(
        forecast,
        level=range_of(particles.level),
        until_low=_less(forecast.until_low, on, minutes),
        until_critical=_less(forecast.until_critical, on, minutes),
        fan=fan,
        check=NextCheck(
            max(0, check.batches - on),
            max(0.0, check.minutes - minutes),
            float(np.mean(particles.level < forecast.critical_low_mg_l)),
        ),
        particles=particles,
        pace=replace(forecast.pace, since_min=0.0 if on else forecast.pace.since_min + minutes),
    )


def _less(until: Until, batches: float, minutes: float) -> Until:
    return Until(_shorter(until.batches, batches), _shorter(until.minutes, minutes))


def _shorter(span: Range, by: float) -> Range:
    return Range(*(max(0.0, end - by) for end in (span.low, span.mid, span.high)))
