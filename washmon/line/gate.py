"""Who may sign or change a PIN: asked of the site's chain at the moment it matters.

Another laptop may have set a PIN a second ago, so the chain is asked each time; what it says is
worked out once for as long as nothing is added.

Which role may do what, once PINs are in use, and what asks for the PIN of who does it.

The recorder asks this of whatever is entered, by whichever way it comes. In a shed without PINs
initials stand, and only the checks of :mod:`washmon.line.check` hold.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import datetime, timedelta
from enum import StrEnum
from typing import NamedTuple

from msgspec.structs import replace

from washmon.line import pins
from washmon.line.check import Fault
from washmon.line.events import (
    ClockChanged,
    Corrected,
    Event,
    HandedOver,
    HoldReleased,
    ShiftReviewed,
    ShiftSigned,
    ShiftStarted,
)
from washmon.line.journal import Entry
from washmon.line.message import Message
from washmon.line.registers import Container, Pack, Thing
from washmon.line.setup import DECIDERS, LineSetup, Person, Role, Tank
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

UNDO_LASTS = timedelta(minutes=2)


class Act(StrEnum):
    """What somebody does, as far as it matters who may."""

    ENTER = "enter readings, batches, doses, water, notes, holds; begin and end a shift"
    UNDO = "undo one's own newest entry within two minutes"
    CORRECT_OWN = "correct an entry of one's own"
    CORRECT = "correct an entry of somebody else"
    RELEASE = "decide about held product, or correct a batch on hold"
    HAND_OVER = "hand a shift over"
    SIGN = "sign a shift"
    REVIEW = "review a shift"
    OPEN = "register a pack or container that was opened"
    REGISTER = "register instruments and papers; change or retire what is registered"
    TRAIN = "sign off training; set the course of scenarios"
    SET_UP = "change the set-up: products, prices, volumes, instruments"
    LIMITS = "change limits, schedules and rules of the set-up; set up another line"
    PEOPLE = "change who is in the set-up, and their roles; set and reset PINs"


class May(NamedTuple):
    """Who may do something, and whether it is done with the PIN of who does."""

    roles: frozenset[Role]
    pin: bool


_ALL = frozenset(Role)
_LEADS = frozenset({Role.SUPERVISOR, Role.MANAGER})
_MANAGES = frozenset({Role.MANAGER})
TABLE = {
    Act.ENTER: May(_ALL, pin=False),
    Act.UNDO: May(_ALL, pin=False),
    Act.CORRECT_OWN: May(_ALL, pin=True),
    Act.CORRECT: May(_LEADS, pin=True),
    Act.RELEASE: May(DECIDERS, pin=True),
    Act.HAND_OVER: May(_LEADS, pin=True),
    Act.SIGN: May(_LEADS, pin=True),
    Act.REVIEW: May(_MANAGES, pin=True),
    Act.OPEN: May(_ALL, pin=False),
    Act.REGISTER: May(_LEADS, pin=True),
    Act.TRAIN: May(_LEADS, pin=True),
    Act.SET_UP: May(_LEADS, pin=True),
    Act.LIMITS: May(_MANAGES, pin=True),
    Act.PEOPLE: May(_MANAGES, pin=True),
}
"""Common practice, no published source; 21 CFR 112.161(b) and 117.190 leave the roles to the farm.
One's own PIN is changed by its owner, whatever the role (:mod:`washmon.line.pins`)."""


_ACTS: dict[type[Event], Act] = {
    HoldReleased: Act.RELEASE,
    HandedOver: Act.HAND_OVER,
    ClockChanged: Act.CORRECT,
    ShiftSigned: Act.SIGN,
    ShiftReviewed: Act.REVIEW,
    PinSet: Act.PEOPLE,
    PinReset: Act.PEOPLE,
}


def act_of(event: Event, shift: ShiftState, now: datetime) -> Act:
    """Return what an entry into a shift is, seen at the moment at which it comes."""
    if isinstance(event, Corrected):
        return _correcting(event, shift, now)
    return _ACTS.get(type(event), Act.ENTER)


def _correcting(event: Corrected, shift: ShiftState, now: datetime) -> Act:
    entry = next((one for one in shift.entries if one.seq == event.entry), None)
    if entry is None:
        return Act.CORRECT
    if _is_held(entry.seq, shift):
        return Act.RELEASE
    own = entry.event.by == event.by
    newest = next(one for one in reversed(shift.entries) if one.event.by == entry.event.by)
    fresh = timedelta(0) <= now - entry.recorded_at <= UNDO_LASTS
    if event.instead is None and own and fresh and newest is entry:
        return Act.UNDO
    return Act.CORRECT_OWN if own else Act.CORRECT


def _is_held(seq: int, shift: ShiftState) -> bool:
    """Tell whether an entry is a batch on which a hold is: a correction could let it go."""
    return any(seq in hold.placed.batches for hold in shift.open_holds)


def acts_of_set_up(before: LineSetup | None, after: LineSetup) -> Iterator[Act]:
    """Yield what saving a set-up comes to; ``before`` is the newest of the same line, if any."""
    yield Act.SET_UP
    if before is None or before.line != after.line or _limits(before) != _limits(after):
        yield Act.LIMITS
    if before is None or before.people != after.people:
        yield Act.PEOPLE


def act_of_registering(before: Thing | None, after: Thing) -> Act:
    """Return what it is to register something; ``before`` is what its key stood for."""
    opened = before is None and isinstance(after, Pack | Container)
    return Act.OPEN if opened else Act.REGISTER


def not_allowed(act: Act, role: Role) -> Message | None:
    """Return that somebody of this role may not do something, if so."""
    if role in TABLE[act].roles:
        return None
    if TABLE[act].roles == _MANAGES:
        return Message(
            {
                Act.REVIEW: "Only a manager reviews: choose one.",
                Act.PEOPLE: "Only a manager changes who is in the set-up, and their roles.",
            }.get(act, "Only a manager changes limits, schedules and rules of a line.")
        )
    return Message(
        {
            Act.RELEASE: "Only a supervisor or a manager decides about held product.",
            Act.HAND_OVER: "Only a supervisor or a manager hands a shift over.",
            Act.SIGN: "Only a supervisor or a manager signs: choose one.",
            Act.SET_UP: "Only a supervisor or a manager changes the set-up.",
            Act.REGISTER: "Only a supervisor or a manager changes what is registered.",
        }.get(act, "Only a supervisor or a manager corrects what somebody else entered.")
    )


def _limits(setup: LineSetup) -> tuple[object, ...]:
    """Return all of a set-up that decides what is good water, and when it is looked at."""
    off = frozenset((one.rule, one.reason) for one in setup.rules_off)
    tanks = {tank.number: _bare(tank) for tank in setup.tanks}
    return tanks, setup.margins, off, setup.meter_check_days, setup.calendar


def _bare(tank: Tank) -> Tank:
    """Return a tank without what is measured at it and named as one likes."""
    return replace(tank, name="", volume_l=0.0, measured=None, acid=None, second_volume_l=None)


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
        act = act_of(event, shift, self._clock())
        if not TABLE[act].pin:
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
        self, known: pins.Pins, person: Person | None, by: str, wanted: Iterable[Act]
    ) -> Fault | None:
        """Return that somebody may not do this by their role, once there are PINs."""
        if not known.in_use:
            return None
        if person is None:
            return Fault("by", Message("{who} is not in the set-up.", {"who": by or "–"}))
        if by not in known.hashes:
            return Fault("by", no_pin(by))
        refusals = (not_allowed(act, person.role) for act in wanted)
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
        if fault := self._role_fault(known, person, by, acts_of_set_up(before, after)):
            return fault
        if message := pins.people_fault(known, before, after, by):
            return Fault("by", message)
        return self._wrong_pin(known, by, pin)

    def register_fault(
        self, setup: LineSetup | None, before: Thing | None, event: ThingRegistered, pin: str
    ) -> Fault | None:
        """Return why something is not registered, changed or retired by who does it."""
        act = act_of_registering(before, event.what)
        if not event.by.strip():
            return Fault("by", Message("Say who enters this: choose your initials."))
        known = self._pins()
        if not TABLE[act].pin or not known.in_use:
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
        fault = self._role_fault(known, person, event.by, (Act.TRAIN,))
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
