"""A fresh database from the entries of another: a file from a server's, a server's from a file."""

from collections.abc import Iterable, Iterator
from itertools import islice
from pathlib import Path
from typing import Any, NamedTuple

from sqlalchemy import Connection, Table, insert, select

from washmon.store import journal_check, migrate, schema
from washmon.store.engine import driver
from washmon.store.errors import CannotWrite, Damaged
from washmon.store.place import Server
from washmon.store.projecting import Projections
from washmon.store.writing import Writing

_STEP = 1000
_PLACE_GUARD = "journal_only_extended"


class StoredRow(NamedTuple):
    """An entry exactly as a database has it."""

    chain: str
    seq: int
    recorded_at: str
    body: bytes
    hash: str


def stored_rows(source: Connection) -> Iterator[StoredRow]:
    """Yield the entries of a database in order of chain and place, a few in memory at a time."""
    columns = schema.journal.c
    query = select(columns.chain, columns.seq, columns.recorded_at, columns.body, columns.hash)
    query = query.order_by(columns.chain, columns.seq)
    for row in source.execution_options(yield_per=_STEP).execute(query):
        yield StoredRow(*row)


def write_fresh(target: Path, rows: Iterable[StoredRow], source: Connection | None = None) -> None:
    """Make a database of these entries, in order of chain and place; gaps stay gaps.

    Summaries that ``source`` keeps are taken along.

    Raises:
        StoreUnavailable: the place refuses, or an entry can't be read.
    """
    writing = Writing.begin(target)
    try:
        connection = writing.connection
        (guard,) = (one for one in schema.GUARDS["sqlite"] if _PLACE_GUARD in one)
        with connection.begin():
            connection.exec_driver_sql(f"DROP TRIGGER {_PLACE_GUARD}")
            _fill(connection, rows, source)
            connection.exec_driver_sql(guard)
            Projections(target, connection).rebuild()
        # A copy that waits on a shelf is a single file, without a log beside it.
        driver(connection).execute("PRAGMA journal_mode = DELETE")
    finally:
        writing.close()


def fill_server(target: Server, source: Connection, name: str) -> None:
    """Put all that a database holds into an empty one on a server, and check it there.

    All of it is one transaction. ``name`` is what a sentence calls the source.

    Raises:
        CannotWrite: the server's database holds records already.
        Damaged: what has arrived there has a fault; nothing stays of it.
        StoreUnavailable: the server refuses, or an entry can't be read.
    """
    writing = Writing.begin(target)
    try:
        connection = writing.connection
        with connection.begin():
            if connection.execute(select(schema.journal.c.seq).limit(1)).first() is not None:
                raise CannotWrite(
                    f"{target.name} holds records already: ask for an empty database to restore "
                    "into."
                )
            _fill(connection, stored_rows(source), source)
            Projections(target, connection).rebuild()
            if found := journal_check.faults(connection):
                raise Damaged(f"{name} did not arrive whole: {found[0]} Nothing was changed.")
    finally:
        writing.close()


def _fill(into: Connection, rows: Iterable[StoredRow], source: Connection | None) -> None:
    _insert(into, schema.journal, (row._asdict() for row in rows))
    if source is None or migrate.version_number(source) != schema.VERSIONS[-1]:
        return
    for table in (schema.tank_summary, schema.summary_rows):
        found = source.execution_options(yield_per=_STEP).execute(select(table))
        _insert(into, table, (dict(row) for row in found.mappings()))


def _insert(into: Connection, table: Table, rows: Iterator[dict[str, Any]]) -> None:
    while some := list(islice(rows, _STEP)):
        into.execute(insert(table), some)
