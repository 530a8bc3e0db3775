"""What is registered: on the site's chain, and told to the shift that runs."""

from collections.abc import Iterator, Sequence

from msgspec.structs import replace

from washmon.line.check_registers import thing_faults
from washmon.line.events import Event, RegistersTold
from washmon.line.finding import Fault
from washmon.line.fitness import as_checked, told_of
from washmon.line.gate import Gate
from washmon.line.journal import Entry
from washmon.line.registers import Device, Measuring, Pack, Paper, Thing
from washmon.line.registry import registers_of, used_by
from washmon.line.setup import LineSetup
from washmon.line.site_events import RegistersUsed, SetupSaved, ThingRegistered
from washmon.line.state import ShiftState
from washmon.recorder.starting import told_next
from washmon.store.store import Store


def register_faults(
    gate: Gate, setup: LineSetup | None, event: ThingRegistered, pin: str, store: Store
) -> tuple[Fault, ...]:
    """Return what speaks against registering, changing or retiring something, or who does it.

    Raises:
        StoreUnavailable: the registers can't be read, or a wrong PIN not be journaled.
    """
    known = registers_of(store.site())
    if found := tuple(thing_faults(event.what, known, setup, event.at.date())):
        return found
    fault = gate.register_fault(setup, known.thing(event.what.key), event, pin)
    return () if fault is None else (fault,)


def told_to_shift(shift: ShiftState, event: ThingRegistered) -> RegistersTold | None:
    """Return what a running shift is told of it; papers are no matter of a shift."""
    is_past = shift.ended is not None or shift.started.practice
    if is_past or isinstance(event.what, Paper):
        return None
    return RegistersTold(at=event.at, by=event.by, things=(event.what,))


def told_by(
    store: Store, shift: ShiftState, event: Event, *, newest: bool
) -> Iterator[SetupSaved | ThingRegistered | RegistersUsed]:
    """Yield what the site is told of a shift: checks of instruments, and what was used.

    Of the checks only the newest shift tells.
    """
    if newest and (saved := told_next(store, shift, event)) is not None:
        yield saved
    used = used_by(shift, event)
    keys = told_of(shift, event) if newest and not shift.started.practice else set()
    if used is None and not keys:
        return  # nearly all entries: for them the registers are not read
    site = store.site()
    known = registers_of(site)
    for key in sorted(keys):
        after = _as_checked(shift, known.thing(key), shift.registers.thing(key))
        if after is not None and after != known.thing(key):
            yield ThingRegistered(at=event.at, by=event.by, what=after)
    if used is not None and _is_news(used, site):
        yield used


def _as_checked(shift: ShiftState, now: Thing | None, then: Thing | None) -> Measuring | None:
    """Return what is registered now with what a shift found, which knew it as it was then."""
    match now, then:
        case Device(), Device():
            found = as_checked(shift, then)
            return replace(now, unfit_since=found.unfit_since, checked_on=found.checked_on)
        case Pack(), Pack():
            return replace(now, unfit_since=as_checked(shift, then).unfit_since)
    return None


def _is_news(used: RegistersUsed, site: Sequence[Entry]) -> bool:
    """Tell whether something else is known of the use of a shift."""
    told = (one.event for one in reversed(site) if isinstance(one.event, RegistersUsed))
    before = next((one for one in told if one.shift == used.shift), None)
    if before is None:
        return bool(used.drawn or used.made_with)
    return (before.drawn, before.made_with) != (used.drawn, used.made_with)
