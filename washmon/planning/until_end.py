"""What a shift still needs: doses, water, readings for so many more batches, from each tank's plan.

A reckoning by mass balance with what a batch uses up as the forecast knows it, not a run of the
planner: it tells what to have at hand, never what to do.
"""

from collections.abc import Iterable
from datetime import timedelta
from math import ceil

import numpy as np
from msgspec import Struct

from washmon.chemistry.checks import ChemistryError
from washmon.line.events import Method
from washmon.line.product import dose
from washmon.planning.context import PlanContext
from washmon.planning.outlook import BalanceOutlook, quantile

_LOW, _MID, _HIGH = 0.1, 0.5, 0.9

_REACHED = 0.8
"""Of the way from the operating low to where a dose may go: so far one usually brings it."""


class Need(Struct, frozen=True):
    """A number as it probably comes, with the ends between which it lies in 8 of 10 cases."""

    low: float
    middle: float
    high: float


class TankNeeds(Struct, frozen=True, kw_only=True):
    """What one tank still needs."""

    tank: int
    product: str
    """The name of its sanitizer; empty where the set-up lacks it."""
    amount: Need
    """Of the sanitizer, in ``unit``."""
    unit: str
    doses: int
    changes: int
    water_l: float
    readings: int
    strips: int


def needs(contexts: Iterable[PlanContext], batches: int) -> tuple[TankNeeds, ...]:
    """Return what each tank needs for so many more batches of the line."""
    return tuple(_needs(context, max(batches, 0)) for context in contexts)


def _needs(context: PlanContext, batches: int) -> TankNeeds:
    rule_context = context.rule_context
    spec, limits = rule_context.spec, rule_context.spec.limits
    level = quantile(context.outlook.level, _MID)
    spare = max(0.0, level - limits.low_mg_l)
    changes = _changes(context, batches)
    risen = [max(0.0, batches * use - spare) for use in _use(context)]
    top = limits.high_mg_l if spec.dose_over_target else limits.target_mg_l
    rise = max(_REACHED * (top - limits.low_mg_l), 1.0)
    doses = ceil(risen[1] / rise)
    readings = _scheduled(context, batches) + doses + changes
    product = rule_context.setup.sanitizer(spec.sanitizer)
    unit, per_mg_l = "mL", 0.0
    if product is not None:
        try:
            one = dose(product, rule_context.fill.volume_l, 0.0, 1.0, rule_context.today)
            unit, per_mg_l = one.unit, one.value
        except ChemistryError:
            product = None
    amounts = [(up + changes * limits.target_mg_l) * per_mg_l for up in risen]
    by_strip = (context.method is Method.STRIP) + (context.ph_method is Method.STRIP)
    return TankNeeds(
        tank=spec.number,
        product="" if product is None else product.name,
        amount=Need(*amounts),
        unit=unit,
        doses=doses + changes,
        changes=changes,
        water_l=changes * rule_context.fill.volume_l,
        readings=readings,
        strips=readings * by_strip,
    )


def _use(context: PlanContext) -> tuple[float, float, float]:
    """Return what one batch uses up, mg/L: low, middle and high."""
    ahead, outlook = context.rule_context.forecast, context.outlook
    if isinstance(outlook, BalanceOutlook):
        low, middle, high = np.quantile(outlook.use_mg_l, (_LOW, _MID, _HIGH))
        return float(low), float(middle), float(high)
    if ahead is None:
        return 0.0, 0.0, 0.0
    return ahead.batch_mg_l.low, ahead.batch_mg_l.mid, ahead.batch_mg_l.high


def _changes(context: PlanContext, batches: int) -> int:
    """Return how often the water is due for a change by its schedule before the last batch."""
    rule_context = context.rule_context
    spec, due = rule_context.spec, 0
    if spec.batches_per_fill:
        due = _times(rule_context.tank.batches_in_fill + batches, spec.batches_per_fill)
    if spec.hours_per_fill:
        age = (rule_context.now - rule_context.fill.at) / timedelta(hours=1)
        hours = age + batches * context.pace_min / 60
        due = max(due, _times(hours, spec.hours_per_fill))
    return due


def _scheduled(context: PlanContext, batches: int) -> int:
    """Return how many readings the schedule of the set-up asks for."""
    spec, due = context.rule_context.spec, 0
    if spec.check_batches:
        due = ceil(batches / spec.check_batches)
    if spec.check_minutes:
        due = max(due, ceil(batches * context.pace_min / spec.check_minutes))
    return due


def _times(upto: float, every: float) -> int:
    return max(0, ceil(upto / every) - 1)


def total(found: Iterable[TankNeeds]) -> dict[tuple[str, str], Need]:
    """Return how much of each product, by its name and unit, all tanks need together."""
    sums: dict[tuple[str, str], Need] = {}
    for one in found:
        key = (one.product, one.unit)
        before = sums.get(key, Need(0.0, 0.0, 0.0))
        sums[key] = Need(
            before.low + one.amount.low,
            before.middle + one.amount.middle,
            before.high + one.amount.high,
        )
    return {key: need for key, need in sums.items() if key[0] and need.high > 0}
