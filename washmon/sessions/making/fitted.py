"""The hidden world of a recorded shift, as the forecast estimates it at the shift's end."""

import math
from datetime import date
from statistics import fmean
from typing import NamedTuple

from washmon.chemistry.checks import ChemistryError
from washmon.forecast.estimate import Estimate
from washmon.forecast.own import bias_of
from washmon.forecast.ph import PhForecast, ph_forecast
from washmon.forecast.prior import Trait, prior_for
from washmon.forecast.shift import follow_tank, forecaster_of, prior_in
from washmon.line.setup import LineSetup, Tank
from washmon.line.state import ShiftState, TankState
from washmon.line.strength import strength_on
from washmon.sessions.making.own_line import practice_tanks
from washmon.sessions.practice.parameters import Commodity, PracticeError, parameters
from washmon.sessions.practice.scenario import Hidden, Tap

_SHARE, _FACTOR = (0.05, 1.5), (0.0, 20.0)
_WEIGHT = (0.2, 5.0)
_ALKALINITY = (0.0, 600.0)
_TAP_PH = (5.0, 10.0)


class Fitted(NamedTuple):
    """The world of a shift, and what a batch weighs against the usual of its commodity."""

    world: Hidden
    tap: Tap
    batch_weight: float


def fitted(shift: ShiftState, commodity: str) -> Fitted:
    """Return the world in which the model's commodity behaves as the shift's produce did.

    Demand, loss, strength of the product and what strips show are the means of the chlorine
    estimate of the tank that was measured most; the alkalinity of the source and the drift of the
    pH with each batch are those of its pH estimate. What could not be told stays as usual.

    Raises:
        PracticeError: no tank of the line was filled, or practice can't simulate it.
    """
    tank = _most_measured(shift)
    usual = parameters().commodity[commodity]
    estimate = _estimate(shift, tank)
    setup, spec = shift.setup, tank.spec
    usual_kg = usual.batch_kg_m3 * practice_tanks(setup)[0].volume_l / 1000.0
    estimated_kg = estimate.batch_kg.usual_kg
    weight = _within(estimated_kg / usual_kg, _WEIGHT)
    kg = weight * usual_kg
    first = _reaches(setup, spec, usual)
    told = estimate.traits @ estimate.weights
    strip = float(bias_of(estimate, strip=True) @ estimate.weights)
    demand = math.exp(told[Trait.DEMAND]) * estimated_kg / (usual.demand_g_kg * first * kg)
    ph = ph_forecast(shift, tank, shift.entries[-1].recorded_at)
    acid = 1.0 if ph is None else _acid_share(ph, kg * first, usual)
    strength = math.exp(told[Trait.STRENGTH]) * _left_of_label(setup, spec, estimate.at.date())
    world = Hidden(
        strength_share=_within(strength, _SHARE),
        strip_share=_within(math.exp(strip), _SHARE),
        decay_share=_within(math.exp(told[Trait.LOSS]) / parameters().air.decay_per_min, _FACTOR),
        demand_share=_within(demand, _FACTOR),
        acid_share=_within(acid, _FACTOR),
        pulp_c=_pulp_c(shift),
    )
    return Fitted(world, _tap(setup, ph), weight)


def _most_measured(shift: ShiftState) -> TankState:
    known = {one.number for one in practice_tanks(shift.setup)}
    tanks = [one for one in shift.tanks if one.number in known and one.fills]
    if not tanks:
        raise PracticeError("No tank was filled in this shift: there is nothing to practise.")
    return max(tanks, key=lambda one: sum(len(fill.readings) for fill in one.fills))


def _estimate(shift: ShiftState, tank: TankState) -> Estimate:
    place = [one.number for one in shift.tanks].index(tank.number)
    prior = prior_in(shift, place) or prior_for(shift.setup.commodity, place)
    return follow_tank(forecaster_of(shift, tank.spec, prior), tank)[-1].estimate


def _reaches(setup: LineSetup, spec: Tank, usual: Commodity) -> float:
    """Return the share of what is on the produce that comes off in a tank: less in a later one."""
    before = [one.number for one in practice_tanks(setup)].index(spec.number)
    return usual.released * float((1.0 - usual.released) ** before)


def _acid_share(ph: PhForecast, kg: float, usual: Commodity) -> float:
    drift_eq_l = fmean(ph.particles.drift.tolist())
    taken_mol = -drift_eq_l * ph.spec.volume_l
    return taken_mol * 1000.0 / (usual.acid_mmol_kg * kg) if usual.acid_mmol_kg > 0.0 else 1.0


def _left_of_label(setup: LineSetup, spec: Tank, on: date) -> float:
    product = setup.sanitizer(spec.sanitizer)
    try:
        return 1.0 if product is None else strength_on(product, on).share
    except ChemistryError:
        return 1.0


def _tap(setup: LineSetup, ph: PhForecast | None) -> Tap:
    source = setup.source
    told: dict[str, float] = {}
    if ph is not None:
        told["alkalinity_mg_l"] = _within(ph.alkalinity.best, _ALKALINITY)
    if source.ph is not None:
        told["ph"] = _within(source.ph, _TAP_PH)
    if source.chloride_mg_l is not None:
        told["chloride_mg_l"] = _within(source.chloride_mg_l, (0.0, 2000.0))
    return Tap(**told)


def _pulp_c(shift: ShiftState) -> float:
    pulp = [
        placed.event.pulp_c
        for tank in shift.tanks
        for fill in tank.fills
        for placed in fill.readings
        if placed.event.pulp_c is not None
    ]
    return _within(fmean(pulp), (0.0, 45.0)) if pulp else Hidden().pulp_c


def _within(value: float, bounds: tuple[float, float]) -> float:
    """Return a value within what a scenario may say, in the digits that an estimate deserves."""
    return min(max(float(f"{value:.3g}"), bounds[0]), bounds[1])
