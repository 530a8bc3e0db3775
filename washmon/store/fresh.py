"""A fresh file from the entries of another database: a server's backup, or what damage has left."""

from collections.abc import Iterable
from itertools import islice
from pathlib import Path
from typing import NamedTuple

from sqlalchemy import insert

from washmon.store import schema
from washmon.store.engine import driver
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


def write_fresh(target: Path, rows: Iterable[StoredRow]) -> None:
    """Make a database of these entries, in order of chain and place; gaps stay gaps.

    Raises:
        StoreUnavailable: the place refuses, or an entry can't be read.
    """
    writing = Writing.begin(target)
    try:
        connection = writing.connection
        (guard,) = (one for one in schema.GUARDS["sqlite"] if _PLACE_GUARD in one)
        with connection.begin():
            connection.exec_driver_sql(f"DROP TRIGGER {_PLACE_GUARD}")
            left = iter(rows)
            while some := [row._asdict() for row in islice(left, _STEP)]:
                connection.execute(insert(schema.journal), some)
            connection.exec_driver_sql(guard)
            Projections(target, connection).rebuild()
        # A copy that waits on a shelf is a single file, without a log beside it.
        driver(connection).execute("PRAGMA journal_mode = DELETE")
    finally:
        writing.close()
