"""A time in which a server does not answer: what is entered meanwhile is kept on this computer.

Entries that a server did not take: kept on this computer, and sent in order when it answers.

Each line of the file is one entry with the place and hash that it gets if nobody else has written
its shift meanwhile. One whose answer was lost is kept, too: it is known again by its body and the
moment at which it was written down, and so is never there twice.
"""

import threading
from collections.abc import Callable, Sequence
from contextlib import suppress
from datetime import datetime
from hashlib import sha256
from pathlib import Path

import msgspec
from filelock import FileLock
from msgspec import Struct

from washmon.line.events import Corrected, Event, HoldPlaced, HoldReleased
from washmon.line.flag_events import FlagsChanged
from washmon.line.journal import Entry, decode, encode, extend
from washmon.store import postgres
from washmon.store.engine import make_folder, take_lock
from washmon.store.errors import (
    NotKnown,
    Place,
    StoreInUse,
    StoreUnavailable,
    Unreachable,
    cannot_write,
    told,
)
from washmon.store.place import Server
from washmon.store.writing import Writing
from washmon.whole_file import OWN, whole_file

Send = Callable[[str, Event, datetime, int], Entry]
"""Adds an entry to a chain unless it is there, from a place on; returns it as it is there."""


class WaitingEntry(Struct, frozen=True):
    """An entry that waits, with the place that it had when it was made."""

    chain: str
    seq: int
    recorded_at: str
    body: msgspec.Raw
    hash: str


_lines = msgspec.json.Decoder(WaitingEntry)


class Outbox:
    """The entries that one running program keeps for one server.

    It takes up what programs that ended before left, and each file has one program at a time.
    """

    def __init__(self, folder: Path, place: Place) -> None:
        """Open a file of its own.

        Raises:
            StoreUnavailable: the folder can't be written.
        """
        digest = sha256(str(place).encode("utf-8", "replace")).hexdigest()[:16]
        self._name = f"outbox-{digest}"
        self._waiting: list[WaitingEntry] = []
        with told(folder):
            make_folder(folder)
            self.path, self._lock = self._own(folder)
            self._waiting = _read(self.path)
            self._take_up(folder)

    def __len__(self) -> int:
        return len(self._waiting)

    def _own(self, folder: Path) -> tuple[Path, FileLock]:
        """Return the first file that no other program has, and the right to it."""
        number = 1
        while True:
            path = folder / f"{self._name}-{number}.jsonl"
            try:
                return path, take_lock(path)
            except StoreInUse:
                number += 1

    def _take_up(self, folder: Path) -> None:
        """Take over what programs left that ran beside another one."""
        for path in sorted(folder.glob(f"{self._name}-*.jsonl")):
            if path == self.path:
                continue
            with suppress(StoreInUse), take_lock(path):
                left = _read(path)
                self._write([*self._waiting, *left])
                self._waiting += left
                path.unlink()

    def keep(self, chain: str, entries: Sequence[Entry]) -> None:
        """Keep entries; they have reached the disk of this computer when this returns.

        Raises:
            StoreUnavailable: they have not.
        """
        made = [
            WaitingEntry(
                chain,
                one.seq,
                one.recorded_at.isoformat(),
                msgspec.Raw(encode(one.event)),
                one.hash,
            )
            for one in entries
        ]
        with told(self.path):
            self._write([*self._waiting, *made])
        self._waiting += made

    def send(self, send: Send) -> None:
        """Send what waits, in order; what was not taken stays.

        Raises:
            StoreUnavailable: the server stopped answering again.
        """
        places: dict[tuple[str, int], int] = {}
        sent = 0
        try:
            for kept in self._waiting:
                event = _renumbered(decode(bytes(kept.body)), kept.chain, places)
                at = datetime.fromisoformat(kept.recorded_at)
                places[kept.chain, kept.seq] = send(kept.chain, event, at, kept.seq).seq
                sent += 1
        finally:
            if sent:
                del self._waiting[:sent]
                with told(self.path):
                    self._write(self._waiting)

    def close(self) -> None:
        """Let go of the file; an empty one is removed."""
        if not self._waiting:
            with suppress(OSError):
                self.path.unlink()
        self._lock.release()

    def _write(self, kept: Sequence[WaitingEntry]) -> None:
        with whole_file(self.path, OWN) as file:
            file.write(b"".join(msgspec.json.encode(one) + b"\n" for one in kept))


def _read(path: Path) -> list[WaitingEntry]:
    """Return what a program left, up to a line that can't be read: that was never called kept."""
    if not path.exists():
        return []
    try:
        return [_lines.decode(line) for line in path.read_bytes().splitlines()]
    except (msgspec.DecodeError, ValueError) as error:
        raise cannot_write(path, f"what waits in it can't be read: {error}") from error


def _renumbered(event: Event, chain: str, places: dict[tuple[str, int], int]) -> Event:
    """Return an event that names the entries before it by the places that they got."""

    def now(seq: int) -> int:
        return places.get((chain, seq), seq)

    match event:
        case Corrected():
            instead = event.instead and _renumbered(event.instead, chain, places)
            return msgspec.structs.replace(event, entry=now(event.entry), instead=instead)
        case HoldPlaced():
            return msgspec.structs.replace(event, batches=tuple(map(now, event.batches)))
        case HoldReleased():
            return msgspec.structs.replace(event, hold=now(event.hold))
        case FlagsChanged():
            return msgspec.structs.replace(event, upto=now(event.upto))
        case _:
            return event


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
