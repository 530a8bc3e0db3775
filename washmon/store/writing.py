"""The write side: the one connection of this program that writes, and the ends of the chains."""

from collections.abc import Callable, Iterable, Sequence
from contextlib import ExitStack
from datetime import datetime
from pathlib import Path
from typing import Any, NamedTuple, Self

import msgspec
from sqlalchemy import Connection, delete, insert, select, update
from sqlalchemy.exc import DBAPIError

from washmon.line.events import Event
from washmon.line.journal import Entry, decode, extend
from washmon.store import migrate, postgres, schema
from washmon.store.engine import Ready, make_empty, make_folder, take_lock, writing_engine
from washmon.store.errors import NotKnown, Place, StoreBug, breaks_off, chain_taken, not_known
from washmon.store.place import Server
from washmon.store.projecting import MadeRows, Projections
from washmon.store.schema import journal, shift, summary_rows, tank_summary, version
from washmon.store.searching import SummaryRows
from washmon.store.shift import ShiftFold


class Doubt(NamedTuple):
    """Entries of which only the server knows whether they are there."""

    chain: str
    entries: tuple[Entry, ...]

    def is_of(self, chain: str, events: Sequence[Event]) -> bool:
        """Return whether these are the very events."""
        return chain == self.chain and list(events) == [one.event for one in self.entries]


class Writing:
    """Writes, each call in one transaction that is all or nothing.

    A file has one writer at a time, which holds its lock. A server has many: each chain has one
    at a time, for as long as a transaction takes.
    """

    def __init__(
        self,
        place: Place,
        connection: Connection,
        held: ExitStack,
        guards_lost: Sequence[str] = (),
    ) -> None:
        self.guards_lost = tuple(guards_lost)
        """Those that were missing when the database was opened, and are there again."""
        self.doubt: Doubt | None = None
        """What was being saved when a server stopped answering."""
        self._place = place
        self._connection = connection
        self._held = held
        self._folds: dict[str, ShiftFold] = {}  # of what is committed; checked again before use
        self._add_entries = Ready(connection, insert(journal))
        self._projections = Projections(place, connection)

    @classmethod
    def begin(cls, place: Place) -> Self:
        """Open a database for writing, and bring it to this program's schema.

        Raises:
            StoreUnavailable: in use, not ours, or of a later version.
        """
        with ExitStack() as held:
            connection = _connected(place, held)
            with postgres.patiently(connection):
                migrate.make_ready(connection, place)
            lost = _try_to_write(connection)
            return cls(place, connection, held.pop_all(), lost)

    @property
    def touched(self) -> tuple[str, ...]:
        """The chains that were written since the database was opened, the last ones last."""
        return tuple(self._folds)

    @property
    def connection(self) -> Connection:
        """The connection that writes."""
        return self._connection

    def close(self) -> None:
        """Let go of the database, then of the right to write it."""
        self._held.close()

    def append(
        self, chain: str, events: Sequence[Event], recorded_at: datetime, *, new: bool = False
    ) -> tuple[Entry, ...]:
        """Add events to a chain; see :meth:`washmon.store.store.Store.append`."""
        if (doubt := self.doubt) is not None and self.settle() and doubt.is_of(chain, events):
            return doubt.entries  # it was tried again, and is there already
        try:
            return self._append(chain, events, recorded_at, new=new)
        except NotKnown:
            if isinstance(self._place, Server):
                raise
        # A disk that failed once is asked once more: what the first try left is written over, so
        # that it is certain what stands there.
        doubt, self.doubt = self.doubt, None
        try:
            return self._append(chain, events, recorded_at, new=new)
        except DBAPIError as error:
            self.doubt = doubt
            raise not_known(self._place) from error

    def _append(
        self, chain: str, events: Sequence[Event], recorded_at: datetime, *, new: bool
    ) -> tuple[Entry, ...]:
        committing: Doubt | None = None
        try:
            with self._connection.begin():
                postgres.lock_chain_and_tell(self._connection, chain)
                before = self._projections.fold(chain, self._folds.get(chain))
                if new and before.head is not None:
                    raise chain_taken(chain)
                made = extend(chain, before.head, events, recorded_at)
                self._add_entries.run(*(_as_row(chain, entry, body) for entry, body in made))
                entries = tuple(entry for entry, _ in made)
                fold = before.then(entries)
                self._projections.keep(before, fold)
                committing = Doubt(chain, entries)
        except DBAPIError as error:
            if committing is None or not breaks_off(error):
                raise
            self.doubt = committing
            raise not_known(self._place) from error
        self._folds.pop(chain, None)  # the last one written stands last
        self._folds[chain] = fold
        return entries

    def send(self, chain: str, event: Event, recorded_at: datetime, since: int) -> Entry:
        """Add an event that was kept elsewhere, unless it is there already from a place on."""
        with self._connection.begin():
            postgres.lock_chain(self._connection, chain)
            query = select(journal.c.seq, journal.c.body, journal.c.hash).where(
                journal.c.chain == chain,
                journal.c.seq >= since,
                journal.c.recorded_at == recorded_at.isoformat(),
            )
            rows = self._connection.execute(query.order_by(journal.c.seq)).all()
        for row in rows:
            # By what it says: a whole number is written otherwise once it was read back.
            if decode(row.body) == event:
                return Entry(row.seq, recorded_at, event, row.hash)
        return self.append(chain, [event], recorded_at)[0]

    def settle(self) -> bool:
        """Look whether that is there of which it was not known; afterwards it is.

        Raises:
            DBAPIError: the server still does not answer.
        """
        doubt = self.doubt
        if doubt is None:
            return False
        last = doubt.entries[-1]
        at = (journal.c.chain == doubt.chain, journal.c.seq == last.seq)
        if not isinstance(self._place, Server):
            with self._connection.begin():  # writes over what a failed commit left in the log
                self._connection.execute(update(version).values(version_num=version.c.version_num))
        with self._connection.begin():
            saved = self._connection.scalar(select(journal.c.hash).where(*at)) == last.hash
        self.doubt = None
        return saved

    def save_summaries(
        self, chain: str, summaries: Sequence[tuple[int, str]], rows: SummaryRows | None
    ) -> None:
        """Replace the summaries; see :meth:`washmon.store.store.Store.save_summaries`."""
        connection = self._connection
        with connection.begin():
            postgres.lock_chain(connection, chain)
            head = connection.scalar(select(shift.c.head).where(shift.c.chain == chain))
            if head is None:
                raise StoreBug(f"There is no shift {chain} to sum up.")
            connection.execute(delete(tank_summary).where(tank_summary.c.chain == chain))
            values = [
                {"chain": chain, "tank": tank, "head": head, "body": body}
                for tank, body in summaries
            ]
            if values:
                connection.execute(insert(tank_summary), values)
                connection.execute(update(shift).where(shift.c.chain == chain).values(due=False))
            connection.execute(delete(summary_rows).where(summary_rows.c.chain == chain))
            if rows is not None and "\0" not in rows.text:  # which PostgreSQL has not
                kept = {"chain": chain, "head": head, **rows._asdict()}
                connection.execute(insert(summary_rows), kept)

    def rebuild_projections(self, made: Callable[[], Iterable[MadeRows]] | None) -> int:
        """Make the list of shifts anew; see :meth:`washmon.store.store.Store`."""
        with self._connection.begin(), postgres.patiently(self._connection):
            postgres.lock_projections(self._connection)
            if made is not None:  # only now, as nobody else can write a shift any more
                return self._projections.rebuild(made())
            self._connection.execute(delete(tank_summary))
            self._connection.execute(delete(summary_rows))
            return self._projections.rebuild()


def _connected(place: Place, held: ExitStack) -> Connection:
    if isinstance(place, Server):
        engine = postgres.writing_engine(place)
    elif isinstance(place, Path):
        make_folder(place.parent)
        held.callback(take_lock(place).release)
        make_empty(place)
        engine = writing_engine(place)
    else:
        raise StoreBug(f"There is no way to write {place}.")
    held.callback(engine.dispose)
    return held.enter_context(engine.connect())


def _try_to_write(connection: Connection) -> list[str]:
    """Write something and take it back: a write-protected file shows now, not in mid-shift.

    Returns:
        The guards of the journal that were missing, and were put back.
    """
    with connection.begin() as trial:
        connection.execute(update(version).values(version_num=version.c.version_num))
        trial.rollback()
    with connection.begin():
        return schema.put_back(connection)


def _as_row(chain: str, entry: Entry, body: bytes) -> dict[str, Any]:
    """Return the row of an entry.

    Raises:
        StoreBug: the event could not be read back, such as a NaN where a number must be.
    """
    try:
        decode(body)
    except (msgspec.DecodeError, ValueError) as error:
        raise StoreBug(f"This event could not be read back: {entry.event}") from error
    at = entry.recorded_at.isoformat()
    return {"chain": chain, "seq": entry.seq, "recorded_at": at, "body": body, "hash": entry.hash}
