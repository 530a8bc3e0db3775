"""The registers as the site's chain tells them, and what a shift takes out of them."""

from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache

from washmon.line.events import AcidAdded, Corrected, DoseAdded, Event, ShiftEnded
from washmon.line.journal import Entry
from washmon.line.registers import Registers, Thing
from washmon.line.same import Same
from washmon.line.site_events import CourseSet, RegistersUsed, ThingRegistered, TrainingSigned
from washmon.line.state import ShiftState
from washmon.line.training import Course, Register, Signed


def registers_of(site: Sequence[Entry]) -> Registers:
    """Return what is registered: the newest entry of each key, and of each shift, holds.

    Of a chain that is the very same as before, it is kept.
    """
    return _registers(Same(site)) if isinstance(site, tuple) else _folded(site)


@lru_cache(maxsize=4)
def _registers(site: Same[tuple[Entry, ...]]) -> Registers:
    return _folded(site.part)


def _folded(site: Sequence[Entry]) -> Registers:
    things: dict[str, Thing] = {}
    used: dict[str, RegistersUsed] = {}
    made_with: dict[str, str] = {}
    for entry in site:
        match entry.event:
            case ThingRegistered(what=thing):
                things[thing.key] = thing
            case RegistersUsed() as told:
                if told.shift not in used:  # what is corrected later tells of the past
                    made_with |= told.made_with
                used[told.shift] = told
    drawn: dict[str, float] = {}
    for told in used.values():
        for key, amount in told.drawn.items():
            drawn[key] = drawn.get(key, 0.0) + amount
    return Registers(things=tuple(things.values()), drawn=drawn, made_with=made_with)


def training_of(site: Iterable[Entry]) -> Register:
    """Return the register of training: the newest course, and all that was signed off."""
    course: Course | None = None
    signed: list[Signed] = []
    for entry in site:
        match entry.event:
            case CourseSet(course=newest):
                course = newest
            case TrainingSigned(what=what) as told:
                signed.append(Signed(what, told.by, told.at.date()))
    return Register(course=course, signed=tuple(signed))


def poured_in(shift: ShiftState) -> Iterator[DoseAdded | AcidAdded]:
    """Yield what was poured from a registered container in a shift, corrections applied."""
    for tank in shift.tanks:
        for fill in tank.every_fill:
            yield from (one.event for one in fill.doses if one.event.container)
            yield from (one.event for one in fill.acids if one.event.container)


def drawn_in(shift: ShiftState) -> dict[str, float]:
    """Return what went out of each container in a shift, corrections applied, mL or g."""
    found: dict[str, float] = {}
    for event in poured_in(shift):
        key = str(event.container)
        found[key] = found.get(key, 0.0) + event.amount.value
    return found


def made_with_in(shift: ShiftState) -> dict[str, str]:
    """Return what each quantity was last measured with in a shift."""
    readings = [
        one.event for tank in shift.tanks for fill in tank.every_fill for one in fill.readings
    ]
    found: dict[str, str] = {}
    for reading in sorted(readings, key=lambda one: one.at):
        found |= reading.made_with or {}
    return found


def used_by(shift: ShiftState, event: Event) -> RegistersUsed | None:
    """Return what is to be remembered of a shift's use, if its end or a later entry changed it."""
    over = isinstance(event, ShiftEnded) or (shift.ended is not None and _changes_use(event))
    if not over or shift.started.practice or not shift.registers.things:
        return None
    return RegistersUsed(
        at=event.at,
        by=event.by,
        shift=shift.chain,
        drawn=drawn_in(shift),
        made_with=made_with_in(shift),
    )


def _changes_use(event: Event) -> bool:
    return isinstance(event, Corrected | DoseAdded | AcidAdded)
