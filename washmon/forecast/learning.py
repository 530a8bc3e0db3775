"""What past shifts of a line say about its produce, so that the next begins less in the dark."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from washmon.forecast.estimate import Estimate
from washmon.forecast.forecaster import Forecaster
from washmon.forecast.prior import Prior, Trait, container_of, pack_of, prior_for
from washmon.forecast.readings import accuracy_of
from washmon.forecast.shift import follow_tank
from washmon.line.fold import fold
from washmon.line.journal import Entry
from washmon.line.setup import LineSetup, Tank
from washmon.line.state import ShiftState

Past = Sequence[tuple[str, Sequence[Entry]]]
"""Chains of past shifts with their entries, oldest first."""
BETWEEN = {
    Trait.DEMAND: 0.15,
    Trait.FAST_SHARE: 0.2,
    Trait.FAST_RATE: 0.15,
    Trait.SLOW_RATE: 0.15,
    Trait.LOSS: 0.2,
    Trait.STRENGTH: 0.04,
    Trait.STRIP: 0.04,
    Trait.KIT: 0.015,
}
"""No two days are alike: the least spread of a trait from shift to shift; common practice, no
published source. Product and strips are those of one container and one pack."""
_ODD_DAYS = 0.07
_ENOUGH_READINGS, _ENOUGH_BATCHES = 3, 5


def learned_from(past: Past) -> dict[int, Prior]:
    """Return the prior of each tank as journals of past shifts tell it.

    Raises:
        Exception: whatever a journal that no one can follow may bring.
    """
    return prior_from([fold(chain, entries) for chain, entries in past])


def prior_from(shifts: Sequence[ShiftState]) -> dict[int, Prior]:
    """Return the prior of each tank, told by past shifts of the same line and commodity.

    Which line and commodity, the last shift says; others are passed over. Of each shift only what
    its readings added to the prior counts, so few readings change little.
    """
    if not shifts:
        return {}
    setup = shifts[-1].setup
    alike = [
        shift
        for shift in shifts
        if (shift.setup.line, shift.setup.commodity) == (setup.line, setup.commodity)
    ]
    priors = {}
    for place, spec in enumerate(setup.tanks):
        if spec.peracetic is not None:
            continue
        usual = prior_for(setup.commodity, place)
        told = [
            (shift.setup, found) for shift in alike if (found := _told(shift, spec.number, usual))
        ]
        priors[spec.number] = _sharpened(usual, setup, spec, told)
    return priors


def _told(shift: ShiftState, number: int, prior: Prior) -> Estimate | None:
    """Return how a shift left a tank's estimate, if enough was washed and read to tell anything."""
    tank = next((one for one in shift.tanks if one.number == number), None)
    if tank is None or not tank.fills:
        return None
    readings = sum(
        placed.event.fac_mg_l is not None for fill in tank.fills for placed in fill.readings
    )
    if readings < _ENOUGH_READINGS or tank.batches < _ENOUGH_BATCHES:
        return None
    forecaster = Forecaster(shift.setup, tank.spec, prior, accuracy_of(shift.setup))
    return follow_tank(forecaster, tank)[-1].estimate


def _sharpened(
    prior: Prior, setup: LineSetup, tank: Tank, told: Sequence[tuple[LineSetup, Estimate]]
) -> Prior:
    if not told:
        return prior
    of_container = container_of(setup.sanitizer(tank.sanitizer))
    of_pack = pack_of(setup)
    sharper = replace(prior, per_batch=0.0, odd_days=_ODD_DAYS, container=of_container, pack=of_pack)
    for trait, between in BETWEEN.items():
        alike = [
            estimate
            for then, estimate in told
            if (trait is not Trait.STRENGTH or of_container == _container(then, estimate.tank))
            and (trait is not Trait.STRIP or of_pack == pack_of(then))
        ]
        if not alike:
            continue
        found = np.array([estimate.middle_and_spread(trait) for estimate in alike])
        known = prior.middle[trait], prior.spread[trait]
        if trait is Trait.DEMAND:  # by the kilogram now; the prior spoke of batches
            known = float(np.median(found[:, 0])), prior.spread[trait]
        pooled = _pooled(found[:, 0], found[:, 1], *known, between=between)
        sharper = sharper.with_trait(trait, *pooled)
    usual = [one.batch_kg.usual_kg for _, one in told if one.batch_kg.given]
    return replace(sharper, usual_kg=float(np.median(usual)) if usual else None)


def _container(setup: LineSetup, tank: int) -> str:
    return container_of(setup.sanitizer(setup.tank(tank).sanitizer))


def _pooled(
    middles: np.ndarray[tuple[int], np.dtype[np.float64]],
    spreads: np.ndarray[tuple[int], np.dtype[np.float64]],
    middle: float,
    spread: float,
    *,
    between: float,
) -> tuple[float, float]:
    """Return middle and spread for a next shift: a normal pool, what each began with taken out."""
    added = np.maximum(1 / np.maximum(spreads, 1e-3) ** 2 - 1 / spread**2, 1e-9)
    alone = (middles / np.maximum(spreads, 1e-3) ** 2 - middle / spread**2) / added
    sure = added > 0.5 / spread**2
    if not sure.any():
        return middle, spread
    between = max(between**2, float(np.var(alone[sure])) - float(np.mean(1 / added[sure])))
    weights = 1 / (between + 1 / added[sure])
    total = float(weights.sum()) + 1 / spread**2
    pooled = (float(weights @ alone[sure]) + middle / spread**2) / total
    return pooled, float(min(spread, np.sqrt(between + 1 / total)))
