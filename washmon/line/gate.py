"""Who may sign or change a PIN: asked of the site's chain at the moment it matters.

Another laptop may have set a PIN a second ago, so the chain is asked each time; what it says is
worked out once for as long as nothing is added.
"""

from collections.abc import Callable, Iterable, Sequence
from datetime import datetime, timedelta

from msgspec.structs import replace

from washmon.line import acts, pins
from washmon.line.check import Fault
from washmon.line.events import Event, ShiftStarted
from washmon.line.journal import Entry
from washmon.line.message import Message
from washmon.line.registers import Thing
from washmon.line.setup import LineSetup, Person
from washmon.line.signing import Signed, role_fault
from washmon.line.site_events import (
    CourseSet,
    PinMistaken,
    PinReset,
    PinSet,
    SetupSaved,
    ThingRegistered,
    TrainingSigned,
)
from washmon.line.state import ShiftState


class Gate:
    """Lets people through, or says why not; a wrong PIN is journaled.

    ``entries`` reads the site's chain, ``append`` writes to it. ``elapsed_s`` counts seconds that
    nobody sets, so that moving the ``clock`` lifts no wait; without it the clock is trusted. Who
    can't journal a wrong PIN ``judges`` none, or guessing would be free.
    """

    def __init__(
        self,
        entries: Callable[[], Sequence[Entry]],
        append: Callable[[Event], object],
        clock: Callable[[], datetime],
        elapsed_s: Callable[[], float] | None = None,
        *,
        judges: bool = True,
    ) -> None:
        self._entries, self._append, self._clock = entries, append, clock
        self._elapsed_s = elapsed_s
        self.judges = judges
        self._wrong_at_s: dict[str, list[float]] = {}
        self._site: Sequence[Entry] = ()
        self._known = pins.Pins()

    def entry_faults(
        self, setup: LineSetup | None, shift: ShiftState, event: Event, pin: str
    ) -> tuple[Fault, ...]:
        """Return why an entry is not taken from a person, as the set-up knows them now."""
        act = acts.act_of(event, shift, self._clock())
        if not acts.TABLE[act].pin:
            return ()
        person = (setup.person(event.by) if setup else None) or shift.setup.person(event.by)
        known = self._pins()
        if isinstance(event, Signed):
            message = role_fault(person, event) or pins.role_fault(known, event.by, event.role)
            fault = Fault("by", message) if message else None
        else:
            fault = self._role_fault(known, person, event.by, (act,))
        if fault is None and known.in_use:
            fault = self._wrong_pin(known, event.by, pin)
        return (fault,) if fault else ()

    def _role_fault(
        self, known: pins.Pins, person: Person | None, by: str, wanted: Iterable[acts.Act]
    ) -> Fault | None:
        """Return that somebody may not do this by their role, once there are PINs."""
        if not known.in_use:
            return None
        if person is None:
            return Fault("by", Message("{who} is not in the set-up.", {"who": by or "–"}))
        if by not in known.hashes:
            return Fault("by", no_pin(by))
        refusals = (acts.not_allowed(act, person.role) for act in wanted)
        message = next((one for one in refusals if one is not None), None)
        message = message or pins.role_fault(known, by, person.role)
        return Fault("by", message) if message else None

    def change(
        self, setup: LineSetup | None, event: PinSet | PinReset, pin: str
    ) -> PinSet | PinReset | Fault:
        """Return the change of a PIN with the role that it is for, or why it is not made."""
        if setup is None:
            return Fault("by", Message("Describe the line first."))
        known = self._pins()
        if message := pins.change_fault(known, event, setup):
            return Fault("by", message)
        fault = self._pin_fault(event, pin)
        return fault or replace(event, role=pins.role_of(known, event, setup))

    def saver_fault(self, event: SetupSaved, pin: str) -> Fault | None:
        """Return why a set-up is not taken from who saves it: limits are not changed by anybody."""
        before, known = self._newest(event.setup.line), self._pins()
        if not known.in_use:
            return None
        by, after = event.by, event.setup
        person = (before or after).person(by)
        if fault := self._role_fault(known, person, by, acts.acts_of_set_up(before, after)):
            return fault
        if message := pins.people_fault(known, before, after, by):
            return Fault("by", message)
        return self._wrong_pin(known, by, pin)

    def register_fault(
        self, setup: LineSetup | None, before: Thing | None, event: ThingRegistered, pin: str
    ) -> Fault | None:
        """Return why something is not registered, changed or retired by who does it."""
        act = acts.act_of_registering(before, event.what)
        if not event.by.strip():
            return Fault("by", Message("Say who enters this: choose your initials."))
        known = self._pins()
        if not acts.TABLE[act].pin or not known.in_use:
            return None
        person = setup.person(event.by) if setup else None
        return self._role_fault(known, person, event.by, (act,)) or self._wrong_pin(
            known, event.by, pin
        )

    def training_fault(
        self, setup: LineSetup | None, event: CourseSet | TrainingSigned, pin: str
    ) -> Fault | None:
        """Return why a course or a sign-off is not taken from who gives it."""
        if not event.by.strip():
            return Fault("by", Message("Say who enters this: choose your initials."))
        known = self._pins()
        if not known.in_use:
            return None
        person = setup.person(event.by) if setup else None
        fault = self._role_fault(known, person, event.by, (acts.Act.TRAIN,))
        return fault or self._wrong_pin(known, event.by, pin)

    def starter_fault(self, event: ShiftStarted) -> Fault | None:
        """Return that a shift is not to run on another set-up than the one that was signed for."""
        if not self._pins().in_use or event.setup == self._newest(event.setup.line):
            return None
        return Fault(
            "", Message("The set-up was changed, or never saved: look it through, then start.")
        )

    def manager_fault(self, setup: LineSetup | None, by: str, pin: str) -> Fault | None:
        """Return why somebody is not taken for a manager here and now."""
        known = self._pins()
        if setup is None or not pins.is_manager(known, setup.person(by)):
            return Fault("by", Message("Only a manager does this."))
        return self._wrong_pin(known, by, pin) if known.in_use else None

    def _newest(self, line: str) -> LineSetup | None:
        """Return the newest set-up of a line."""
        saved = (one.event for one in reversed(self._entries()))
        of = (one.setup for one in saved if isinstance(one, SetupSaved))
        return next((setup for setup in of if setup.line == line), None)

    def _pins(self) -> pins.Pins:
        site = self._entries()
        if site is not self._site or not isinstance(site, tuple):
            self._site, self._known = site, pins.pins_of(site)
        return self._known

    def _pin_fault(self, event: Event, pin: str) -> Fault | None:
        known = self._pins()
        return self._wrong_pin(known, event.by, pin) if pins.asks(known, event) else None

    def _wrong_pin(self, known: pins.Pins, by: str, pin: str) -> Fault | None:
        now = self._clock()
        who: dict[str, str | int] = {"who": by}
        kept = known.hashes.get(by)
        if not self.judges:
            return Fault("pin", Message("This window only reads: ask in the one that writes."))
        if kept is None:
            return Fault("by", no_pin(by))
        if message := pins.waiting(known, by, now) or pins.waiting(self._tried(now), by, now):
            return Fault("pin", message)
        if not pin:
            return Fault("pin", Message("Enter your PIN."))
        if not pins.is_pin(pin, kept):
            if self._elapsed_s is not None:
                self._wrong_at_s.setdefault(by, []).append(self._elapsed_s())
            self._append(PinMistaken(at=now, by=by))
            return Fault("pin", Message("This is not the PIN of {who}.", {**who}))
        return None

    def _tried(self, now: datetime) -> pins.Pins:
        """Return the wrong tries since the program was started, whatever became of its clock."""
        elapsed_s = self._elapsed_s() if self._elapsed_s is not None else 0.0
        tries = {
            who: tuple(now - timedelta(seconds=elapsed_s - at_s) for at_s in wrong)
            for who, wrong in self._wrong_at_s.items()
        }
        return pins.Pins({}, frozenset(), {}, tries)


def no_pin(by: str) -> Message:
    """Say that somebody can't do what is done with a PIN."""
    return Message("{who} has no PIN yet: choose one in the menu.", {"who": by})
