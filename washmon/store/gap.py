"""A time in which a server does not answer: what is entered meanwhile is kept on this computer."""

import threading
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from washmon.line.events import Event
from washmon.line.journal import Entry, extend
from washmon.store import postgres
from washmon.store.errors import NotKnown, StoreUnavailable, Unreachable, told
from washmon.store.outbox import Outbox
from washmon.store.place import Server
from washmon.store.writing import Writing

PROBE_EVERY_S = 3.0
SENT = "The server answers again: everything that was kept on this computer is saved there."


class Gap:
    """Open while the server does not answer, or until what was kept is sent.

    Whether it answers again is asked on a thread of its own, so that nobody waits for it.
    """

    def __init__(self, place: Server, folder: Path) -> None:
        """Take up what an earlier program kept.

        Raises:
            StoreUnavailable: the folder can't be written.
        """
        self._place = place
        self._outbox = Outbox(folder, place)
        self._back = threading.Event()
        self._closed = threading.Event()
        self._asking: threading.Thread | None = None
        self.is_open = len(self._outbox) > 0
        if self.is_open:
            self._back.set()  # the database was opened a moment ago

    @property
    def said(self) -> str:
        """What the shed is told while it is open."""
        count = len(self._outbox)
        what = "One entry is" if count == 1 else f"{count} entries are"
        kept = f" {what} kept on this computer, not yet on the server." if count else ""
        return (
            f"The database {self._place.name} does not answer.{kept} Go on as usual: what you "
            "enter is kept here and sent when it answers again."
        )

    def begin(self) -> None:
        """Stop asking the server for anything until it answers again."""
        self.is_open = True
        self._back.clear()
        if self._asking is None or not self._asking.is_alive():
            self._asking = threading.Thread(target=self._ask, name="probe", daemon=True)
            self._asking.start()

    def append_or_keep(
        self,
        writing: Writing,
        chain: str,
        last: Entry | None,
        events: Sequence[Event],
        at: datetime,
    ) -> tuple[Entry, ...]:
        """Add events to a chain on the server, or keep them here until it answers.

        Args:
            writing: what adds them there.
            chain: the shift they belong to, or the site.
            last: the entry of the chain that they come after, if it was ever seen.
            events: what happened, in order.
            at: when it is written down.

        Raises:
            StoreUnavailable: nothing was written, here or there.
        """
        if self.is_open:
            return self.keep(chain, last, events, at)
        try:
            with told(self._place):
                return writing.append(chain, events, at)
        except NotKnown:
            if writing.doubt is None:
                raise
            entries = writing.doubt.entries
            self._outbox.keep(chain, entries)
            writing.doubt = None  # it is looked for when it is sent
            self.begin()
            return entries
        except Unreachable:
            self.begin()
            return self.keep(chain, last, events, at)

    def keep(
        self, chain: str, last: Entry | None, events: Sequence[Event], at: datetime
    ) -> tuple[Entry, ...]:
        """Keep events that come after the last entry of a chain.

        Raises:
            Unreachable: the chain was never seen, so their place is not known.
            StoreUnavailable: they could not be kept.
        """
        if last is None:
            raise Unreachable(
                f"The database {self._place.name} does not answer, so this was not saved. A shift "
                "that runs goes on; this has to wait until the server answers again."
            )
        entries = tuple(entry for entry, _ in extend(chain, last, events, at))
        self._outbox.keep(chain, entries)
        return entries

    def mend(self, writing: Writing) -> str:
        """Send what was kept, if the server answers; return what is to be told."""
        if not self._back.is_set():
            return self.said
        kept = len(self._outbox)
        try:
            with told(self._place):
                self._outbox.send(writing.send)
        except StoreUnavailable as trouble:
            writing.doubt = None  # it is looked for when it is sent again
            self.begin()
            gone = isinstance(trouble, Unreachable | NotKnown)
            return self.said if gone else f"{self.said} It refuses what was kept: {trouble}"
        self.is_open = False
        return SENT if kept else ""

    def close(self) -> None:
        """Stop asking, and leave what waits for the next start."""
        self._closed.set()
        self._outbox.close()

    def _ask(self) -> None:
        while not self._closed.wait(PROBE_EVERY_S):
            if postgres.answers(self._place):
                self._back.set()
                return
