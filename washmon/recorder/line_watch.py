"""All running lines of a database, followed on a thread and connections of their own; read-only."""

import threading
import time
from collections.abc import Callable
from datetime import datetime
from typing import NamedTuple

from washmon.line.fold import NotAShift, fold, step
from washmon.line.state import ShiftState
from washmon.store.errors import StoreUnavailable
from washmon.store.listening import Listening
from washmon.store.store import Store

SILENCE_S = 2.0
"""So long without hearing anything, and it is looked all the same: a file says nothing, nor does a
server that hangs."""
_SLICE_S = 0.25
"""How soon it is noticed that nobody looks any more."""


class LinesSeen(NamedTuple):
    """What runs at a moment; ``trouble`` says why something is older than that, or missing."""

    at: datetime
    shifts: tuple[ShiftState, ...]
    trouble: str = ""


class LineWatch:
    """Publishes what runs: at once after an entry of any program at a server, else every 2 s.

    ``publish`` is called on the thread that runs it. ``reader`` opens the database once more.
    """

    def __init__(
        self,
        reader: Callable[[], Store],
        publish: Callable[[LinesSeen], None],
        clock: Callable[[], datetime],
        *,
        silence_s: float = SILENCE_S,
    ) -> None:
        self._reader, self._publish, self._clock = reader, publish, clock
        self._silence_s = silence_s
        self._stop = threading.Event()
        self._known: dict[str, ShiftState] = {}

    def stop(self) -> None:
        """Have :meth:`run` end soon; nothing is published any more, and nobody has to wait."""
        self._stop.set()

    def run(self) -> None:
        """Follow until it is stopped; then the connections are given back."""
        while not self._stop.is_set():
            try:
                store = self._reader()
                try:
                    with Listening(store.place) as listening:
                        self._follow(store, listening)
                finally:
                    store.close()
            except StoreUnavailable as fault:
                self._say(str(fault))
                self._stop.wait(self._silence_s)

    def _follow(self, store: Store, listening: Listening) -> None:
        """Look, and look again whenever something was heard, or nothing for a while."""
        while not self._stop.is_set():
            self._look(store)
            until = time.monotonic() + self._silence_s
            heard = False
            while not (heard or self._stop.is_set()) and (left := until - time.monotonic()) > 0:
                if listening.hears:
                    heard = listening.wait(min(left, _SLICE_S))
                else:
                    self._stop.wait(min(left, _SLICE_S))

    def _look(self, store: Store) -> None:
        running = [row.chain for row in store.running()]
        unread = ""
        known: dict[str, ShiftState] = {}
        for chain in running:
            try:
                known[chain] = self._read(store, chain)
            except NotAShift:
                continue
            except StoreUnavailable as fault:
                if _is_gone(store):
                    raise
                unread = str(fault)  # of one line; the others go on
        self._known = known
        self._say(unread)

    def _read(self, store: Store, chain: str) -> ShiftState:
        known = self._known.get(chain)
        if known is None:
            return fold(chain, store.entries(chain))
        for entry in store.entries_from(chain, known.last_seq + 1):
            known = step(known, entry)
        return known

    def _say(self, trouble: str) -> None:
        if not self._stop.is_set():
            self._publish(LinesSeen(self._clock(), tuple(self._known.values()), trouble))


def _is_gone(store: Store) -> bool:
    """Tell whether nothing at all can be read, rather than one record."""
    try:
        store.running()
    except StoreUnavailable:
        return True
    return False
