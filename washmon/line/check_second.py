"""Checks of the swap of a second fill, and of what would take one away from under its swap."""

from collections.abc import Iterator

from washmon.line.check_additions import unmeasured
from washmon.line.events import Corrected, SecondSwapped
from washmon.line.finding import Fault, Finding, second_at
from washmon.line.fold import fold
from washmon.line.journal import Entry
from washmon.line.message import Message, Moment
from washmon.line.second import lacking, may_be_used, unfounded_swaps
from washmon.line.state import ShiftState


def swapped(state: ShiftState, event: SecondSwapped) -> Iterator[Finding]:
    """Yield what speaks against a swap."""
    fill = second_at(state, event.tank, event.at)
    if isinstance(fill, Fault):
        yield fill
        return
    yield from unfounded(state, event)
    yield from unmeasured(state, event)
    spec = state.tank(event.tank).spec
    yield from lacking(fill, spec, event.at)
    if not may_be_used(fill, spec, event.at):
        yield Message("Until a check of it is good, what is washed in it is in question.")


def unfounded(state: ShiftState, event: SecondSwapped | Corrected) -> Iterator[Fault]:
    """Yield a fault where an entry would leave a swap without a second fill before it."""
    if not any(fill.swapped for tank in state.tanks for fill in tank.fills):
        return
    last = state.entries[-1]
    after = fold(state.chain, (*state.entries, Entry(last.seq + 1, last.recorded_at, event, "")))
    left = unfounded_swaps(after) - unfounded_swaps(state)
    swaps = (fill.swapped for tank in after.tanks for fill in tank.fills if fill.swapped)
    for swap in swaps:
        if swap.seq in left:
            yield Fault(
                "entry" if isinstance(event, Corrected) else "at",
                Message(
                    "The swap of {time} would have no second fill before it: correct that first.",
                    {"time": Moment(swap.event.at)},
                ),
            )
