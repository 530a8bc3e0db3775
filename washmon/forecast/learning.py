"""What past shifts of a line say about its produce, so that the next begins less in the dark."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from washmon.forecast.estimate import Estimate
from washmon.forecast.forecaster import Forecaster
from washmon.forecast.prior import Prior, Trait, prior_for
from washmon.forecast.readings import accuracy_of
from washmon.forecast.shift import follow_tank
from washmon.line.fold import fold
from washmon.line.journal import Entry
from washmon.line.state import ShiftState

Past = Sequence[tuple[str, Sequence[Entry]]]
"""Chains of past shifts with their entries, oldest first."""
LEARNED = (Trait.DEMAND, Trait.FAST_SHARE, Trait.FAST_RATE, Trait.SLOW_RATE, Trait.LOSS)
"""A container of product and a lot of strips are new before long; what they told is let go."""
_ENOUGH_READINGS, _ENOUGH_BATCHES = 3, 5
_LEAST_BETWEEN = 0.25
"""No two days are alike: the least spread (log) from shift to shift, common practice."""


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
        told = [found for shift in alike if (found := _told(shift, spec.number, usual))]
        priors[spec.number] = _sharpened(usual, told)
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
    return follow_tank(Forecaster(shift.setup, tank.spec, prior, accuracy_of(shift.setup)), tank)[
        -1
    ].estimate


def _sharpened(prior: Prior, told: Sequence[Estimate]) -> Prior:
    if not told:
        return prior
    sharper = replace(prior, per_batch=0.0)
    for trait in LEARNED:
        found = np.array([estimate.middle_and_spread(trait) for estimate in told])
        known = prior.middle[trait], prior.spread[trait]
        if trait is Trait.DEMAND:  # by the kilogram now; the prior spoke of batches
            known = float(np.median(found[:, 0])), prior.spread[trait]
        sharper = sharper.with_trait(trait, *_pooled(found[:, 0], found[:, 1], *known))
    return sharper


def _pooled(
    middles: np.ndarray[tuple[int], np.dtype[np.float64]],
    spreads: np.ndarray[tuple[int], np.dtype[np.float64]],
    middle: float,
    spread: float,
) -> tuple[float, float]:
    """Return middle and spread for a next shift: a normal pool, what each began with taken out."""
    added = np.maximum(1 / np.maximum(spreads, 1e-3) ** 2 - 1 / spread**2, 1e-9)
    alone = (middles / np.maximum(spreads, 1e-3) ** 2 - middle / spread**2) / added
    sure = added > 0.5 / spread**2
    if not sure.any():
        return middle, spread
    between = max(_LEAST_BETWEEN**2, float(np.var(alone[sure])) - float(np.mean(1 / added[sure])))
    weights = 1 / (between + 1 / added[sure])
    total = float(weights.sum()) + 1 / spread**2
    pooled = (float(weights @ alone[sure]) + middle / spread**2) / total
    return pooled, float(min(spread, np.sqrt(between + 1 / total)))
