"""A small file outside of the database that remembers where the chains ended: the witness.

Whoever cuts entries off a journal, and makes everything in it fit, has not touched the witness. It
knows nothing of who replaces both.
"""

import hashlib
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import msgspec
from msgspec import Struct

from washmon.line.journal import SITE
from washmon.store.errors import Place
from washmon.store.journal_check import JournalFault
from washmon.store.reading import Reading
from washmon.whole_file import OWN, whole_file

MOST_CHAINS = 400
"""Those that were written last; older ones are anchored in these many times over."""
_NEWEST = 5


class End(Struct, frozen=True):
    """Where a chain ended when it was looked at."""

    seq: int
    hash: str
    seen_at: datetime


class _Kept(Struct, frozen=True):
    database: str
    ends: dict[str, End]


class Witness:
    """The memory of one database, in a folder of the user's."""

    def __init__(self, folder: Path, place: Place) -> None:
        self._database = str(place)
        digest = hashlib.sha256(self._database.encode("utf-8", "replace")).hexdigest()[:16]
        self.path = folder / f"witness-{digest}.json"

    def ends(self) -> dict[str, End]:
        """Return what is remembered; empty where there is nothing, or nothing that can be read."""
        try:
            kept = msgspec.json.decode(self.path.read_bytes(), type=_Kept)
        except (OSError, ValueError):
            return {}
        return dict(kept.ends) if kept.database == self._database else {}

    def look(self, store: Reading, now: datetime) -> None:
        """Remember where the chains end now; what does not fit any more stays as it was.

        Raises:
            OSError: the folder can't be written.
            StoreUnavailable: the database can't be read.
        """
        known = self.ends()
        newest = [row.chain for row in store.shifts(limit=_NEWEST)]
        running = [chain] if (chain := store.running_shift()) else []
        for chain in dict.fromkeys((SITE, *newest, *running, *known)):
            old, end = known.get(chain), store.end(chain)
            if end is None or (old is not None and not _fits(store, chain, old)):
                continue
            if old is None or old.seq != end[0]:
                known.pop(chain, None)
                known[chain] = End(*end, seen_at=now)
        newest_last = list(known.items())[-MOST_CHAINS:]
        self._write(_Kept(self._database, dict(newest_last)))

    def forget(self) -> None:
        """Begin anew, as after a backup was put back, which may lack what was remembered."""
        self.path.unlink(missing_ok=True)

    def faults(self, store: Reading, only: str | None = None) -> Iterator[JournalFault]:
        """Yield what was there once and is not any more, of all chains or of one.

        Raises:
            StoreUnavailable: the database can't be read.
        """
        for chain, end in self.ends().items():
            if only in {None, chain} and not _fits(store, chain, end):
                what = "the site's chain" if chain == SITE else f"shift {chain}"
                yield JournalFault(
                    f"Entry {end.seq} of {what} is missing or was changed: it was seen on "
                    f"{end.seen_at:%Y-%m-%d %H:%M}.",
                    chain,
                    end.seq,
                )

    def _write(self, kept: _Kept) -> None:
        self.path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        with whole_file(self.path, OWN) as file:
            file.write(msgspec.json.encode(kept))


def _fits(store: Reading, chain: str, end: End) -> bool:
    return store.hash_at(chain, end.seq) == end.hash
