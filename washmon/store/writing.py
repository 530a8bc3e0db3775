"""The write side: the one connection that writes, its lock, and the ends of the chains."""

from collections.abc import Sequence
from contextlib import ExitStack
from datetime import datetime
from pathlib import Path
from typing import Any, Self

import msgspec
from sqlalchemy import (
    Connection,
    Text,
    bindparam,
    delete,
    func,
    insert,
    select,
    update,
)

from washmon.line.events import Event
from washmon.line.journal import SITE, Entry, decode, extend
from washmon.store import migrate
from washmon.store.engine import take_lock, writing_engine
from washmon.store.errors import StoreBug
from washmon.store.reading import read_entries, read_rows
from washmon.store.schema import journal, shift, tank_summary, version
from washmon.store.shift import ShiftFold, ShiftRow, microseconds
from washmon.store.statement import Ready


class Writing:
    """Writes, each call in one transaction that is all or nothing."""

    def __init__(self, path: Path, connection: Connection, held: ExitStack) -> None:
        self._path = path
        self._connection = connection
        self._held = held
        self._folds: dict[str, ShiftFold] = {}  # of what is committed; checked again before use
        chain = bindparam("of_chain", type_=Text)
        last = select(func.max(journal.c.seq)).where(journal.c.chain == chain).scalar_subquery()
        newest = select(journal.c.seq, journal.c.hash)
        newest = newest.where(journal.c.chain == chain, journal.c.seq == last)
        self._newest = Ready(connection, newest)
        self._add_entries = Ready(connection, insert(journal))
        self._add_shift = Ready(connection, insert(shift))
        self._set_shift = Ready(
            connection, update(shift).where(shift.c.chain == chain), *shift.c.keys()
        )

    @classmethod
    def begin(cls, path: Path) -> Self:
        """Take the lock, open the file, and bring it to this program's schema.

        Raises:
            StoreUnavailable: in use, not ours, or of a later version.
        """
        path.parent.mkdir(parents=True, exist_ok=True)
        with ExitStack() as held:
            held.callback(take_lock(path).release)
            engine = writing_engine(path)
            held.callback(engine.dispose)
            connection = held.enter_context(engine.connect())
            migrate.make_ready(connection, path)
            _try_to_write(connection)
            return cls(path, connection, held.pop_all())

    def close(self) -> None:
        """Let go of the file, then of the right to write it."""
        self._held.close()

    def append(
        self, chain: str, events: Sequence[Event], recorded_at: datetime
    ) -> tuple[Entry, ...]:
        """Add events to a chain; see :meth:`washmon.store.store.Store.append`."""
        with self._connection.begin():
            before = self._fold(chain)
            made = extend(chain, before.head, events, recorded_at)
            self._add_entries.run(*(_as_row(chain, entry, body) for entry, body in made))
            entries = tuple(entry for entry, _ in made)
            fold = before.then(entries)
            self._keep_shift(fold)
        self._folds[chain] = fold
        return entries

    def save_summaries(self, chain: str, summaries: Sequence[tuple[int, str]]) -> None:
        """Replace the summaries; see :meth:`washmon.store.store.Store.save_summaries`."""
        connection = self._connection
        with connection.begin():
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

    def rebuild_projections(self) -> None:
        """Make the list of shifts anew; see :meth:`washmon.store.store.Store`."""
        connection = self._connection
        self._folds.clear()
        with connection.begin():
            connection.execute(delete(tank_summary))
            connection.execute(delete(shift))
            every = select(journal.c.chain).distinct().order_by(journal.c.chain)
            for chain in connection.scalars(every).all():
                self._keep_shift(self._fold(chain))

    def _fold(self, chain: str) -> ShiftFold:
        """Return where a chain stands: as remembered if the file agrees, else read anew."""
        kept = self._folds.get(chain)
        newest = self._newest.first(of_chain=chain)
        if newest is None:
            return ShiftFold(chain)
        if kept and kept.head and newest == (kept.head.seq, kept.head.hash):
            return kept
        rows = read_rows(self._connection, self._path, chain)
        return ShiftFold(chain).then(read_entries(self._path, rows))

    def _keep_shift(self, fold: ShiftFold) -> None:
        row = fold.row()
        if row is None or row.chain == SITE:
            return
        values = _as_shift_values(row)
        if self._set_shift.run({**values, "of_chain": row.chain}) == 0:
            self._add_shift.run(values)


def _try_to_write(connection: Connection) -> None:
    """Write something and take it back: a write-protected file shows now, not in mid-shift."""
    with connection.begin() as trial:
        connection.execute(update(version).values(version_num=version.c.version_num))
        trial.rollback()


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


def _as_shift_values(row: ShiftRow) -> dict[str, Any]:
    after_chain, after_hash = row.after or (None, None)
    return {
        "chain": row.chain,
        "site": row.site,
        "line": row.line,
        "commodity": row.commodity,
        "started_at": row.started_at.isoformat(),
        "started_us": microseconds(row.started_at),
        "ended_at": row.ended_at.isoformat() if row.ended_at else None,
        "supervisor": row.supervisor,
        "lots": row.lots,
        "practice": row.practice,
        "open_holds": row.open_holds,
        "entries": row.entries,
        "head": row.head,
        "after_chain": after_chain,
        "after_hash": after_hash,
    }
