"""What can go wrong with the store, in two families.

::

    StoreUnavailable   tell the shed: its text is one sentence that says what to do
    ├── StoreInUse     another program writes this database
    ├── NotADatabase   there is no journal of ours at this place
    ├── Damaged        it is ours, but its file can't be read any more
    ├── LaterVersion   a newer version of the program made it
    ├── OlderVersion   it must be brought up to date first, and was opened read-only
    ├── DiskFull       nothing was written; works again once there is room
    └── CannotWrite    the folder, the file or the disk refuses
    StoreBug           tell the developers: the program asked for nonsense

Nothing else leaves :mod:`washmon.store`: :func:`told` turns what SQLite, SQLAlchemy and the
operating system raise into one of these.
"""

import errno
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy.exc import DBAPIError, SQLAlchemyError


class StoreUnavailable(Exception):  # noqa: N818 - says what it is
    """The store can't do what was asked, and a person can do something about it."""


class StoreInUse(StoreUnavailable):
    """Another program writes this database."""


class NotADatabase(StoreUnavailable):
    """There is no journal of ours at this place."""


class Damaged(StoreUnavailable):
    """The file can't be read any more."""


class LaterVersion(StoreUnavailable):
    """A newer version of the program made this database."""


class OlderVersion(StoreUnavailable):
    """The database must be brought up to date, but was opened read-only."""


class DiskFull(StoreUnavailable):
    """There is no room left; nothing of what was asked has been written."""


class CannotWrite(StoreUnavailable):
    """The folder, the file or the disk refuses."""


class StoreBug(Exception):  # noqa: N818 - says what it is
    """The program asked the store for something that makes no sense."""


def in_use(path: Path) -> StoreInUse:
    """Say that another program writes this database."""
    return StoreInUse(
        f"Another program is writing {path.name}: close it first, or open the database read-only."
    )


def not_a_database(path: Path) -> NotADatabase:
    """Say that the file is something else."""
    return NotADatabase(
        f"{path} is not a washmon database. It was left as it is: choose another file."
    )


def damaged(path: Path, what: str = "") -> Damaged:
    """Say that the file can't be read."""
    detail = f" ({what})" if what else ""
    return Damaged(
        f"The database {path.name} is damaged{detail}: keep the file, and go on with a backup."
    )


def disk_full(path: Path) -> DiskFull:
    """Say that there is no room."""
    return DiskFull(
        f"The disk that holds {path.name} is full, so this was not saved. What was saved before is "
        "safe: free some space, then try again."
    )


def cannot_write(path: Path, why: str) -> CannotWrite:
    """Say that the place refuses."""
    return CannotWrite(
        f"{path} can't be used ({why}): choose another place, or ask for the right to write there."
    )


@contextmanager
def told(path: Path) -> Iterator[None]:
    """Turn what SQLite, SQLAlchemy and the system raise into the two families.

    Raises:
        StoreUnavailable: with a sentence for a person.
        StoreBug: for all that can't be explained to one.
    """
    try:
        yield
    except DBAPIError as error:
        cause = error.orig if isinstance(error.orig, sqlite3.Error) else None
        raise _of_sqlite(path, cause) if cause else StoreBug(str(error)) from error
    except sqlite3.Error as error:
        raise _of_sqlite(path, error) from error
    except SQLAlchemyError as error:
        raise StoreBug(str(error)) from error
    except OSError as error:
        raise _of_system(path, error) from error


def code(error: BaseException | None) -> str:
    """Return SQLite's name for an error, such as SQLITE_FULL, or an empty text."""
    return str(getattr(error, "sqlite_errorname", ""))


def _of_sqlite(path: Path, error: sqlite3.Error) -> StoreUnavailable | StoreBug:
    match code(error).split("_")[1:]:
        case ["FULL", *_] | ["IOERR", "SHMSIZE", *_]:
            return disk_full(path)
        case ["NOTADB", *_]:
            return not_a_database(path)
        case ["CORRUPT", *_]:
            return damaged(path, str(error))
        case ["BUSY" | "LOCKED", *_]:
            return in_use(path)
        case ["READONLY" | "PERM" | "CANTOPEN" | "IOERR" | "AUTH" | "NOLFS", *_]:
            return cannot_write(path, str(error))
        case _:
            return StoreBug(f"{code(error)} {error}".strip())


def _of_system(path: Path, error: OSError) -> StoreUnavailable:
    if error.errno in {errno.ENOSPC, errno.EDQUOT}:
        return disk_full(path)
    return cannot_write(path, error.strerror or str(error))
