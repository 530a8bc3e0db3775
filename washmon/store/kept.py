"""What was made of ended shifts, kept on this computer so that it need not be made again.

It lies beside the witness, apart from the database, and may be deleted at any time: whatever goes
wrong with it costs only the time to make things anew.
"""

import contextlib
import hashlib
import os
import sqlite3
import zlib
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import NamedTuple, Self

from washmon.store.errors import Place

_TABLE = """
CREATE TABLE IF NOT EXISTS made (
    what TEXT, chain TEXT, mark TEXT, head TEXT, rows INTEGER, text BLOB,
    PRIMARY KEY (what, chain)
) WITHOUT ROWID
"""
_AT_ONCE = 200
_LEVEL = 4


class KeptText(NamedTuple):
    """A text that was made of a shift whose journal ended with ``head``."""

    head: str
    rows: int
    text: str


class Kept:
    """The memory of one database, in a folder of the user's; without a folder there is none.

    ``mark`` stands for the program: what another one made is forgotten. Used by one thread.
    """

    def __init__(self, folder: Path | None, place: Place, mark: str) -> None:
        self._mark = mark
        self._db: sqlite3.Connection | None = None
        if folder is not None:
            digest = hashlib.sha256(str(place).encode("utf-8", "replace")).hexdigest()[:16]
            self.path = folder / f"made-{digest}.db"
            with self._forgiving():
                self._open(self.path)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the file."""
        if self._db is not None:
            self._db.close()
            self._db = None

    def texts(self, what: str, chains: Sequence[str]) -> dict[str, KeptText]:
        """Return by chain what is kept of this kind."""
        found: dict[str, KeptText] = {}
        for begin in range(0, len(chains), _AT_ONCE):
            some = chains[begin : begin + _AT_ONCE]
            with self._forgiving() as db:
                asked = ",".join("?" * len(some))
                query = (
                    "SELECT chain, head, rows, text FROM made "  # noqa: S608 - only marks are put in
                    f"WHERE what = ? AND mark = ? AND chain IN ({asked})"
                )
                for chain, head, rows, packed in db.execute(query, (what, self._mark, *some)):
                    text = zlib.decompress(packed).decode("utf-8")
                    found[chain] = KeptText(head, rows, text)
        return found

    def put(self, what: str, chain: str, made: KeptText) -> None:
        """Keep a text in place of the one before it."""
        with self._forgiving() as db:
            packed = zlib.compress(made.text.encode("utf-8"), _LEVEL)
            values = (what, chain, self._mark, made.head, made.rows, packed)
            db.execute("INSERT OR REPLACE INTO made VALUES (?, ?, ?, ?, ?, ?)", values)

    def _open(self, path: Path) -> None:
        path.parent.mkdir(parents=True, exist_ok=True)
        os.close(os.open(path, os.O_CREAT | os.O_RDWR, 0o600))
        self._db = db = sqlite3.connect(path, timeout=1.0, isolation_level=None)
        db.execute("PRAGMA synchronous = OFF")
        db.execute(_TABLE)
        db.execute("DELETE FROM made WHERE mark <> ?", (self._mark,))

    @contextlib.contextmanager
    def _forgiving(self) -> Iterator[sqlite3.Connection]:
        """Lend the file; where it can't be used, do nothing, and make it anew the next time."""
        try:
            yield self._db or sqlite3.connect(":memory:")  # which has no such table
        except sqlite3.OperationalError:  # in use by another program, or not to be written
            pass
        except sqlite3.DatabaseError:
            self.close()
            self.path.unlink(missing_ok=True)
        except (OSError, zlib.error, UnicodeDecodeError, TypeError):
            pass
