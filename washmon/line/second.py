"""The second fill of a tank: what it still lacks before it may be swapped in.

Checks of the swap of a second fill, and of what would take one away from under its swap.
"""

from collections.abc import Iterator
from datetime import datetime

from washmon.line.check_additions import unmeasured
from washmon.line.events import Corrected, ReadingTaken, SecondSwapped
from washmon.line.finding import Fault, Finding, second_at
from washmon.line.fold import fold
from washmon.line.journal import Entry
from washmon.line.judging import counts_total, judge_ph, judge_total, may_wash, under_low
from washmon.line.message import Figure, Message, Moment, ppm
from washmon.line.mixing import (
    standing_total,
    unchecked,
    unverified,
    verifies,
    waited_long,
)
from washmon.line.setup import Tank
from washmon.line.state import Fill, Placed, ShiftState, order
from washmon.units import Kind


def lacking(fill: Fill | None, spec: Tank, at: datetime) -> tuple[Message, ...]:
    """Return in sentences what a second fill lacks at a moment; nothing where it is ready.

    Ready is what was filled, dosed and checked: mixed in, within its limits, and not so long ago
    that the sanitizer was lost since.
    """
    if fill is None:
        return (Message("The second fill is not filled yet."),)
    return tuple(_lacking(fill, spec, at))


def _lacking(fill: Fill, spec: Tank, at: datetime) -> Iterator[Message]:
    added = unchecked(fill, spec)
    if added is None and spec.peracetic is None and fill.latest("ph") is not None:
        added = unverified(fill, "ph", spec)
    if added is not None:
        yield Message(
            "What was added to the second fill at {at} was not checked since.",
            {"at": Moment(added.event.at)},
        )
        return
    level = fill.latest(spec.level_field)
    if level is None:
        yield Message("The second fill was not measured yet.")
        return
    yield from _level(level, fill, spec)
    if spec.peracetic is None:
        yield from _ph(fill, spec)
    if waited_long(level, spec, at):
        yield Message(
            "The second fill was measured {waited} ago; sanitizer is lost while it waits.",
            {"waited": Figure(int((at - level.event.at).total_seconds() / 60), Kind.TIME)},
        )


def _level(reading: Placed[ReadingTaken], fill: Fill, spec: Tank) -> Iterator[Message]:
    level, limits = float(getattr(reading.event, spec.level_field)), spec.limits
    if under_low(level, spec):
        yield Message(
            "The second fill is at {level}, under {low}.",
            {"level": ppm(level), "low": ppm(limits.low_mg_l)},
        )
    elif not may_wash(level, spec):
        text = "The second fill is at {level}, over what label and law allow."
        yield Message(text, {"level": ppm(level)})
        return
    if counts_total(spec):
        total = standing_total(fill, spec, order(reading))
        if total is not None and judge_total(total[0], spec):
            yield Message(
                "The second fill is at {total} total chlorine, over the label maximum of {most}.",
                {"total": ppm(total[0]), "most": ppm(limits.label_max_mg_l)},
            )


def _ph(fill: Fill, spec: Tank) -> Iterator[Message]:
    reading = fill.latest("ph")
    if reading is None or reading.event.ph is None:
        yield Message("The pH of the second fill was not measured yet.")
        return
    ph, limits = reading.event.ph, spec.ph
    if judge_ph(ph, spec):
        yield Message(
            "The second fill is at pH {ph}; it should be between {low} and {high}.",
            {
                "ph": Figure(ph, Kind.PH),
                "low": Figure(limits.low, Kind.PH),
                "high": Figure(limits.high, Kind.PH),
            },
        )


def may_be_used(fill: Fill, spec: Tank, at: datetime) -> bool:
    """Tell whether a check vouches for what would be washed in a second fill from a moment on."""
    level = fill.latest(spec.level_field)
    return (
        level is not None
        and may_wash(float(getattr(level.event, spec.level_field)), spec)
        and verifies(level, fill, spec.level_field, spec)
        and unverified(fill, spec.level_field, spec) is None
        and not waited_long(level, spec, at)
    )


def is_vouched_for(fill: Fill, spec: Tank) -> bool:
    """Tell whether any level that was read of a fill in use still says something of it."""
    field = spec.level_field
    read = (one for one in fill.readings if getattr(one.event, field) is not None)
    return any(verifies(one, fill, field, spec) for one in read)


def unfounded_swaps(shift: ShiftState) -> frozenset[int]:
    """Return the places of the swaps before which no second fill was entered."""
    return frozenset(
        fill.swapped.seq
        for tank in shift.tanks
        for fill in tank.fills
        if fill.swapped is not None and fill.swapped.seq == fill.begun.seq
    )


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
