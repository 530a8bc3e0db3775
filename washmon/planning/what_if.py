"""What would come of it: batches washed, product added, water changed, before anybody does it.

The same outlook that the plan is made by, asked by hand. Nothing here advises: an amount that may
pass a maximum, or meets something that is still mixing in, is answered by a sentence.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from washmon.chemistry.checks import ChemistryError
from washmon.forecast.predict import after_exchange, chances_under
from washmon.line.events import Method
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


class PhAhead(Struct, frozen=True):
    """What a pH meter would read once so many more batches were washed: in 8 of 10 cases."""

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
    ph: tuple[PhAhead, ...] = ()
    """After none, and so on to as many as were supposed; empty where the tank needs no pH."""
    ph_limits: tuple[float, float] = (0.0, 14.0)
    ph_read: bool = True
    """Whether the pH of this water was ever read; else all is by what is usual."""
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
    outlook, added = context.outlook, 0.0
    warnings: list[Message] = []
    if supposed.change:
        outlook, added = _made_up(context, outlook)
    if supposed.amount is not None:
        try:
            up = _rise(context, supposed.amount, warnings)
        except ChemistryError as trouble:
            return trouble_message(trouble)
        outlook, added = outlook.dosed(up, _mixing(context)), added + up
    batches = max(supposed.batches, 0)
    levels = outlook.ahead(batches + _FAN_BATCHES + 1)
    end = levels[batches]
    after = course(outlook, limits.critical_low_mg_l, limits.low_mg_l, MOST_BATCHES)
    return WhatIf(
        supposed=supposed,
        reads=_with_level(outlook, end).reads(context.method),
        under_critical=float(chances_under(end, limits.critical_low_mg_l)),
        good=max(0, context.good(after) - batches),
        ph=_ph_ahead(context, supposed, added, levels),
        ph_limits=(spec.ph.low, spec.ph.high),
        ph_read=context.ph is None or context.ph.read is not None,
        fan=tuple(_point(at, levels[at]) for at in range(max(batches, _FAN_BATCHES) + 1)),
        warnings=(*warnings, *_highest(outlook, spec.limits.label_max_mg_l, supposed)),
    )


def _point(batches: int, levels: NDArray[np.float64]) -> LevelAhead:
    low, middle, high = np.quantile(levels, (_LOW, _MID, _HIGH))
    return LevelAhead(batches, float(low), float(middle), float(high))


def _ph_ahead(
    context: PlanContext,
    supposed: Supposed,
    added_mg_l: float,
    levels: Iterable[NDArray[np.float64]],
) -> tuple[PhAhead, ...]:
    """Return what the pH would be: fresh water, then hypochlorite, then batches and what they use.

    Acid that is supposed is not asked for; what was put in already is in the belief.
    """
    belief = context.ph
    if belief is None:
        return ()
    particles = belief.particles
    if supposed.change:
        particles = particles.exchanged(1.0)
    if added_mg_l > 0.0:
        particles = particles.dosed(added_mg_l)
    method = Method.METER if belief.read is None else belief.read.event.ph_method
    middles = [float(np.median(one)) for one in levels]
    found = []
    for batches in range(max(supposed.batches, 0) + 1):
        used = max(0.0, middles[0] - middles[batches])
        read = particles.washed(batches, used).read_by(method)
        low, middle, high = np.quantile(read, (_LOW, _MID, _HIGH))
        found.append(PhAhead(batches, float(low), float(middle), float(high)))
    return tuple(found)


def _made_up(context: PlanContext, outlook: Outlook) -> tuple[Outlook, float]:
    """Return the outlook of fresh water, dosed to the target and mixed, and the rise (mg/L)."""
    fresh = _emptied(outlook)
    target, minutes = context.rule_context.spec.limits.target_mg_l, _mixing(context)
    up = rise_to(fresh, target, _MID, context.rule_context.spec.mix_minutes)
    return fresh.dosed(up, minutes), up


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


def _rise(context: PlanContext, amount: Amount, warnings: list[Message]) -> float:
    """Return by how much an amount raises the level, mg/L; what speaks against it is noted."""
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
    return rise(product, rule_context.fill.volume_l, amount, rule_context.today)


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
    return (Message(reads, span), *_ph_words(found), _lasts(found), *found.warnings)


_PH_TOLD = {
    (True, False): "The pH then {from}–{to}.",
    (True, True): "The pH then {from}–{to}, before any acid.",
    (False, False): "The pH then {from}–{to}, by what is usual: it was never read.",
    (False, True): "The pH then {from}–{to}, before any acid, by what is usual: it was never read.",
}
"""By whether the pH of this water was read, and whether the water is changed."""


def _ph_words(found: WhatIf) -> Iterator[Message]:
    """Yield between which values the pH would be read, and where that is no good."""
    if not found.ph:
        return
    end, (low, high) = found.ph[-1], found.ph_limits
    yield Message(
        _PH_TOLD[found.ph_read, found.supposed.change], {"from": _ph(end.low), "to": _ph(end.high)}
    )
    if end.middle > high:
        yield Message("That is over {high}: chlorine works less.", {"high": Figure(high, Kind.PH)})
    elif end.middle < low:
        yield Message("That is under {low}.", {"low": Figure(low, Kind.PH)})


def _ph(value: float) -> Figure:
    return Figure(round(value, 1), Kind.PH)  # as finely as anybody reads it


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
