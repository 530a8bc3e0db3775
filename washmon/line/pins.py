"""PINs: how they are kept, who may set one, and how guessing is slowed down.

The journal holds argon2id hashes (RFC 9106), never a PIN. A PIN keeps colleagues from signing for
each other; it does not stop whoever can copy the database file, because four digits are soon
guessed there.

Three wrong tries are free. Each further one within an hour doubles the wait after it, from one
minute to a quarter of an hour. Tries are journaled, so a restart does not shorten the wait.
"""

from collections.abc import Iterable
from datetime import datetime, timedelta
from functools import cache
from typing import TYPE_CHECKING

from msgspec import Struct

from washmon.line.event_base import Signature
from washmon.line.events import Event
from washmon.line.journal import Entry
from washmon.line.message import Message, Moment
from washmon.line.setup import LineSetup, Person, Role
from washmon.line.site_events import PinMistaken, PinReset, PinSet, SetupSaved

if TYPE_CHECKING:
    from argon2 import PasswordHasher

LEAST_LENGTH = 4
MOST_LENGTH = 32
FREE_TRIES = 3
FIRST_WAIT = timedelta(minutes=1)
LONGEST_WAIT = timedelta(minutes=15)
REMEMBERED = timedelta(hours=1)
"""So long a wrong try counts."""


class Pins(Struct, frozen=True):
    """The PINs of a site, by initials."""

    hashes: dict[str, str] = {}
    freed: frozenset[str] = frozenset()
    """Whose PIN was taken away, so that they may choose a new one."""
    roles: dict[str, Role | None] = {}
    """For which role each PIN is, or will be."""
    mistakes: dict[str, tuple[datetime, ...]] = {}

    @property
    def in_use(self) -> bool:
        """Whether signing asks for a PIN; a shed that never set one signs with initials."""
        return bool(self.hashes or self.freed)

    def open_again(self, who: str, now: datetime) -> datetime | None:
        """Return until when no PIN is taken from somebody, or None."""
        # Tries from a clock that was wrong by years must not lock anybody out for years.
        recent = [at for at in self.mistakes.get(who, ()) if now - REMEMBERED < at <= now]
        beyond = len(recent) - FREE_TRIES
        if beyond < 0:
            return None
        until = max(recent) + min(FIRST_WAIT * 2 ** min(beyond, 8), LONGEST_WAIT)
        return until if until > now else None


def pins_of(entries: Iterable[Entry]) -> Pins:
    """Return the PINs as the site's chain tells them."""
    hashes: dict[str, str] = {}
    freed: set[str] = set()
    roles: dict[str, Role | None] = {}
    mistakes: dict[str, tuple[datetime, ...]] = {}
    for entry in entries:
        match entry.event:
            case PinSet(who=who, hash=digest, role=role):
                hashes[who] = digest
                roles[who] = role
                freed.discard(who)
                mistakes.pop(who, None)
            case PinReset(who=who, role=role):
                hashes.pop(who, None)
                roles[who] = role
                freed.add(who)
                mistakes.pop(who, None)
            case PinMistaken(by=who):
                # When it was written down: nobody's word is taken for it.
                mistakes[who] = (*mistakes.get(who, ()), entry.recorded_at)
    return Pins(hashes, frozenset(freed), roles, mistakes)


@cache
def _hasher() -> "PasswordHasher":
    from argon2 import PasswordHasher  # noqa: PLC0415 - start-up is measured
    from argon2.profiles import RFC_9106_LOW_MEMORY  # noqa: PLC0415 - the same

    return PasswordHasher.from_parameters(RFC_9106_LOW_MEMORY)


def hash_pin(pin: str) -> str:
    """Return what is kept of a PIN; takes some tens of milliseconds on purpose."""
    return _hasher().hash(pin)


def is_pin(pin: str, kept: str) -> bool:
    """Tell whether this is the PIN that a hash was made of; False for a hash that is none."""
    from argon2.exceptions import InvalidHashError, VerificationError  # noqa: PLC0415 - as above

    try:
        return _hasher().verify(kept, pin)
    except (InvalidHashError, VerificationError):
        return False


def weak(pin: str) -> Message | None:
    """Return why this is no PIN to choose."""
    if len(pin) < LEAST_LENGTH:
        return Message("A PIN has at least {least} characters.", {"least": LEAST_LENGTH})
    if len(pin) > MOST_LENGTH:
        return Message("A PIN has at most {most} characters.", {"most": MOST_LENGTH})
    if len(set(pin)) == 1:
        return Message("A PIN of one character repeated is soon guessed: choose another.")
    if any(pin in digits * 4 for digits in ("0123456789", "9876543210")):
        return Message("A PIN of digits in order is soon guessed: choose another.")
    return None


def waiting(pins: Pins, who: str, now: datetime) -> Message | None:
    """Return that it is too early for another try, if it is."""
    until = pins.open_again(who, now)
    if until is None:
        return None
    return Message(
        "Too many wrong PINs for {who}: try again at {time}, or let a manager reset it.",
        {"who": who, "time": Moment(until + timedelta(seconds=59))},
    )


def change_fault(pins: Pins, event: PinSet | PinReset, setup: LineSetup) -> Message | None:
    """Return why this person can't change that PIN, whatever PIN they give."""
    if setup.person(event.who) is None:
        return Message("{who} is not in the set-up.", {"who": event.who or "–"})
    manages = is_manager(pins, setup.person(event.by))
    if isinstance(event, PinReset):
        return _reset_fault(pins, event, manages=manages)
    return _set_fault(pins, event, manages=manages)


def _reset_fault(pins: Pins, event: PinReset, *, manages: bool) -> Message | None:
    if not manages:
        return Message("Only a manager resets a PIN.")
    if event.who not in pins.hashes:
        return Message("{who} has no PIN.", {"who": event.who})
    return None


def _set_fault(pins: Pins, event: PinSet, *, manages: bool) -> Message | None:
    if event.by == event.who and event.who in pins.roles:
        return None
    if not manages:
        return Message("A first PIN is set by a manager.")
    if event.by == event.who:
        return None
    if event.by not in pins.hashes:
        return Message("Set your own PIN first.")
    if event.who in pins.hashes:
        return Message("{who} has a PIN: reset it first.", {"who": event.who})
    return None


def role_of(pins: Pins, event: PinSet | PinReset, setup: LineSetup) -> Role | None:
    """Return for which role a PIN will be: a person keeps theirs, a manager takes the set-up's."""
    if event.by == event.who and event.who in pins.roles:
        return pins.roles[event.who]
    person = setup.person(event.who)
    return person.role if person else None


def role_fault(pins: Pins, by: str, role: Role) -> Message | None:
    """Return that a PIN was given for another role than somebody would sign as."""
    if not pins.in_use or by not in pins.hashes or pins.roles.get(by) is role:
        return None
    return Message(
        "The role of {who} was changed after the PIN was set: a manager resets the PIN first.",
        {"who": by},
    )


def people_fault(pins: Pins, before: LineSetup | None, after: LineSetup, by: str) -> Message | None:
    """Return that a set-up would take somebody their own role, or the shed its last manager."""
    own = before.person(by) if before else None
    now = after.person(by)
    if own is not None and (now is None or now.role is not own.role):
        return Message("Nobody takes away or changes their own role: another manager does it.")
    if not any(is_manager(pins, one) for one in after.people):
        return Message("One manager with a PIN stays in the set-up: else nobody could change it.")
    return None


def asks(pins: Pins, event: Event) -> bool:
    """Tell whether an event is only taken with the PIN of who enters it."""
    if isinstance(event, Signature | SetupSaved):
        return pins.in_use
    return isinstance(event, PinSet | PinReset) and event.by in pins.hashes


def is_manager(pins: Pins, person: Person | None) -> bool:
    """Tell whether somebody is a manager by the set-up, and by their PIN once there are PINs."""
    if person is None or person.role is not Role.MANAGER:
        return False
    if not pins.in_use:
        return True
    by = person.initials
    return by in pins.hashes and pins.roles[by] is Role.MANAGER
