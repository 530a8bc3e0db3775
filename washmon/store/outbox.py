"""Entries that a server did not take: kept on this computer, and sent in order when it answers.

Each line of the file is one entry with the place and hash that it gets if nobody else has written
its shift meanwhile. One whose answer was lost is kept, too: it is known again by its body and the
moment at which it was written down, and so is never there twice.
"""

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
from washmon.line.journal import Entry, decode, encode
from washmon.store.engine import make_folder, take_lock
from washmon.store.errors import Place, StoreInUse, cannot_write, told
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
                self.path.unlink(missing_ok=True)
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
