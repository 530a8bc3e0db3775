"""Rules on the second fill: not ready when a change is near, gas over it, swapped in unchecked."""

from washmon.line.flags import Level, StepKind
from washmon.line.message import Message, Moment
from washmon.rules.ahead import change_near
from washmon.rules.base import Finding, Protects, Rule, RuleContext, RuleScope, rule
from washmon.rules.ph import over_gas_limit
from washmon.rules.water import SCHEDULE, batches_used_up, hours_used_up, too_cloudy

_CALLING_FOR_WATER: tuple[Rule, ...] = (too_cloudy, batches_used_up, hours_used_up, change_near)


@rule(
    "second-fill",
    "second fill not ready",
    f"{SCHEDULE}; fresh water made ready before it is needed, measured at most an hour before: "
    "common practice, no published source",
    answers=(StepKind.FILL,),
    protects=Protects.WORK,
)
def second_fill_not_ready(rule_context: RuleContext) -> Finding | None:
    """Say what the second fill lacks where a water change is near or due."""
    second = rule_context.second
    if second is None or second.ready:
        return None
    near = next((found for one in _CALLING_FOR_WATER if (found := one.look(rule_context))), None)
    if near is None:
        return None
    first, *others = second.lacks
    return Finding(Level.WATCH, first, near.since, (*others, near.why))


@rule(
    "second-gas",
    "chlorine gas over the second fill",
    over_gas_limit.source,
    RuleScope.CHLORINE,
    answers=(StepKind.LEAVE,),
    protects=Protects.PEOPLE,
)
def gas_over_the_second_fill(rule_context: RuleContext) -> Finding | None:
    """Stop where so much gas leaves the second fill that the air beside the tank may be bad."""
    gas = None if rule_context.second is None else rule_context.second.gas
    return None if gas is None else Finding(gas.level, gas.why, gas.since, gas.more)


@rule(
    "swap-unchecked",
    "swapped in unchecked",
    "Verification before use, as after any corrective action: 21 CFR 120.10; measured at most an "
    "hour before: common practice, no published source",
    answers=(StepKind.CHECK,),
)
def swapped_in_unchecked(rule_context: RuleContext) -> Finding | None:
    """Stop washing in a second fill that came into use with no check that still counts."""
    swap = rule_context.fill.swapped
    if swap is None or rule_context.level() is not None:
        return None
    why = Message(
        "The second fill was swapped in at {at} with no check that still counts: nobody knows "
        "whether it may wash.",
        {"at": Moment(swap.event.at)},
    )
    washed = rule_context.tank.batches_in_fill
    return Finding(Level.STOP if washed else Level.ACT, why, swap.event.at)
