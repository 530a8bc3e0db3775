"""What mass balance tells of a tank's level without a forecast: a Kalman filter over its fills.

The state is the level and what one batch uses up, mg/L, with their covariance (Kalman, J. Basic
Eng. 82(1):35, 1960). Doses add, exchanges thin, batches use up, readings correct both; what a batch
uses up strays from one to the next, and is carried from fill to fill.
"""

from datetime import datetime, timedelta
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from washmon.chemistry.checks import ChemistryError
from washmon.line.events import DoseAdded, ReadingTaken, WaterExchanged
from washmon.line.product import rise
from washmon.line.reading import range_of
from washmon.line.setup import LineSetup
from washmon.line.state import Fill, Placed, order
from washmon.rules.base import RuleContext

Floats = NDArray[np.float64]
Event = Placed[ReadingTaken] | Placed[DoseAdded] | Placed[WaterExchanged]

STRENGTH_SPREAD = 0.15
"""Of a product, against its label, as a share (common practice, no published source)."""
_ENDS = 12**0.5
"""From end to end of a uniform distribution, in sigma: a range of what was read is such a one."""
_USUAL_LASTS = 6
"""Batches from target to critical low, where nothing was seen (common practice)."""
_USE_SPREAD = 0.6
"""Of what a batch uses up, before anything was seen."""
_STRAY = 0.35
"""Of what a batch uses up, from one to the next."""
_DRIFT = 0.12
"""Of what a batch uses up on average, from one to the next: other lots come."""
_NEW_FILL = 0.2
"""The same, from one fill to the next."""
_FAR = 2.5
"""Sigma between what was predicted and what was read, over which the reading alone counts."""
_IDLE = 0.5
"""Of the loss at work, in a break: common practice, no published source."""
_PACE_MIN = 6.0
_LEAST_SPREAD = 0.03
"""Of the target: no level is known better."""


class LevelBelief(NamedTuple):
    """Mean (level, use of a batch; mg/L) and covariance, 2 by 2."""

    mean: Floats
    covariance: Floats


def balance(rule_context: RuleContext) -> LevelBelief:
    """Return what is believed of the tank now."""
    target, critical = (
        rule_context.spec.limits.target_mg_l,
        rule_context.spec.limits.critical_low_mg_l,
    )
    usual = (target - critical) / _USUAL_LASTS
    use, spread = usual, _USE_SPREAD * usual
    belief = _fresh(use, spread)
    fills = (
        (*rule_context.tank.fills[:-1], rule_context.fill)
        if rule_context.tank.fills
        else (rule_context.fill,)
    )
    for place, fill in enumerate(fills):
        last = place == len(fills) - 1
        upto = rule_context.tank.batches if last else fills[place + 1].begun.batches
        belief = _follow(
            rule_context, fill, _fresh(use, spread), upto, rule_context.now if last else None
        )
        use = max(float(belief.mean[1]), 0.1 * usual)
        spread = float(np.hypot(np.sqrt(belief.covariance[1, 1]), _NEW_FILL * use))
    return belief


def _fresh(use: float, spread: float) -> LevelBelief:
    return LevelBelief(np.array([0.0, use]), np.diag([0.0, spread**2]))


def _follow(
    rule_context: RuleContext, fill: Fill, belief: LevelBelief, upto: int, now: datetime | None
) -> LevelBelief:
    then = (fill.begun.batches, fill.begun.event.at)
    read: list[Event] = [one for one in fill.readings if _read(rule_context, one.event) is not None]
    for event in sorted((*read, *fill.doses, *fill.exchanges), key=order):
        here = (event.batches, event.event.at)
        belief = _after(rule_context, fill, event, _used_up(belief, _passed(then, here)))
        then = here
    return _used_up(belief, _passed(then, (upto, now or then[1])))


def _passed(then: tuple[int, datetime], now: tuple[int, datetime]) -> float:
    """Return how many batches' worth of loss lies between two moments.

    In a break dirt goes on reacting, a little slower than while it is brought in.
    """
    minutes = max(0.0, (now[1] - then[1]) / timedelta(minutes=1))
    return max(0.0, float(now[0] - then[0]), _IDLE * minutes / _PACE_MIN)


def _used_up(belief: LevelBelief, batches: float) -> LevelBelief:
    if batches <= 0:
        return belief
    move = np.array([[1.0, -batches], [0.0, 1.0]])
    use = belief.mean[1]
    noise = np.diag([batches * (_STRAY * use) ** 2, batches * (_DRIFT * use) ** 2])
    mean = move @ belief.mean
    mean[0] = max(0.0, float(mean[0]))
    return LevelBelief(mean, move @ belief.covariance @ move.T + noise)


def _after(rule_context: RuleContext, fill: Fill, event: Event, belief: LevelBelief) -> LevelBelief:
    match event.event:
        case DoseAdded() as dose:
            up = rise_by(rule_context.setup, fill, dose)
            noise = np.diag([(STRENGTH_SPREAD * up) ** 2, 0.0])
            return LevelBelief(belief.mean + np.array([up, 0.0]), belief.covariance + noise)
        case WaterExchanged() as exchange:
            stays = np.diag([max(0.0, 1.0 - exchange.volume_l / fill.volume_l), 1.0])
            return LevelBelief(stays @ belief.mean, stays @ belief.covariance @ stays)
        case ReadingTaken() as reading:
            return _corrected(rule_context, reading, belief)
    return belief


def _corrected(
    rule_context: RuleContext, reading: ReadingTaken, belief: LevelBelief
) -> LevelBelief:
    low, high = range_of(rule_context.setup, rule_context.spec, reading)
    seen = _read(rule_context, reading) or 0.0
    error = max(((high - low) / _ENDS) ** 2, 1e-6)
    off, total = seen - belief.mean[0], belief.covariance[0, 0] + error
    if off**2 > _FAR**2 * total:  # what was predicted is no guide to the level any more
        wider = belief.covariance[1, 1] * 2.0
        return LevelBelief(np.array([seen, belief.mean[1]]), np.diag([error, wider]))
    gain = belief.covariance[:, 0] / total
    mean = belief.mean + gain * off
    return LevelBelief(
        np.maximum(mean, 0.0), belief.covariance - np.outer(gain, belief.covariance[0, :])
    )


def spread_of(belief: LevelBelief, target_mg_l: float) -> Floats:
    """Return the lower triangle that makes independent normal numbers correlated (Cholesky)."""
    floor = np.diag([(_LEAST_SPREAD * target_mg_l) ** 2, 1e-6])
    root: Floats = np.asarray(np.linalg.cholesky(belief.covariance + floor), dtype=np.float64)
    return root


def _read(rule_context: RuleContext, reading: ReadingTaken) -> float | None:
    value: float | None = getattr(reading, rule_context.spec.level_field)
    return value


def rise_by(setup: LineSetup, fill: Fill, dose: DoseAdded) -> float:
    """Return by how much a dose raised the level, mg/L; 0 where that can't be told."""
    product = setup.sanitizer(dose.product)
    if product is None:
        return 0.0
    try:
        return rise(product, fill.volume_l, dose.amount, on=dose.at.date())
    except ChemistryError:
        return 0.0
