"""Who may sign or change a PIN: asked of the site's chain at the moment it matters.

Another laptop may have set a PIN a second ago, so nothing is remembered here.
"""

from collections.abc import Callable, Iterable
from datetime import datetime, timedelta

from msgspec.structs import replace

from washmon.line import pins
from washmon.line.check import Fault
from washmon.line.events import Event, PinMistaken, PinReset, PinSet, SetupSaved
from washmon.line.journal import Entry
from washmon.line.message import Message
from washmon.line.setup import LineSetup
from washmon.line.signing import Signed, role_fault
from washmon.line.state import ShiftState


class Gate:
    """Lets people through, or says why not; a wrong PIN is journaled.

    ``entries`` reads the site's chain, ``append`` writes to it. ``elapsed_s`` counts seconds that
    nobody sets, so that moving the ``clock`` lifts no wait; without it the clock is trusted. Who
    can't journal a wrong PIN ``judges`` none, or guessing would be free.
    """

    def __init__(
        self,
        entries: Callable[[], Iterable[Entry]],
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

    def signer_faults(
        self, setup: LineSetup | None, shift: ShiftState, event: Event, pin: str
    ) -> tuple[Fault, ...]:
        """Return why a signature is not taken from a person, as the set-up knows them now."""
        if not isinstance(event, Signed):
            return ()
        person = (setup.person(event.by) if setup else None) or shift.setup.person(event.by)
        message = role_fault(person, event)
        message = message or pins.role_fault(self._pins(), event.by, event.role)
        fault = Fault("by", message) if message else self._pin_fault(event, pin)
        return (fault,) if fault else ()

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
        return self._pin_fault(event, pin)

    def manager_fault(self, setup: LineSetup | None, by: str, pin: str) -> Fault | None:
        """Return why somebody is not taken for a manager here and now."""
        known = self._pins()
        if setup is None or not pins.is_manager(known, setup.person(by)):
            return Fault("by", Message("Only a manager does this."))
        return self._wrong_pin(known, by, pin) if known.in_use else None

    def _pins(self) -> pins.Pins:
        return pins.pins_of(self._entries())

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
            return Fault("by", Message("{who} has no PIN yet: choose one in the menu.", {**who}))
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
