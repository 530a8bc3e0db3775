"""How a shift begins, and how one that runs, or was kept elsewhere, is taken up."""

import re
import secrets
import unicodedata
from collections.abc import Sequence
from contextlib import suppress
from datetime import datetime

from msgspec import UNSET
from msgspec.structs import replace

from washmon.line.check import starting_faults
from washmon.line.event_base import Signature
from washmon.line.events import Corrected, Event, HandedOver, HoldReleased, ShiftStarted
from washmon.line.finding import Fault
from washmon.line.fold import fold, step
from washmon.line.instruments import remembered, tells_of_instruments
from washmon.line.journal import IMPORTED, Entry
from washmon.line.message import Message
from washmon.line.registry import registers_of
from washmon.line.setup import LineSetup
from washmon.line.site_events import SetupSaved
from washmon.line.state import ShiftState
from washmon.line.validate import faults as setup_faults
from washmon.recorder.anchoring import anchored
from washmon.recorder.answers import Answer, Failed, Refused, Saved, refused
from washmon.store.errors import ChainTaken, StoreUnavailable
from washmon.store.store import Store

_CHANCE = 5
"""Bytes of chance in a chain's name. Should two come out alike, the store lets only one begin."""
_LONGEST_LINE = 16
_WITH_A_PIN = (HoldReleased, HandedOver, Signature, Corrected)
"""What could be done only with a PIN; no log says it, and none is let in by that door."""


def setup_refusal(setup: LineSetup, saver: Fault | None = None) -> Refused | None:
    """Return what is wrong with a set-up, by field, or else with who saves it, if anything is."""
    wrong = tuple(Fault(one.path, one.message) for one in setup_faults(setup))
    wrong = wrong or ((saver,) if saver else ())
    return Refused(wrong) if wrong else None


def start_refusal(
    event: ShiftStarted, now: datetime, setup: Fault | None = None, *, running: bool
) -> Refused | None:
    """Return why a shift can't be started like this, if it can't; ``setup`` is one reason."""
    if running:
        return refused("A shift is running: end it first.")
    if (refusal := setup_refusal(event.setup)) is not None:
        return refusal
    if not event.lots:
        return refused("Name at least one lot.", "lots")
    if event.setup.person(event.by) is None:
        return refused("Choose the supervisor of this shift.", "by")
    found = starting_faults(event, now) or ((setup,) if setup else ())
    return Refused(found) if found else None


def new_chain(event: ShiftStarted) -> str:
    """Return a name for a new shift's chain: when it began, its line, and a part by chance.

    Two lines of one server may begin in the same moment, and a clock may be set back.
    """
    line = unicodedata.normalize("NFKD", event.setup.line).encode("ascii", "ignore").decode()
    line = re.sub(r"[^a-z0-9]+", "-", line.casefold()).strip("-")[:_LONGEST_LINE] or "line"
    return f"shift-{event.at.strftime('%Y%m%dT%H%M%S%f')}-{line}-{secrets.token_hex(_CHANCE)}"


def begin_chain(
    store: Store, event: ShiftStarted, now: datetime, line: str | None
) -> tuple[str, Entry]:
    """Journal the beginning of a shift on a chain that nobody else has.

    Raises:
        StoreUnavailable: nothing was written.
    """
    kept = registers_of(store.site()).for_a_shift()
    registers = kept if kept.things else UNSET
    event = replace(event, after=store.last_shift_head(line), registers=registers)
    while True:
        chain = new_chain(event)
        with suppress(ChainTaken):
            (entry,) = store.begin(chain, [anchored(store, chain, event)], now)
            return chain, entry


def import_shift(store: Store, chain: str, events: Sequence[Event], now: datetime) -> Answer:
    """Journal a whole past shift that was kept elsewhere; all of it or nothing."""
    if store.read_only:
        return Failed(Message("This window only reads: enter it in the one that writes."))
    if not chain.startswith(IMPORTED) or any(isinstance(one, _WITH_A_PIN) for one in events):
        return refused("A log tells what was measured and done: decisions are entered by hand.")
    try:
        first, *rest = events
        if isinstance(first, ShiftStarted):
            first = anchored(store, chain, replace(first, after=store.last_shift_head()))
        return Saved(chain, store.begin(chain, [first, *rest], now)[-1])
    except ChainTaken:
        return refused("This shift was imported before.")
    except StoreUnavailable as trouble:
        return Failed(Message("{what}", {"what": str(trouble)}))


def newest_setup(store: Store, line: str | None) -> LineSetup | None:
    """Return the newest set-up of a line, else of any."""
    saved = store.setups([line]) if line else []
    return saved[0].setup if saved else store.latest_setup()


def told_next(store: Store, shift: ShiftState, event: Event) -> SetupSaved | None:
    """Return the saving of a line's set-up with what an event told of instruments, if it is news.

    It is read anew each time: another writer of the line may have saved one in the meantime.
    """
    if not tells_of_instruments(shift, event):
        return None  # nearly all entries: for them the set-ups are not read
    line = shift.setup.line
    known = next((one.setup for one in store.setups([line])), None)
    after = None if known is None else remembered(known, shift, event)
    if after is None or after == known:
        return None
    return SetupSaved(at=event.at, by=event.by, setup=after)


def resume(store: Store, line: str | None, known: ShiftState | None) -> ShiftState | None:
    """Return the shift that runs on a line, else the known one as it has ended since.

    Of one that is known already, only what is new is folded.
    """
    chain = store.running_shift(line)
    if chain is None and known is not None:
        chain = known.chain
    if chain is None:
        return known
    entries = store.entries(chain)
    if known is None or known.chain != chain:
        return fold(chain, entries)
    for entry in entries[len(known.entries) :]:
        known = step(known, entry)
    return known


def refresh(store: Store, known: ShiftState | None) -> ShiftState | None:
    """Return a shift with what another program entered into it in a shared database."""
    if known is None or store.head(known.chain) == known.entries[-1].hash:
        return known
    return fold(known.chain, store.entries(known.chain))
