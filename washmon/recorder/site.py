"""What is journaled on the site's chain: set-ups, PINs and registers.

What is registered: on the site's chain, and told to the shift that runs.
"""

from collections.abc import Callable, Iterator, Sequence

from msgspec.structs import replace

from washmon.line.check_registers import thing_faults
from washmon.line.check_training import course_faults, sign_off_faults
from washmon.line.events import Event, RegistersTold
from washmon.line.finding import Fault
from washmon.line.fitness import as_checked, told_of
from washmon.line.gate import Gate
from washmon.line.journal import SITE, Entry
from washmon.line.message import Message
from washmon.line.registers import Device, Measuring, Pack, Paper, Thing
from washmon.line.registry import registers_of, training_of, used_by
from washmon.line.setup import LineSetup
from washmon.line.setup_changes import stamped
from washmon.line.site_events import (
    CourseSet,
    PinReset,
    PinSet,
    RegistersUsed,
    SetupSaved,
    ThingRegistered,
    TrainingSigned,
)
from washmon.line.state import ShiftState
from washmon.recorder.answers import Answer, Refused, Saved
from washmon.recorder.starting import newest_setup, setup_refusal, told_next
from washmon.recorder.timekeeping import Timekeeper
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


SiteEvent = SetupSaved | PinSet | PinReset | ThingRegistered | CourseSet | TrainingSigned


class Site:
    """The set-up that holds, and the gate that asks for PINs; all on the recorder's thread."""

    def __init__(
        self, store: Store, line: str | None, append: Callable[[Event], Entry], time: Timekeeper
    ) -> None:
        """Begin without a set-up.

        Args:
            store: the database.
            line: the line, where several share a database.
            append: adds an event to the site's chain.
            time: nobody sets the seconds that it makes a wrong PIN wait.
        """
        self._store, self._line, self._append = store, line, append
        self.setup: LineSetup | None = None
        self.gate = Gate(
            store.site,
            append,
            time.clock,
            time.elapsed_s,
            judges=not store.read_only,
        )

    def take_up(self) -> None:
        """Know the newest set-up.

        Raises:
            StoreUnavailable: it can't be read.
        """
        self.setup = newest_setup(self._store, self._line)

    def vouch(self, by: str, pin: str) -> Fault | None:
        """Return why somebody is not taken for a manager."""
        if not self.gate.judges:  # a wrong PIN could not be journaled, and guessing would be free
            return Fault("pin", Message("This window only reads: ask in the one that writes."))
        return self.gate.manager_fault(self.setup, by, pin)

    def entry_faults(self, shift: ShiftState, event: Event, pin: str) -> tuple[Fault, ...]:
        """Return why somebody may not enter this into a shift."""
        return self.gate.entry_faults(self.setup, shift, event, pin)

    def commit(self, event: SiteEvent, pin: str) -> Answer:
        """Journal an event of the site, or say why not.

        Raises:
            StoreUnavailable: nothing was saved.
        """
        match event:
            case SetupSaved():
                return self._save_setup(event, pin)
            case ThingRegistered():
                faults = register_faults(self.gate, self.setup, event, pin, self._store)
                return Refused(faults) if faults else Saved(SITE, self._append(event))
            case CourseSet() | TrainingSigned():
                faults = self._training_faults(event, pin)
                return Refused(faults) if faults else Saved(SITE, self._append(event))
        admitted = self.gate.change(self.setup, event, pin)
        if isinstance(admitted, Fault):
            return Refused((admitted,))
        return Saved(SITE, self._append(admitted))

    def _training_faults(self, event: CourseSet | TrainingSigned, pin: str) -> tuple[Fault, ...]:
        if isinstance(event, CourseSet):
            found = tuple(course_faults(event.course))
        else:
            known = training_of(self._store.site())
            found = tuple(sign_off_faults(event.what, event.by, known))
        fault = None if found else self.gate.training_fault(self.setup, event, pin)
        return (fault,) if fault else found

    def _save_setup(self, event: SetupSaved, pin: str) -> Answer:
        if (refusal := setup_refusal(event.setup, self.gate.saver_fault(event, pin))) is not None:
            return refusal
        setup = stamped(self.setup, event.setup, event.by, event.at.date())
        saved = Saved(SITE, self._append(replace(event, setup=setup)))
        self.setup = setup
        return saved

    def remember(self, shift: ShiftState, event: Event, *, newest: bool) -> None:
        """Let the next shift begin with what this one found out, and what it used."""
        for news in told_by(self._store, shift, event, newest=newest):
            self._append(news)
            if isinstance(news, SetupSaved) and self.setup is not None:
                self.setup = news.setup if news.setup.line == self.setup.line else self.setup
