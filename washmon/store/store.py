"""The store: one database that holds the journal and what the Logbook reads."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager, nullcontext, suppress
from datetime import datetime
from pathlib import Path
from typing import Self

from sqlalchemy import Connection, Engine
from sqlalchemy.exc import OperationalError

from washmon.line.events import Event
from washmon.line.journal import Entry
from washmon.store import migrate, postgres, rescue
from washmon.store.backups import finish_restore
from washmon.store.engine import reading_engine
from washmon.store.errors import (
    CannotWrite,
    NotADatabase,
    Place,
    StoreBug,
    StoreUnavailable,
    Unreachable,
    cannot_write,
    code,
    told,
)
from washmon.store.gap import SENT, Gap
from washmon.store.place import Server, locate
from washmon.store.projecting import MadeRows
from washmon.store.reading import Reading
from washmon.store.searching import SummaryRows
from washmon.store.writing import Writing

SAVED_AFTER_ALL = "The server answers again. What it was not known of is saved."
NOT_SAVED = "The server answers again. What it was not known of was not saved: enter it again."
GUARDS_LOST = (
    "The guards that keep hands off the journal of {name} had been taken off, and were put back. "
    "Find out who did it, and compare the records with a backup."
)


class Store(Reading):
    """One database. Used by one thread at a time; others open their own, read-only.

    Every failure is told as :mod:`washmon.store.errors` says.
    """

    def __init__(self, place: Place, reader: Engine, writing: Writing | None = None) -> None:
        super().__init__(place, reader)
        self._writing = writing
        self._left_open: list[Writing] = []
        self._known = _identity(place)
        self._said = ""
        self._gap: Gap | None = None
        self._last: dict[str, Entry] = {}

    @classmethod
    def open(
        cls, where: Path | str, *, read_only: bool = False, state_folder: Path | None = None
    ) -> Self:
        """Open a database; for writing, a missing one is made together with its folder.

        Args:
            where: its path, or a URL: ``sqlite:///shed.db``, or
                ``postgresql+psycopg://user@server/database``, which several programs write at
                once and which somebody must have made, empty, before.
            read_only: write nothing, and leave another program its right to write.
            state_folder: a folder of this computer where entries are kept while a server does not
                answer, beside the witness; without one they are not saved then.

        Raises:
            StoreUnavailable: with a sentence that says what to do.
        """
        place = locate(where)
        with told(place):
            if read_only:
                reader = cls(place, _open_reader(place))
                reader.state_folder = state_folder
                return reader
            if isinstance(place, Path):
                finish_restore(place)
                rescue.put_back(place)
            writing = Writing.begin(place)
            store = cls(place, _reading_engine(place), writing)
            store.state_folder = state_folder
            if isinstance(place, Path):
                if not place.exists():
                    store.close()
                    raise cannot_write(place, "it was taken away while it was being opened")
                store._said = rescue.take_up(writing.connection, place)
                if writing.guards_lost:
                    store._said = GUARDS_LOST.format(name=place.name)
            elif isinstance(place, Server) and state_folder is not None:
                store._gap = Gap(place, state_folder)
                store.heed()
            return store

    def reader(self) -> "Store":
        """Open the same database once more, read-only, for another thread.

        Raises:
            StoreUnavailable: with a sentence that says what to do.
        """
        with told(self.place):
            found = Store(self.place, _open_reader(self.place))
        found.state_folder = self.state_folder
        return found

    @property
    def read_only(self) -> bool:
        """Whether this store can't write."""
        return self._writing is None

    def close(self) -> None:
        """Let go of the file and of the right to write it."""
        super().close()
        if self._writing is None:
            return
        if self._gap is not None:
            self._gap.close()
        with told(self.place), _kept_while_closing(self.place, self._home):
            self._writing.close()
            for left in self._left_open:
                left.close()
        self._writing = None
        if self.place != self._home:
            with suppress(StoreUnavailable):  # else it is tried again at the next start
                Store.open(str(self._home)).close()

    def heed(self) -> str:
        """Look whether the file is still in its place; where it is not, go on beside it.

        One that only reads goes on with what lies there now.

        Returns:
            What the shed must be told; empty where all is well.

        Raises:
            StoreUnavailable: there is no way to go on.
        """
        place, known = self.place, self._known
        if self._writing is not None and self._gap is not None and self._gap.is_open:
            self._said = self._gap.mend(self._writing)
        elif self._writing is not None and self._writing.doubt is not None:
            with told(place):
                self._said = SAVED_AFTER_ALL if self._writing.settle() else NOT_SAVED
        if not isinstance(place, Path) or known is None or _identity(place) == known:
            return self._said
        if self._writing is None:
            self._reader.dispose()
            self._known = _identity(place) or known
        else:
            self._go_on_beside(self._writing, place, known)
        return self._said

    def _go_on_beside(self, writing: Writing, left: Path, known: rescue.Identity) -> None:
        home = self._home if isinstance(self._home, Path) else left
        beside = rescue.copy_and_leave(writing.connection, home, left, known)
        with told(beside):
            self._writing = Writing.begin(beside)
        # The old one keeps the lock of the old place, so that nobody begins another journal there.
        self._left_open.append(writing)
        self._reader.dispose()
        self.place, self._reader = beside, _reading_engine(beside)
        self._known = _identity(beside)
        self._said = rescue.away(home, beside)

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
        return self._add(chain, events, recorded_at)

    def begin(
        self, chain: str, events: Sequence[Event], recorded_at: datetime
    ) -> tuple[Entry, ...]:
        """Begin a chain with events, as :meth:`append`.

        Whether it is there is looked up in the same transaction, so that of several programs only
        one begins it.

        Raises:
            ChainTaken: there is such a chain already; nothing was written.
        """
        return self._add(chain, events, recorded_at, new=True)

    def _add(
        self, chain: str, events: Sequence[Event], recorded_at: datetime, *, new: bool = False
    ) -> tuple[Entry, ...]:
        if recorded_at.utcoffset() is None:
            raise StoreBug(f"{recorded_at} has no time zone.")
        writing = self._for_writing()
        if not events:
            return ()
        if (gap := self._gap) is not None and not new:
            last = self._last.get(chain)
            entries = gap.append_or_keep(writing, chain, last, events, recorded_at)
        else:
            with told(self.place):
                entries = writing.append(chain, events, recorded_at, new=new)
        self._last[chain] = entries[-1]
        if self._said in {SAVED_AFTER_ALL, NOT_SAVED, SENT}:
            self._said = ""
        self.heed()  # what went into a file that is gone is carried over before it counts as saved
        return entries

    @property
    def keeps_here(self) -> bool:
        """Whether what is added now is kept on this computer, as the server does not answer."""
        return self._gap is not None and self._gap.is_open

    def entries(self, chain: str) -> list[Entry]:
        """Return a chain, as :meth:`Reading.entries`."""
        found = super().entries(chain)
        if self._gap is not None and found:
            self._last[chain] = found[-1]
        return found

    @contextmanager
    def _asking(self) -> Iterator[Connection]:
        """Lend a connection to read with; a server that does not answer is not asked again soon."""
        gap = self._gap
        if gap is not None and gap.is_open:
            raise Unreachable(gap.said)
        try:
            with super()._asking() as connection:
                yield connection
        except Unreachable:
            if gap is not None:
                gap.begin()
            raise

    @property
    def touched(self) -> tuple[str, ...]:
        """The chains that were written since it was opened, the newest last."""
        return () if self._writing is None else self._writing.touched

    def save_summaries(
        self, chain: str, summaries: Sequence[tuple[int, str]], rows: SummaryRows | None = None
    ) -> None:
        """Keep the tank summaries of a shift, in place of those it had.

        Each is a tank's number and JSON that the store does not read; ``rows`` are the same
        written out. They count as up to date until the chain gets another entry.

        Raises:
            StoreUnavailable: nothing was written.
            StoreBug: there is no such shift.
        """
        with self._writing_now() as writing:
            writing.save_summaries(chain, summaries, rows)

    def rebuild_projections(self, made: Callable[[], Iterable[MadeRows]] | None = None) -> int:
        """Make the list of shifts anew from the journal; return how many shifts are summed up.

        ``made`` returns all that is to be kept of each shift, once nobody else can write; without
        it the list is made here, and all summaries are to be saved anew.

        Raises:
            StoreUnavailable: nothing was changed.
        """
        with self._writing_now() as writing:
            return writing.rebuild_projections(made)

    @contextmanager
    def _writing_now(self) -> Iterator[Writing]:
        """Lend what writes; not while what is entered is kept here for a server."""
        if self._gap is not None and self._gap.is_open:
            raise Unreachable(self._gap.said)
        writing = self._for_writing()
        with told(self.place):
            yield writing

    def _for_writing(self) -> Writing:
        if self._writing is None:
            raise CannotWrite(f"{self.place.name} is open read-only: nothing can be saved in it.")
        if isinstance(self.place, Path) and self._writing.doubt is None:
            self.heed()  # a doubt is for whoever adds: the same again is not to be there twice
        return self._writing


def _kept_while_closing(place: Place, home: Place) -> AbstractContextManager[None]:
    if isinstance(place, Path) and isinstance(home, Path):
        return rescue.while_closing(place, home)
    return nullcontext()


def _identity(place: Place) -> rescue.Identity | None:
    return rescue.Identity.of(place) if isinstance(place, Path) else None


def _reading_engine(place: Place) -> Engine:
    if isinstance(place, Server):
        return postgres.reading_engine(place)
    if isinstance(place, Path):
        return reading_engine(place)
    raise StoreBug(f"There is no way to read {place}.")


def _open_reader(place: Place) -> Engine:
    """Return an engine on a database that can be read as it is.

    Raises:
        StoreUnavailable: it can't, with the reason.
    """
    if isinstance(place, Path) and not place.exists():
        raise NotADatabase(f"There is no database at {place}: check its name, or start a new one.")
    engine = _reading_engine(place)
    try:
        _check(engine, place)
    except OperationalError as error:
        # In a folder that can't be written SQLite can't make the small files that readers and
        # writers share. Without a log there is no writer either, and so no need of them.
        cannot_share = code(error.orig).startswith(("SQLITE_CANTOPEN", "SQLITE_READONLY"))
        if (
            not cannot_share
            or not isinstance(place, Path)
            or place.with_name(place.name + "-wal").exists()
        ):
            raise
        engine = reading_engine(place, immutable=True)
        _check(engine, place)
    return engine


def _check(engine: Engine, place: Place) -> None:
    try:
        with engine.begin() as connection:
            migrate.check_readable(connection, place)
    except BaseException:
        engine.dispose()
        raise
