"""The store: one file that holds the journal and what the Logbook reads."""

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Self

from sqlalchemy import Engine
from sqlalchemy.exc import OperationalError

from washmon.line.events import Event
from washmon.line.journal import Entry
from washmon.store import migrate
from washmon.store.engine import driver, locate, reading_engine
from washmon.store.errors import CannotWrite, NotADatabase, StoreBug, code, told
from washmon.store.reading import Reading
from washmon.store.writing import Writing


class Store(Reading):
    """One database. Used by one thread at a time; others open their own, read-only.

    Every failure is told as :mod:`washmon.store.errors` says.
    """

    def __init__(self, path: Path, reader: Engine, writing: Writing | None = None) -> None:
        super().__init__(path, reader)
        self._writing = writing

    @classmethod
    def open(cls, where: Path | str, *, read_only: bool = False) -> Self:
        """Open a database; for writing, a missing one is made together with its folder.

        Args:
            where: its path, or a URL such as ``sqlite:///shed.db``.
            read_only: write nothing, and leave another program its right to write.

        Raises:
            StoreUnavailable: with a sentence that says what to do.
        """
        path = locate(where)
        with told(path):
            if read_only:
                return cls(path, _open_reader(path))
            writing = Writing.begin(path)
            return cls(path, reading_engine(path), writing)

    @property
    def read_only(self) -> bool:
        """Whether this store can't write."""
        return self._writing is None

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the file and of the right to write it."""
        super().close()
        if self._writing is not None:
            with told(self.path):
                self._writing.close()
            self._writing = None

    def append(
        self, chain: str, events: Sequence[Event], recorded_at: datetime
    ) -> tuple[Entry, ...]:
        """Add events to a chain, all or none; they have reached the disk when this returns.

        Args:
            chain: the shift they belong to, or :data:`washmon.line.journal.SITE`.
            events: what happened, in order.
            recorded_at: when it is written down, an aware time.

        Raises:
            StoreUnavailable: nothing was written.
            StoreBug: an event could not be read back, or the time has no zone.
        """
        if recorded_at.utcoffset() is None:
            raise StoreBug(f"{recorded_at} has no time zone.")
        writing = self._for_writing()
        if not events:
            return ()
        with told(self.path):
            return writing.append(chain, events, recorded_at)

    def save_summaries(self, chain: str, summaries: Sequence[tuple[int, str]]) -> None:
        """Keep the tank summaries of a shift, in place of those it had.

        Each is a tank's number and JSON that the store does not read. They count as up to date
        until the chain gets another entry.

        Raises:
            StoreUnavailable: nothing was written.
            StoreBug: there is no such shift.
        """
        writing = self._for_writing()
        with told(self.path):
            writing.save_summaries(chain, summaries)

    def rebuild_projections(self) -> None:
        """Make the list of shifts anew from the journal; all summaries are to be saved anew.

        Raises:
            StoreUnavailable: nothing was changed.
        """
        writing = self._for_writing()
        with told(self.path):
            writing.rebuild_projections()

    def _for_writing(self) -> Writing:
        if self._writing is None:
            raise CannotWrite(f"{self.path.name} is open read-only: nothing can be saved in it.")
        return self._writing


def _open_reader(path: Path) -> Engine:
    """Return an engine on a database that can be read as it is.

    Raises:
        StoreUnavailable: it can't, with the reason.
    """
    if not path.exists():
        raise NotADatabase(f"There is no database at {path}: check its name, or start a new one.")
    engine = reading_engine(path)
    try:
        _check(engine, path)
    except OperationalError as error:
        # In a folder that can't be written SQLite can't make the small files that readers and
        # writers share. Without a log there is no writer either, and so no need of them.
        cannot_share = code(error.orig).startswith(("SQLITE_CANTOPEN", "SQLITE_READONLY"))
        if not cannot_share or path.with_name(path.name + "-wal").exists():
            raise
        engine = reading_engine(path, immutable=True)
        _check(engine, path)
    return engine


def _check(engine: Engine, path: Path) -> None:
    try:
        with engine.begin() as connection:
            migrate.check_readable(driver(connection), path)
    except BaseException:
        engine.dispose()
        raise
