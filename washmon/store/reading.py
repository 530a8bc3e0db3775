"""The read side: everything that can be asked of a database, writer or not."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any, NamedTuple

import msgspec
from sqlalchemy import Connection, Engine, Row, false, select

from washmon.line.events import SetupSaved
from washmon.line.journal import SITE, Entry, decode
from washmon.line.setup import LineSetup
from washmon.store import check
from washmon.store.engine import copy_to, driver, reading_engine
from washmon.store.errors import Damaged, StoreUnavailable, cannot_write, damaged, told
from washmon.store.schema import journal, shift, tank_summary
from washmon.store.shift import ShiftRow, microseconds


class RawEntry(NamedTuple):
    """One place of a chain as it is stored; what :func:`washmon.line.journal.verify` walks."""

    seq: int
    recorded_at: datetime
    body: bytes
    hash: str


class SavedSetup(NamedTuple):
    """The newest set-up of a line."""

    line: str
    setup: LineSetup
    saved_at: datetime


class TankSummaryRow(NamedTuple):
    """The summary of one tank in one shift; ``body`` is JSON that the store does not read."""

    chain: str
    tank: int
    body: str


class Reading:
    """Answers questions about the journal and its projections.

    Each call sees one consistent moment. Any of them raises
    :class:`~washmon.store.errors.StoreUnavailable` when the file can't be read.
    """

    def __init__(self, path: Path, engine: Engine) -> None:
        self.path = path
        self._reader = engine

    def entries(self, chain: str) -> list[Entry]:
        """Return a chain, oldest entry first; empty when there is no such chain."""
        return read_entries(self.path, self.rows(chain))

    def rows(self, chain: str) -> list[RawEntry]:
        """Return a chain as it is stored, for verifying and for session files."""
        with self._asking() as connection:
            return read_rows(connection, self.path, chain)

    def head(self, chain: str) -> str | None:
        """Return the hash that a chain ends with."""
        newest = select(journal.c.hash).where(journal.c.chain == chain)
        with self._asking() as connection:
            return connection.scalar(newest.order_by(journal.c.seq.desc()).limit(1))

    def last_shift_head(self) -> tuple[str, str] | None:
        """Return the chain and hash that the next shift says it comes after.

        It is the shift that no other one follows; practice does not count.
        """
        later = shift.alias("later")
        followed = select(later.c.chain).where(
            later.c.after_chain == shift.c.chain, later.c.practice == false()
        )
        last = (
            select(shift.c.chain, shift.c.head)
            .where(shift.c.practice == false(), ~followed.exists())
            .order_by(shift.c.started_us.desc(), shift.c.chain.desc())
            .limit(1)
        )
        with self._asking() as connection:
            found = connection.execute(last).first()
        return (found.chain, found.head) if found else None

    def running_shift(self) -> str | None:
        """Return the chain of the newest shift that has not ended; practice does not count."""
        running = (
            select(shift.c.chain)
            .where(shift.c.ended_at.is_(None), shift.c.practice == false())
            .order_by(shift.c.started_us.desc(), shift.c.chain.desc())
            .limit(1)
        )
        with self._asking() as connection:
            return connection.scalar(running)

    def shifts(
        self,
        *,
        since: datetime | None = None,
        until: datetime | None = None,
        line: str | None = None,
        practice: bool | None = None,
        newest_first: bool = True,
        limit: int | None = None,
    ) -> list[ShiftRow]:
        """Return the shifts that began from ``since`` on and before ``until`` (aware times).

        ``practice`` None means both practice and real shifts.
        """
        query = select(shift)
        if since is not None:
            query = query.where(shift.c.started_us >= microseconds(since))
        if until is not None:
            query = query.where(shift.c.started_us < microseconds(until))
        if line is not None:
            query = query.where(shift.c.line == line)
        if practice is not None:
            query = query.where(shift.c.practice == practice)
        order = (shift.c.started_us, shift.c.chain)
        query = query.order_by(*(key.desc() if newest_first else key for key in order))
        with self._asking() as connection:
            return [as_shift(row) for row in connection.execute(query.limit(limit))]

    def shifts_without_summary(self) -> list[str]:
        """Return the chains of ended shifts whose summary is missing or older than their entries.

        The oldest comes first.
        """
        up_to_date = select(tank_summary.c.chain).where(
            tank_summary.c.chain == shift.c.chain, tank_summary.c.head == shift.c.head
        )
        query = select(shift.c.chain).where(shift.c.ended_at.is_not(None), ~up_to_date.exists())
        with self._asking() as connection:
            return list(connection.scalars(query.order_by(shift.c.started_us, shift.c.chain)))

    def summaries(self, chains: Sequence[str]) -> list[TankSummaryRow]:
        """Return the kept tank summaries of these shifts: by shift as given, then by tank."""
        columns = (tank_summary.c.chain, tank_summary.c.tank, tank_summary.c.body)
        rows: list[TankSummaryRow] = []
        with self._asking() as connection:
            for chain in chains:
                query = select(*columns).where(tank_summary.c.chain == chain)
                found = connection.execute(query.order_by(tank_summary.c.tank))
                rows += [TankSummaryRow(*row) for row in found]
        return rows

    def setups(self) -> list[SavedSetup]:
        """Return the newest saved set-up of every line, the last saved first."""
        newest: dict[str, SavedSetup] = {}
        for entry in reversed(self.entries(SITE)):
            if isinstance(entry.event, SetupSaved):
                setup = entry.event.setup
                newest.setdefault(setup.line, SavedSetup(setup.line, setup, entry.event.at))
        return list(newest.values())

    def latest_setup(self) -> LineSetup | None:
        """Return the set-up that was saved last, if any was."""
        saved = self.setups()
        return saved[0].setup if saved else None

    def verify(self) -> list[check.Fault]:
        """Go through the whole database and return what is wrong with it, most basic first."""
        try:
            with self._asking() as connection:
                return check.faults(connection)
        except Damaged as damage:
            return [check.Fault(str(damage))]

    def backup(self, to: Path) -> None:
        """Copy the database into one file, check the copy, and only then give it its name.

        Raises:
            CannotWrite, DiskFull: there is no new file.
            Damaged: the copy has a fault that the database has not.
        """
        if to.resolve() == self.path:
            raise cannot_write(to, "it is the database itself")
        part = to.with_name(to.name + ".part")
        with told(to):
            to.parent.mkdir(parents=True, exist_ok=True)
            try:
                with self._reader.connect() as connection:
                    copy_to(driver(connection), part)
                self._compare(part)
                part.replace(to)
            finally:
                part.unlink(missing_ok=True)

    def close(self) -> None:
        """Let go of the file."""
        self._reader.dispose()

    def _compare(self, copy: Path) -> None:
        engine = reading_engine(copy)
        try:
            with engine.begin() as connection:
                found = check.faults(connection)
        finally:
            engine.dispose()
        if found and (new := [fault for fault in found if fault not in self.verify()]):
            raise damaged(copy, str(new[0]))

    @contextmanager
    def _asking(self) -> Iterator[Connection]:
        with told(self.path), self._reader.begin() as connection:
            yield connection


def read_rows(connection: Connection, path: Path, chain: str) -> list[RawEntry]:
    """Return the stored rows of a chain in order.

    Raises:
        Damaged: a time can't be read.
    """
    columns = (journal.c.seq, journal.c.recorded_at, journal.c.body, journal.c.hash)
    query = select(*columns).where(journal.c.chain == chain).order_by(journal.c.seq)
    try:
        return [
            RawEntry(seq, datetime.fromisoformat(at), bytes(body), digest)
            for seq, at, body, digest in connection.execute(query)
        ]
    except (TypeError, ValueError) as error:
        raise damaged(path, f"shift {chain}: {error}") from error


def read_entries(path: Path, rows: Sequence[RawEntry]) -> list[Entry]:
    """Return the entries in stored rows.

    Raises:
        StoreUnavailable: an event can't be read by this version.
    """
    entries = []
    for row in rows:
        try:
            event = decode(row.body)
        except (msgspec.DecodeError, ValueError) as error:
            raise StoreUnavailable(
                f"Entry {row.seq} in {path.name} can't be read ({error}): a newer version of "
                "washmon may have written it; otherwise go on with a backup."
            ) from error
        entries.append(Entry(row.seq, row.recorded_at, event, row.hash))
    return entries


def as_shift(row: Row[Any]) -> ShiftRow:
    """Return a row of the table as what it stands for."""
    values = dict(row._mapping)  # noqa: SLF001 - the documented way to a row's mapping
    del values["started_us"]
    chain, digest = values.pop("after_chain"), values.pop("after_hash")
    ended = values["ended_at"]
    values["started_at"] = datetime.fromisoformat(values["started_at"])
    values["ended_at"] = datetime.fromisoformat(ended) if ended else None
    return ShiftRow(**values, after=(chain, digest) if chain is not None else None)
