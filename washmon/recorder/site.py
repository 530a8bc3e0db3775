"""What is journaled on the site's chain: set-ups, PINs and registers."""

from collections.abc import Callable

from msgspec.structs import replace

from washmon.line.check_training import course_faults, sign_off_faults
from washmon.line.events import Event
from washmon.line.finding import Fault
from washmon.line.gate import Gate
from washmon.line.journal import SITE, Entry
from washmon.line.message import Message
from washmon.line.registry import training_of
from washmon.line.setup import LineSetup
from washmon.line.setup_changes import stamped
from washmon.line.site_events import (
    CourseSet,
    PinReset,
    PinSet,
    SetupSaved,
    ThingRegistered,
    TrainingSigned,
)
from washmon.line.state import ShiftState
from washmon.recorder.answers import Answer, Refused, Saved
from washmon.recorder.registering import register_faults, told_by
from washmon.recorder.starting import newest_setup, setup_refusal
from washmon.recorder.timekeeping import Timekeeper
from washmon.store.store import Store

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
