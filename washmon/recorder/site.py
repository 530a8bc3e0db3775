"""What is journaled on the site's chain: set-ups and PINs."""

from collections.abc import Callable

from msgspec.structs import replace

from washmon.line.events import Event
from washmon.line.finding import Fault
from washmon.line.gate import Gate
from washmon.line.journal import SITE, Entry
from washmon.line.message import Message
from washmon.line.setup import LineSetup
from washmon.line.setup_changes import stamped
from washmon.line.site_events import PinReset, PinSet, SetupSaved
from washmon.recorder.answers import Answer, Refused, Saved
from washmon.recorder.starting import setup_refusal
from washmon.recorder.timekeeping import Timekeeper
from washmon.store.store import Store


def gate_of(store: Store, append: Callable[[Event], Entry], time: Timekeeper) -> Gate:
    """Return what asks for PINs: nobody sets the seconds that it waits."""
    judges = not store.read_only
    return Gate(lambda: store.entries(SITE), append, time.clock, time.elapsed_s, judges=judges)


def vouch(gate: Gate, setup: LineSetup | None, by: str, pin: str) -> Fault | None:
    """Return why somebody is not taken for a manager."""
    if not gate.judges:  # a wrong PIN could not be journaled, and guessing would be free
        return Fault("pin", Message("This window only reads: ask in the one that writes."))
    return gate.manager_fault(setup, by, pin)


def save_setup(
    gate: Gate,
    known: LineSetup | None,
    event: SetupSaved,
    pin: str,
    append: Callable[[Event], Entry],
) -> tuple[Answer, LineSetup | None]:
    """Journal a set-up; return the answer, and the set-up that holds from now on.

    Raises:
        StoreUnavailable: nothing was saved.
    """
    if (refusal := setup_refusal(event.setup, gate.saver_fault(event, pin))) is not None:
        return refusal, known
    setup = stamped(known, event.setup, event.by, event.at.date())
    return Saved(SITE, append(replace(event, setup=setup))), setup


def change_pin(
    gate: Gate,
    setup: LineSetup | None,
    event: PinSet | PinReset,
    pin: str,
    append: Callable[[Event], Entry],
) -> Answer:
    """Journal a new PIN, or that one was taken away.

    Raises:
        StoreUnavailable: nothing was saved.
    """
    admitted = gate.change(setup, event, pin)
    if isinstance(admitted, Fault):
        return Refused((admitted,))
    return Saved(SITE, append(admitted))
