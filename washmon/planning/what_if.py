"""What would come of it: batches washed, product added, water changed, before anybody does it.

The same outlook that the plan is made by, asked by hand. Nothing here advises: an amount that may
pass a maximum, or meets something that is still mixing in, is answered by a sentence.
"""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from washmon.chemistry.checks import ChemistryError
from washmon.forecast.predict import after_exchange, chances_under
from washmon.line.flags import Amount
from washmon.line.message import Figure, Message, Moment, Values, ppm
from washmon.line.plan import Span
from washmon.line.product import rise
from washmon.line.state import ShiftState
from washmon.planning.context import PlanContext
from washmon.planning.objective import SETTLED_MIN
from washmon.planning.options import mixed
from washmon.planning.outlook import (
    BalanceOutlook,
    ForecastOutlook,
    Outlook,
    course,
    quantile,
    rise_to,
)
from washmon.planning.plan_words import number, trouble_message
from washmon.rules.base import RuleContext
from washmon.units import Kind

if TYPE_CHECKING:
    from washmon.forecast.look_ahead import Forecast

MOST_BATCHES = 40
_FAN_BATCHES = 12
_SURE = 0.95
_LOW, _MID, _HIGH = 0.1, 0.5, 0.9


class Supposed(Struct, frozen=True, kw_only=True):
    """What somebody wonders about: water changed and made up, then product added, then batches."""

    tank: int
    batches: int = 0
    amount: Amount | None = None
    """Of the tank's sanitizer."""
    change: bool = False


class LevelAhead(Struct, frozen=True):
    """The level, mg/L, once so many more batches were washed: in 8 of 10 cases, and its middle."""

    batches: int
    low: float
    middle: float
    high: float


class WhatIf(Struct, frozen=True, kw_only=True):
    """What would come of it; levels in mg/L."""

    supposed: Supposed
    reads: Span
    """Between which values the shed's instrument would read at the end of it, in 8 of 10 cases."""
    under_critical: float
    """The chance that the level is under the critical low by then."""
    good: int
    """So many batches could be washed after it; :data:`MOST_BATCHES` stands for more."""
    fan: tuple[LevelAhead, ...]
    warnings: tuple[Message, ...] = ()
    """What speaks against doing it."""


def what_if(context: PlanContext, supposed: Supposed) -> WhatIf | Message:
    """Return what would come of it, or in a sentence why that can't be told."""
    rule_context = context.rule_context
    limits, spec = rule_context.spec.limits, rule_context.spec
    if supposed.batches > MOST_BATCHES:
        return Message(
            "Nobody can tell that far ahead: ask for {most} batches at most.",
            {"most": MOST_BATCHES},
        )
    outlook = context.outlook
    warnings: list[Message] = []
    if supposed.change:
        outlook = _made_up(context, outlook)
    if supposed.amount is not None:
        try:
            outlook = _dosed(context, outlook, supposed.amount, warnings)
        except ChemistryError as trouble:
            return trouble_message(trouble)
    batches = max(supposed.batches, 0)
    levels = outlook.ahead(batches + _FAN_BATCHES + 1)
    end = levels[batches]
    after = course(outlook, limits.critical_low_mg_l, limits.low_mg_l, MOST_BATCHES)
    return WhatIf(
        supposed=supposed,
        reads=_with_level(outlook, end).reads(context.method),
        under_critical=float(chances_under(end, limits.critical_low_mg_l)),
        good=max(0, context.good(after) - batches),
        fan=tuple(_point(at, levels[at]) for at in range(max(batches, _FAN_BATCHES) + 1)),
        warnings=(*warnings, *_highest(outlook, spec.limits.label_max_mg_l, supposed)),
    )


def _point(batches: int, levels: NDArray[np.float64]) -> LevelAhead:
    low, middle, high = np.quantile(levels, (_LOW, _MID, _HIGH))
    return LevelAhead(batches, float(low), float(middle), float(high))


def _made_up(context: PlanContext, outlook: Outlook) -> Outlook:
    """Return the outlook of fresh water, dosed to the target and mixed."""
    fresh = _emptied(outlook)
    target, minutes = context.rule_context.spec.limits.target_mg_l, _mixing(context)
    up = rise_to(fresh, target, _MID, context.rule_context.spec.mix_minutes)
    return fresh.dosed(up, minutes)


def _emptied(outlook: Outlook) -> Outlook:
    if isinstance(outlook, ForecastOutlook):
        return replace(outlook, particles=after_exchange(outlook.particles, 1.0))
    if isinstance(outlook, BalanceOutlook):
        return replace(outlook, level=np.zeros_like(outlook.level))
    raise TypeError(outlook)


def _with_level(outlook: Outlook, level: NDArray[np.float64]) -> Outlook:
    if isinstance(outlook, ForecastOutlook):
        water = outlook.particles.water._replace(level=level)
        return replace(outlook, particles=outlook.particles.holding(water))
    if isinstance(outlook, BalanceOutlook):
        return replace(outlook, level=level)
    raise TypeError(outlook)


def _mixing(context: PlanContext) -> float:
    return max(context.rule_context.spec.mix_minutes, 0.0) + SETTLED_MIN


def _dosed(
    context: PlanContext, outlook: Outlook, amount: Amount, warnings: list[Message]
) -> Outlook:
    rule_context = context.rule_context
    product = rule_context.setup.sanitizer(rule_context.spec.sanitizer)
    if product is None:
        raise ChemistryError("The product of this tank is not in the set-up: add it.")
    until = mixed(rule_context, acid_apart=True)
    if until is not None and until > rule_context.now:
        warnings.append(
            Message(
                "Acid is still mixing in: nothing else goes into this tank before {time}.",
                {"time": Moment(until)},
            )
        )
    up = rise(product, rule_context.fill.volume_l, amount, rule_context.today)
    return outlook.dosed(up, _mixing(context))


def _highest(outlook: Outlook, most_mg_l: float, supposed: Supposed) -> tuple[Message, ...]:
    """Say where what is added may take the water over the label's maximum."""
    high = quantile(outlook.level, _SURE)
    if supposed.amount is None or high <= most_mg_l:
        return ()
    return (
        Message(
            "It may reach {level}, over the {most} that the label allows: add less.",
            {"level": ppm(round(high)), "most": ppm(most_mg_l)},
        ),
    )


def what_if_words(found: WhatIf) -> tuple[Message, ...]:
    """Return what would be read, for how long that is good, and what speaks against it."""
    span: Values = {
        "low": number(found.reads.low),
        "high": ppm(found.reads.high),
        "batches": found.supposed.batches,
    }
    reads = {
        0: "It should then read {low}–{high}.",
        1: "It should read {low}–{high} after one batch.",
    }.get(found.supposed.batches, "It should read {low}–{high} after {batches} batches.")
    return (Message(reads, span), _lasts(found), *found.warnings)


def _lasts(found: WhatIf) -> Message:
    """Return for how many batches it would be good."""
    if found.good == 0:
        chance = Figure(min(max(round(100 * found.under_critical), 1), 99), Kind.PERCENT)
        return Message(
            "Read it before the next batch: the chance that it is under the critical low is "
            "{chance}.",
            {"chance": chance},
        )
    if found.good >= MOST_BATCHES - found.supposed.batches:
        return Message("Good for {good} more batches or longer.", {"good": found.good})
    if found.good == 1:
        return Message("Good for one more batch.")
    return Message("Good for {good} more batches.", {"good": found.good})


def contexts_of(
    shift: ShiftState, now: datetime, forecasts: "Mapping[int, Forecast]"
) -> Iterator[PlanContext]:
    """Yield what may be looked at for each tank that holds water, without what was found in it."""
    raised = frozenset(record.flag.key for record in shift.open_flags)
    for tank in shift.tanks:
        if tank.fill is not None:
            ahead = forecasts.get(tank.number)
            yield PlanContext(RuleContext(shift, tank, tank.fill, now, raised, ahead), {})
