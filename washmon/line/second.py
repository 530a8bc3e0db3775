"""The second fill of a tank: what it still lacks before it may be swapped in."""

from collections.abc import Iterator
from datetime import datetime

from washmon.line.events import ReadingTaken
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
