"""Whether what a reading was made with was fit for use: checked in time, and in date.

A good value proves good water only where its instrument or pack was fit as far as was known when it
was read: until a check set that right, readings made with one whose check failed, is overdue or was
never made, or with a pack past its day, count as not measured. A bad value counts whatever it was
read with. Readings that a later check makes doubtful are marked and told of by a flag; nobody knows
since when the instrument was off, so somebody decides what rested on them.
"""

from bisect import bisect_right
from collections.abc import Iterator
from datetime import date, datetime
from enum import StrEnum
from typing import TypeVar

from msgspec.structs import replace

from washmon.line.events import (
    Corrected,
    Event,
    Instrument,
    InstrumentChecked,
    Method,
    ReadingTaken,
)
from washmon.line.instruments import is_off
from washmon.line.message import Message
from washmon.line.quantities import QUANTITIES, Quantity
from washmon.line.registers import Device, DeviceKind, Measuring, Pack, PackKind
from washmon.line.state import Fill, Order, ShiftState, TankState, order

M = TypeVar("M", Device, Pack)
OF_FIELD = {
    "ph": Instrument.PH_METER,
    "orp_mv": Instrument.ORP_PROBE,
    "turbidity_ntu": Instrument.TURBIDITY,
    "water_c": Instrument.THERMOMETER,
    "pulp_c": Instrument.THERMOMETER,
}
"""What an instrument for a quantity is checked as; those for a level as one for chlorine."""


class Why(StrEnum):
    """Why something was not fit for use."""

    FAILED = "unfit by its check"
    OVERDUE = "check overdue"
    UNCHECKED = "never checked"
    PAST = "past its date"
    OFF = "found off at its next check"


def checked_as(thing: Measuring) -> Instrument:
    """Return as which kind of instrument a registered one is checked."""
    if isinstance(thing, Pack) and thing.kind is PackKind.STRIPS:
        return Instrument.STRIPS
    return OF_FIELD.get(next(iter(thing.measures), ""), Instrument.CHLORINE)


def method_of_thing(thing: Measuring) -> Method:
    """Return by which method something measures."""
    match thing:
        case Pack(kind=PackKind.STRIPS):
            return Method.STRIP
        case Device(kind=DeviceKind.METER):
            return Method.METER
    return Method.KIT


def thing_of(shift: ShiftState, reading: ReadingTaken, field: str) -> Measuring | None:
    """Return what a field of a reading was made with, where that is registered."""
    return next(things_of(shift, reading, field), None)


def things_of(shift: ShiftState, reading: ReadingTaken, field: str) -> Iterator[Measuring]:
    """Yield what a field of a reading was made with: an instrument, and the reagent it used."""
    for keys in (reading.made_with, reading.reagents):
        thing = shift.registers.thing((keys or {}).get(field, ""))
        if isinstance(thing, Device | Pack):
            yield thing


def why_unfit(shift: ShiftState, thing: Measuring, at: Order) -> Why | None:
    """Return why what was read with something at a moment may be wrong, by what is known by now."""
    return known_unfit(shift, thing, at) or (Why.OFF if found_off(shift, thing, at) else None)


def made_with(
    shift: ShiftState, seq: int, reading: ReadingTaken
) -> Iterator[tuple[Quantity, Measuring, Why | None]]:
    """Yield what each quantity of a reading was made with, and why that was unfit, if it was."""
    for one in QUANTITIES:
        if one.of(reading) is not None:
            for thing in things_of(shift, reading, one.field):
                yield one, thing, why_unfit(shift, thing, (reading.at, seq))


def known_unfit(shift: ShiftState, thing: Measuring, at: Order) -> Why | None:
    """Return why something was known to be unfit for use at a moment of a shift."""
    before, _ = _checks(shift, thing, at)
    last = before[-1] if before else None
    day = at[0].date()
    if not last.fit if last is not None else thing.unfit_since is not None:
        return Why.FAILED
    if isinstance(thing, Pack):
        return Why.PAST if thing.use_by is not None and thing.use_by < day else None
    passed = _passed_on(thing, before)
    if thing.check_days is None:
        return None
    if passed is None:
        return Why.UNCHECKED
    return Why.OVERDUE if (day - passed).days > thing.check_days else None


def unfit_now(shift: ShiftState, thing: Measuring, now: datetime) -> Why | None:
    """Return why something is not fit for use now, with all that was entered up to this moment."""
    return known_unfit(shift, thing, (now, shift.last_seq))


def found_off(shift: ShiftState, thing: Measuring, at: Order) -> InstrumentChecked | None:
    """Return the next check of something after a moment, where it found it off or unfit."""
    _, after = _checks(shift, thing, at)
    return after[0] if after and (not after[0].fit or is_off(after[0])) else None


def _passed_on(thing: Device, before: list[InstrumentChecked]) -> date | None:
    passed = [one.at.date() for one in before if one.fit]
    known = [thing.checked_on] if thing.checked_on is not None else []
    return max([*passed, *known], default=None)


def _checks(
    shift: ShiftState, thing: Measuring, at: Order
) -> tuple[list[InstrumentChecked], list[InstrumentChecked]]:
    """Return the checks of something in a shift, before a moment and after it."""
    found = sorted((one.at, seq) for seq, one in shift.verified if one.which == thing.key)
    by_seq = dict(shift.verified)
    until = bisect_right(found, at)
    events = [by_seq[seq] for _, seq in found]
    return events[:until], events[until:]


# What the fold marks.


def unvouched(shift: ShiftState, at: Order, reading: ReadingTaken) -> Iterator[str]:
    """Yield the fields of a reading that prove no good water, by what was known then."""
    for field in reading.made_with or {}:
        things = things_of(shift, reading, field)
        if any(known_unfit(shift, thing, at) is not None for thing in things):
            yield field


def marked_anew(shift: ShiftState) -> ShiftState:
    """Return a shift whose readings are marked by the checks and registers that it has by now."""
    if not shift.registers.things:
        return shift
    tanks = tuple(_marked_tank(shift, tank) for tank in shift.tanks)
    same = all(one is other for one, other in zip(tanks, shift.tanks, strict=True))
    return shift if same else replace(shift, tanks=tanks)


def _marked_tank(shift: ShiftState, tank: TankState) -> TankState:
    fills, unused = (
        tuple(_marked_fill(shift, fill) for fill in these) for these in (tank.fills, tank.unused)
    )
    second = None if tank.second is None else _marked_fill(shift, tank.second)
    before = (*tank.fills, *tank.unused, tank.second)
    same = all(one is other for one, other in zip((*fills, *unused, second), before, strict=True))
    return tank if same else replace(tank, fills=fills, unused=unused, second=second)


def _marked_fill(shift: ShiftState, fill: Fill) -> Fill:
    marks = frozenset(
        (one.seq, field)
        for one in fill.readings
        for field in unvouched(shift, order(one), one.event)
    )
    return fill if marks == fill.unvouched else replace(fill, unvouched=marks)


# What is remembered of a shift's checks.


def told_of(shift: ShiftState, event: Event) -> set[str]:
    """Return the keys of what an event tells the check of, or did before it was corrected."""
    told: list[Event | None] = [event]
    if isinstance(event, Corrected):
        told += [one.event for one in shift.entries if one.seq == event.entry]
        told += [
            one.event.instead
            for one in shift.entries
            if isinstance(one.event, Corrected) and one.event.entry == event.entry
        ]
    checks = (one for one in told if isinstance(one, InstrumentChecked))
    return {str(one.which) for one in checks if one.which}


def as_checked(shift: ShiftState, thing: M) -> M:
    """Return something with what the checks of a shift found: when it passed, or since when not."""
    checks = [one for _, one in shift.verified if one.which == thing.key]
    checks.sort(key=lambda one: one.at)
    if not checks:
        return thing
    unfit_since = None if checks[-1].fit else checks[-1].at.date()
    changed = replace(thing, unfit_since=unfit_since)
    if isinstance(changed, Device):
        return replace(changed, checked_on=_passed_on(changed, checks))
    return changed


def unfit_words(thing: Measuring, why: Why) -> Message:
    """Return in a sentence that something is not fit for use."""
    text = {
        Why.FAILED: "{name} was found unfit by its check.",
        Why.OVERDUE: "{name} is overdue for its check.",
        Why.UNCHECKED: "{name} was never checked.",
        Why.PAST: "{name} is past its date.",
        Why.OFF: "{name} was found off at its next check.",
    }[why]
    return Message(text, {"name": thing.name})
