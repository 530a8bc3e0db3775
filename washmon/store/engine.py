"""Connections to SQLite: one that writes durably, others that only read.

SQL that is written by SQLAlchemy once and then run as text: half the cost of an append.
"""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any
from urllib.parse import quote

from filelock import FileLock, Timeout
from sqlalchemy import Connection, Engine, QueuePool, create_engine, event
from sqlalchemy.sql.expression import ClauseElement

from washmon.store.errors import StoreBug, in_use

BUSY_TIMEOUT_MS = 5000
_OWN, _SHARED = 0o600, 0o644
"""Rights of a new file; the second are those that SQLite gives by itself."""

DURABLE = (
    f"busy_timeout = {BUSY_TIMEOUT_MS}",  # before anything that may have to wait
    "synchronous = FULL",  # a commit has reached the disk when it returns
    "fullfsync = ON",  # macOS: through the drive's own cache as well
    "checkpoint_fullfsync = ON",
    "foreign_keys = ON",
)


def take_lock(path: Path) -> FileLock:
    """Take the right to write a database; the system gives it back when the process dies.

    Raises:
        StoreInUse: another program has it.
        OSError: the folder can't be written.
    """
    beside = path.with_name(path.name + ".lock")
    lock = FileLock(beside, mode=file_mode(path.parent), timeout=0, thread_local=False)
    try:
        lock.acquire()
    except Timeout as error:
        raise in_use(path) from error
    return lock


def make_folder(folder: Path) -> None:
    """Make a folder that nobody else may look into, where there is none yet."""
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)


def file_mode(folder: Path) -> int:
    """Return the rights of a new file: the user's own, but in a folder that is shared.

    A folder that others may write in, or that belongs to somebody else, is: who made it so wants
    its files to be shared.
    """
    if os.name == "nt":  # a folder of the user's hands down its own list of rights
        return _SHARED
    found = folder.stat()
    shared = found.st_mode & 0o022 or found.st_uid != os.geteuid()
    return _SHARED if shared else _OWN


def make_empty(path: Path) -> None:
    """Make an empty file with the rights of :func:`file_mode`, where there is none.

    The files that SQLite puts beside it get the same ones.
    """
    with suppress(FileExistsError):
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, file_mode(path.parent)))


def writing_engine(path: Path) -> Engine:
    """Return an engine whose transactions take the write lock at once and end on the disk."""
    engine = _engine(path, "mode=rwc", begin="BEGIN IMMEDIATE")

    @event.listens_for(engine, "connect")
    def make_durable(db: sqlite3.Connection, _record: object) -> None:
        for pragma in DURABLE:
            db.execute(f"PRAGMA {pragma}")

    return engine


def reading_engine(path: Path, *, immutable: bool = False) -> Engine:
    """Return an engine that can't write.

    ``immutable`` tells SQLite that nobody else can write either, so it needs no lock files.
    """
    return _engine(path, "mode=ro" + "&immutable=1" * immutable, begin="BEGIN")


def driver(connection: Connection) -> sqlite3.Connection:
    """Return the bare connection underneath, for what can't run inside a transaction."""
    db = connection.connection.driver_connection
    if not isinstance(db, sqlite3.Connection):
        raise StoreBug(f"Expected SQLite, got {db!r}.")
    return db


@contextmanager
def any_text(connection: Connection) -> Iterator[None]:
    """Read texts that are none with a mark for each wrong byte, so that their place can be named.

    It takes longer than the usual way, which stops at such a text.
    """
    db = driver(connection)
    db.text_factory = lambda raw: raw.decode("utf-8", "replace")
    try:
        yield
    finally:
        db.text_factory = str


def copy_to(db: sqlite3.Connection, target: Path) -> None:
    """Copy a database, as it is at this moment, into one file that has reached the disk.

    That its name has, too, is for whoever gives it the one it is to keep.
    """
    target.unlink(missing_ok=True)
    make_empty(target)
    copy = sqlite3.connect(target, isolation_level=None)
    try:
        copy.execute("PRAGMA synchronous = FULL")
        db.backup(copy)
        # A copy that waits on a shelf is a single file, without a log beside it.
        copy.execute("PRAGMA journal_mode = DELETE")
    finally:
        copy.close()


def _engine(path: Path, options: str, *, begin: str) -> Engine:
    posix = path.absolute().as_posix()  # a URI knows no working folder
    root = "" if posix.startswith("/") else "/"  # a drive letter follows
    uri = f"file://{root}{quote(os.fsencode(posix), safe='/:')}?{options}"

    def connect() -> sqlite3.Connection:
        return sqlite3.connect(
            uri,
            uri=True,
            isolation_level=None,  # transactions begin where we say so
            check_same_thread=False,  # the pool hands a connection to one thread at a time
            timeout=BUSY_TIMEOUT_MS / 1000,
        )

    engine = create_engine("sqlite://", creator=connect, poolclass=QueuePool)

    @event.listens_for(engine, "begin")
    def begin_transaction(connection: Connection) -> None:
        connection.exec_driver_sql(begin)

    return engine


class Ready:
    """A statement in the words of one connection's database, its values still open.

    Values go to the driver as they are, so they must be plain texts, numbers and bytes.
    """

    def __init__(self, connection: Connection, statement: ClauseElement, *columns: str) -> None:
        """Write the statement out; ``columns`` names those that it sets, if not all."""
        self._connection = connection
        compiled = statement.compile(dialect=connection.dialect, column_keys=list(columns) or None)
        self._sql = str(compiled)
        self._order: list[str] | None = getattr(compiled, "positiontup", None)

    def run(self, *rows: dict[str, Any]) -> int:
        """Run it for each row of values; return how many rows it changed."""
        values = [self._values(row) for row in rows]
        one_or_all: Any = values[0] if len(values) == 1 else values
        return self._connection.exec_driver_sql(self._sql, one_or_all).rowcount

    def first(self, **values: Any) -> tuple[Any, ...] | None:  # noqa: ANN401 - a database has all
        """Run it and return the first row."""
        row = self._connection.exec_driver_sql(self._sql, self._values(values)).first()
        return None if row is None else tuple(row)

    def _values(self, row: dict[str, Any]) -> tuple[Any, ...] | dict[str, Any]:
        return row if self._order is None else tuple(row[name] for name in self._order)
