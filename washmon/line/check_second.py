"""Checks of the swap of a second fill, and of what would take one away from under its swap."""

from collections.abc import Iterator
from datetime import datetime

from washmon.line.check_additions import unmeasured
from washmon.line.events import Corrected, SecondSwapped
from washmon.line.finding import Fault, Finding, second_at
from washmon.line.fold import fold
from washmon.line.journal import Entry
from washmon.line.message import Message, Moment
from washmon.line.second import lacking, may_be_used, unfounded_swaps
from washmon.line.state import ShiftState, order


def swapped(state: ShiftState, event: SecondSwapped) -> Iterator[Finding]:
    """Yield what speaks against a swap."""
    fill = second_at(state, event.tank, event.at)
    if isinstance(fill, Fault):
        yield fill
        return
    yield from unfounded(state, event)
    yield from _overtaken(state, event)
    yield from unmeasured(state, event)
    spec = state.tank(event.tank).spec
    yield from lacking(fill, spec, event.at)
    if not may_be_used(fill, spec, event.at):
        yield Message("Until a check of it is good, what is washed in it is in question.")


def unfounded(state: ShiftState, event: SecondSwapped | Corrected) -> Iterator[Fault]:
    """Yield a fault where an entry would leave a swap without a second fill before it."""
    if not any(fill.swapped for tank in state.tanks for fill in tank.fills):
        return
    after = _after(state, event)
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


def _overtaken(state: ShiftState, event: SecondSwapped) -> Iterator[Fault]:
    """Yield a fault where the second fill was dosed or measured as such after it was swapped in.

    It would be of a fill that waits no more, and count nowhere.
    """
    lost = left_dry(state, event)
    if lost:
        times = {entry.seq: _time_of(state, entry) for entry in state.entries}
        yield Fault(
            "at",
            Message(
                "The second fill still waited at {time}, by what was entered then: choose a later "
                "time, or correct that entry first.",
                {"time": Moment(max(times[seq] for seq in lost))},
            ),
        )


def _time_of(state: ShiftState, entry: Entry) -> datetime:
    correction = state.corrections.get(entry.seq)
    told = None if correction is None else correction.instead
    return (told or entry.event).at


def left_dry(state: ShiftState, event: SecondSwapped | Corrected) -> frozenset[int]:
    """Return the places of the entries whose water would not be there any more after an entry."""
    return _in_water(state) - _in_water(_after(state, event))


def _in_water(state: ShiftState) -> frozenset[int]:
    """Return the places of all entries about water that was filled in, batches too."""
    found = set[int]()
    for tank in state.tanks:
        for fill in tank.every_fill:
            series = (fill.readings, fill.doses, fill.acids, fill.exchanges)
            found |= {one.seq for placed in series for one in placed}
        if tank.fills:
            first = tank.fills[0].used
            since = order(first)
            found |= {one.seq for one in tank.washed if order(one) > since}
    return frozenset(found)


def _after(state: ShiftState, event: SecondSwapped | Corrected) -> ShiftState:
    last = state.entries[-1]
    return fold(state.chain, (*state.entries, Entry(last.seq + 1, last.recorded_at, event, "")))
