"""From an estimate to a forecast: how long the water stays good, when to check, what to add."""

from datetime import datetime

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from washmon.forecast.dosing import Holding, Restoring, holding, restoring
from washmon.forecast.estimate import Estimate, LastRead
from washmon.forecast.forecaster import Forecaster
from washmon.forecast.outlook import (
    FanPoint,
    NextCheck,
    Pace,
    Range,
    Until,
    next_check,
    range_of,
    run,
)
from washmon.forecast.particles import Particles, loads

_PICKED = 400
_OF_DOSES = 130


class Forecast(Struct, frozen=True, kw_only=True):
    """What is expected of one tank's water as of a moment; mg/L as Cl2."""

    tank: int
    at: datetime
    level: Range
    waiting_mg_l: Range
    """Demand in the water that has not met its chlorine yet."""
    batch_mg_l: Range
    """Chlorine that one more batch uses up in the end."""
    strength: Range
    """Of the product, against what its age, a test or else its label says of it."""
    until_low: Until
    until_critical: Until
    fan: tuple[FanPoint, ...]
    check: NextCheck
    dose: Restoring | None
    holding: Holding
    readings: int
    """In this fill so far; without any the forecast rests on what is usual."""
    last_read: LastRead | None
    """How the newest reading stood to what had been expected before it."""
    pace: Pace
    """At which batches are taken to come, their weight filled in."""
    particles: Particles
    """What all this was worked out from; see :mod:`washmon.forecast.predict`."""
    critical_low_mg_l: float = 0.0
    below: dict[int, float] = {}
    """How likely batches of this shift met water under the critical low, by place in the journal;
    all readings count, those that came later too."""


def look_ahead(forecaster: Forecaster, estimate: Estimate, now: datetime, pace: Pace) -> Forecast:
    """Return the forecast of a fill at a moment, with batches coming at a pace."""
    tank, chances = forecaster.tank, forecaster.chances
    limits = tank.chlorine
    estimate = forecaster.at(estimate, now)
    rng = estimate.chance(4)
    particles = estimate.pick(rng, min(_PICKED, chances.particles))
    kg = pace.kg or estimate.batch_kg.usual_kg
    pace = replace(pace, kg=kg)
    critical = limits.critical_low_mg_l
    ahead = run(particles, pace, critical, batch_spread=chances.batch)
    told_low = estimate.read_mg_l is not None and estimate.read_mg_l < limits.low_mg_l
    few = particles.few(_OF_DOSES)
    dose = restoring(forecaster.setup, tank, few, now.date())
    rise_mg_l = dose.rise_mg_l if dose else 0.0
    return Forecast(
        tank=estimate.tank,
        at=estimate.at,
        level=range_of(particles.water.level),
        waiting_mg_l=range_of(particles.water.fast + particles.water.slow),
        batch_mg_l=range_of(np.add(*loads(particles.traits, kg, particles.volume_l))),
        strength=range_of(particles.strength),
        until_low=ahead.until_range(limits.low_mg_l),
        until_critical=ahead.until_range(critical),
        fan=ahead.fan(),
        check=next_check(
            ahead, critical, None if told_low else limits.low_mg_l, readings=estimate.readings
        ),
        critical_low_mg_l=critical,
        dose=dose,
        holding=holding(tank, few, pace, rise_mg_l=rise_mg_l, chances=chances),
        readings=estimate.readings,
        last_read=estimate.last_read,
        pace=pace,
        particles=particles,
    )
