"""Rules on the second fill: not ready when a change is near, gas over it, swapped in unchecked."""

from washmon.line.flags import Level, Step
from washmon.line.message import Message, Moment
from washmon.rules.ahead import change_near, doses_will_not_hold
from washmon.rules.base import Finding, Rule, Sight, Water, rule
from washmon.rules.dosing import dose_to_target
from washmon.rules.ph import over_gas_limit
from washmon.rules.steps import measure_step, wait_or_check
from washmon.rules.water import (
    SCHEDULE,
    batches_used_up,
    doses_do_not_hold,
    hours_used_up,
    too_cloudy,
)

_CALLING_FOR_WATER: tuple[Rule, ...] = (
    too_cloudy,
    batches_used_up,
    hours_used_up,
    doses_do_not_hold,
    change_near,
)


@rule(
    "second-fill",
    "second fill not ready",
    f"{SCHEDULE}; fresh water made ready before it is needed, measured at most an hour before: "
    "common practice, no published source",
)
def second_fill_not_ready(sight: Sight) -> Finding | None:
    """Ask for the second fill where a water change is near or due, one step at a time."""
    second = sight.second
    if second is None or second.ready:
        return None
    near = _calls_for_water(sight)
    if near is None:
        return None
    first, *others = second.lacks
    return Finding(Level.WATCH, first, second.step, near.since, (*others, near.why))


def _calls_for_water(sight: Sight) -> Finding | None:
    """Return why a change is near or due, or the better buy; nothing where it is not."""
    found = next((found for one in _CALLING_FOR_WATER if (found := one.look(sight))), None)
    if found is not None or sight.forecast is None or not sight.forecast.holding.no_longer:
        return found
    kept = None if sight.kept is None else sight.kept.get(doses_will_not_hold.id)
    if kept is not None:  # what looks ahead keeps its word until it can look anew
        return Finding(kept.level, kept.why, kept.step, kept.since)
    return doses_will_not_hold.look(sight) if sight.kept is None else None


@rule(
    "second-gas",
    "chlorine gas over the second fill",
    over_gas_limit.source,
    Water.CHLORINE,
)
def gas_over_the_second_fill(sight: Sight) -> Finding | None:
    """Stop where so much gas leaves the second fill that the air beside the tank may be bad."""
    gas = None if sight.second is None else sight.second.gas
    return None if gas is None else Finding(gas.level, gas.why, gas.step, gas.since, gas.more)


@rule(
    "swap-unchecked",
    "swapped in unchecked",
    "Verification before use, as after any corrective action: 21 CFR 120.10; measured at most an "
    "hour before: common practice, no published source",
)
def swapped_in_unchecked(sight: Sight) -> Finding | None:
    """Stop washing in a second fill that came into use with no check that still counts."""
    swap = sight.fill.swapped
    if swap is None or sight.level() is not None:
        return None
    why = Message(
        "The second fill was swapped in at {at} with no check that still counts: nobody knows "
        "whether it may wash.",
        {"at": Moment(swap.event.at)},
    )
    washed = sight.tank.batches_in_fill
    return Finding(Level.STOP if washed else Level.ACT, why, _verify(sight), swap.event.at)


def _verify(sight: Sight) -> Step:
    added = sight.unchecked_addition()
    if added is not None:
        return wait_or_check(sight, added)
    if sight.fill.latest(sight.spec.level_field) is None and not sight.fill.doses:
        return dose_to_target(sight, None).step
    return measure_step(sight.spec)
