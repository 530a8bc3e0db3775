"""What a hold says of itself as it is placed: which limits failed, and how likely."""

from collections.abc import Mapping
from datetime import datetime
from typing import TYPE_CHECKING

from msgspec.structs import replace

from washmon.line.events import Corrected, Event, HoldPlaced, Limit
from washmon.line.held_words import chances_of
from washmon.line.judging import under_critical_contact
from washmon.line.state import ShiftState
from washmon.rules.base import RuleContext
from washmon.rules.in_question import chances_below, limits_failed, told_below, windows, within

if TYPE_CHECKING:  # start-up is measured, and it is only read
    from washmon.forecast.look_ahead import Forecast

_BY_LEVEL = {Limit.LOW, Limit.UNCHECKED}


def unestimated(event: Event) -> Event:
    """Return an entry without what only the program may say of a hold."""
    match event:
        case HoldPlaced():
            return replace(event, chances=(), failed=())
        case Corrected(instead=HoldPlaced() as hold):
            return replace(event, instead=replace(hold, chances=(), failed=()))
    return event


def estimated(
    shift: ShiftState, event: Event, forecasts: "Mapping[int, Forecast]", now: datetime
) -> Event:
    """Return an entry with what is known of its hold now; what stood there before is not kept.

    A correction keeps what was estimated when the hold was placed: only batches that come to it
    are estimated anew, or all, where it was the wrong tank. Other entries come back as they are.
    """
    match event:
        case HoldPlaced():
            return _placed(shift, event, forecasts, now)
        case Corrected(instead=HoldPlaced() as hold):
            was = next((one.placed for one in shift.holds if one.seq == event.entry), None)
            new = _placed(shift, hold, forecasts, now, was)
            return replace(event, instead=new)
    return event


def _placed(
    shift: ShiftState,
    hold: HoldPlaced,
    forecasts: "Mapping[int, Forecast]",
    now: datetime,
    was: HoldPlaced | None = None,
) -> HoldPlaced:
    kept = was if was is not None and was.tank == hold.tank else None
    old = {} if kept is None else chances_of(kept)
    new = set(hold.batches) - old.keys()
    limits = _limits(shift, hold.tank)
    tank, found = shift.tank(hold.tank), old
    if tank.fill is not None:
        ahead = forecasts.get(hold.tank)
        rule_context = RuleContext(shift, tank, tank.fill, now, frozenset(), ahead)
        found = old | _chances(rule_context, limits, new)
    chances = tuple(found.get(seq) for seq in hold.batches)
    failed = {limit for seq in new for limit in limits.get(seq, ())}
    failed |= set() if kept is None else set(kept.failed)
    return replace(
        hold,
        chances=chances if any(one is not None for one in chances) else (),
        failed=tuple(limit for limit in Limit if limit in failed),
    )


def _limits(shift: ShiftState, number: int) -> dict[int, set[Limit]]:
    """Return what put batches in question by a tank's water, in that tank and those after it."""
    tank = shift.tank(number)
    found: dict[int, set[Limit]] = {}
    for window in windows(tank):
        failed = limits_failed(tank, window)
        for other in shift.tanks:
            if other.number >= number:
                for seq in within(other, window):
                    found.setdefault(seq, set()).update(failed)
    for batch in tank.washed:
        stayed_s = batch.event.contact_s
        if stayed_s is not None and under_critical_contact(stayed_s, tank.spec):
            found.setdefault(batch.seq, set()).add(Limit.CONTACT)
    return found


def _chances(
    rule_context: RuleContext, limits: Mapping[int, set[Limit]], asked: set[int]
) -> dict[int, float | None]:
    """Return how likely batches met too little free chlorine in a tank, as far as that is known.

    Those that a person adds, though no rule does, are told of, too; those that another limit put
    in question are not.
    """
    told = dict(told_below(rule_context)) | chances_below(rule_context)
    return {
        seq: round(told[seq], 3)
        for seq in asked
        if seq in told and (seq not in limits or limits[seq] & _BY_LEVEL)
    }
