"""What can go wrong with the store, in two families.

::

    StoreUnavailable   tell the shed: its text is one sentence that says what to do
    ├── StoreInUse     another program writes this database
    ├── NotADatabase   there is no journal of ours at this place
    ├── Damaged        it is ours, but its file can't be read any more
    ├── LaterVersion   a newer version of the program made it
    ├── OlderVersion   it must be brought up to date first, and was opened read-only
    ├── DiskFull       nothing was written; works again once there is room
    ├── CannotWrite    the folder, the file or the disk refuses
    ├── Unreachable    the database server does not answer
    ├── ChainTaken     another record has this name: begin it under another
    └── NotKnown       it stopped answering in the moment of saving: look before trying again
    StoreBug           tell the developers: the program asked for nonsense

Nothing else leaves :mod:`washmon.store`: :func:`told` turns what SQLite, PostgreSQL, SQLAlchemy and
the operating system raise into one of these.
"""

import errno
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Protocol

from sqlalchemy.exc import DBAPIError, OperationalError, SQLAlchemyError


class NamedPlace(Protocol):
    """A database elsewhere than in a file: sentences need its name, and its text in full."""

    @property
    def name(self) -> str:
        """What sentences call it."""


Place = Path | NamedPlace

NOT_TEXT = "what should be text is none"


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


class Unreachable(StoreUnavailable):
    """The database server does not answer; nothing was written, works again once it does."""


class NotKnown(StoreUnavailable):
    """The server stopped answering in the moment of saving: it may be there or not."""


class ChainTaken(StoreUnavailable):
    """The name of a chain that is to begin is taken; nothing was written."""


class StoreBug(Exception):  # noqa: N818 - says what it is
    """The program asked the store for something that makes no sense."""


def in_use(path: Place) -> StoreInUse:
    """Say that another program writes this database."""
    return StoreInUse(
        f"Another program is writing {path.name}: close it first, or open the database read-only."
    )


def not_a_database(path: Place) -> NotADatabase:
    """Say that the file is something else."""
    return NotADatabase(
        f"{path} is not a washmon database. It was left as it is: choose another file."
    )


def no_file(path: Path) -> NotADatabase:
    """Say that a path leads to something that can't be a database."""
    return NotADatabase(f"{path} is no file that could hold records: choose another one.")


def damaged(path: Place, what: str = "") -> Damaged:
    """Say that the file can't be read."""
    detail = f" ({what})" if what else ""
    return Damaged(
        f"The database {path.name} is damaged{detail}: keep the file, and go on with a backup."
    )


def not_known(path: Place) -> NotKnown:
    """Say that only the server knows whether something was saved."""
    return NotKnown(
        f"The database {path.name} stopped answering while this was being saved: it is not known "
        "yet whether it is there. Do not enter it again before it is said here."
    )


def chain_taken(chain: str) -> ChainTaken:
    """Say that there is a record of this name."""
    return ChainTaken(f"There is a record {chain} already: nothing was saved.")


def disk_full(path: Place) -> DiskFull:
    """Say that there is no room."""
    return DiskFull(
        f"The disk that holds {path.name} is full, so this was not saved. What was saved before is "
        "safe: free some space, then try again."
    )


def cannot_write(path: Place, why: str) -> CannotWrite:
    """Say that the place refuses."""
    return CannotWrite(
        f"{path} can't be used ({why}): choose another place, or ask for the right to write there."
    )


@contextmanager
def told(path: Place) -> Iterator[None]:
    """Turn what SQLite, SQLAlchemy and the system raise into the two families.

    Raises:
        StoreUnavailable: with a sentence for a person.
        StoreBug: for all that can't be explained to one.
    """
    try:
        yield
    except DBAPIError as error:
        if isinstance(error.orig, sqlite3.Error):
            raise _of_sqlite(path, error.orig) from error
        raise _of_server(path, error) from error
    except sqlite3.Error as error:
        raise _of_sqlite(path, error) from error
    except SQLAlchemyError as error:
        raise StoreBug(str(error)) from error
    except UnicodeDecodeError as error:  # SQLite's driver chokes on names and on its own complaints
        raise damaged(path, NOT_TEXT) from error
    except OSError as error:
        raise _of_system(path, error) from error


def code(error: BaseException | None) -> str:
    """Return SQLite's name for an error, such as SQLITE_FULL, or an empty text."""
    return str(getattr(error, "sqlite_errorname", ""))


_BROKEN = {"CORRUPT", "CONSTRAINT", "MISMATCH", "FORMAT", "TOOBIG", "SCHEMA"}
"""Our own tables and texts are known to fit each other: where they do not, bytes are wrong."""
_NOT_AS_MADE = ("no such", "no column", "unsupported file format", "malformed")
"""What is said of a table or a file that is not as this program makes them."""
_REFUSED = {"READONLY", "PERM", "CANTOPEN", "IOERR", "AUTH", "NOLFS"}


def _of_sqlite(path: Place, error: sqlite3.Error) -> StoreUnavailable | StoreBug:
    told: StoreUnavailable | StoreBug
    match code(error).split("_")[1:]:
        case ["FULL", *_] | ["IOERR", "SHMSIZE", *_]:
            told = disk_full(path)
        case ["NOTADB", *_]:
            told = not_a_database(path)
        case ["BUSY" | "LOCKED", *_]:
            told = in_use(path)
        case [kind, *_] if kind in _BROKEN:
            told = damaged(path, str(error))
        case [kind, *_] if kind in _REFUSED:
            told = cannot_write(path, str(error))
        case ["ERROR"] if any(words in str(error) for words in _NOT_AS_MADE):
            told = damaged(path, str(error))
        case [] if "decode" in str(error):
            told = damaged(path, NOT_TEXT)
        case _:
            told = StoreBug(f"{code(error)} {error}".strip())
    return told


def _of_server(path: Place, error: DBAPIError) -> StoreUnavailable | StoreBug:
    """Judge by SQLSTATE: https://www.postgresql.org/docs/current/errcodes-appendix.html."""
    said = " ".join(str(error.orig).split())
    told: StoreUnavailable | StoreBug
    match str(getattr(error.orig, "sqlstate", None) or ""):
        case "53100":
            told = disk_full(path)
        case "55P03" | "40001" | "40P01":
            told = StoreInUse(
                f"Another program is writing the same shift in {path.name}: try again in a moment."
            )
        case "XX001" | "XX002":
            told = damaged(path, said)
        case "42501" | "25006":
            told = cannot_write(path, said)
        case state if state[:2] in {"08", "53", "57"} or _is_silent(error, state):
            told = Unreachable(
                f"The database {path.name} can't be reached ({said}): nothing was saved. Look at "
                "its address, the network and the server, then try again."
            )
        case state:
            told = StoreBug(f"{state} {error}")
    return told


def breaks_off(error: DBAPIError) -> bool:
    """Return whether nobody can know what became of a commit that ended so.

    The server is gone, rather than that it refuses; or the disk did not take what was written.
    """
    if isinstance(error.orig, sqlite3.Error):
        return code(error.orig).startswith("SQLITE_IOERR")
    state = str(getattr(error.orig, "sqlstate", None) or "")
    return state[:2] in {"08", "57"} or _is_silent(error, state)


def _is_silent(error: DBAPIError, state: str) -> bool:
    return error.connection_invalidated or (not state and isinstance(error, OperationalError))


def _of_system(path: Place, error: OSError) -> StoreUnavailable:
    if error.errno in {errno.ENOSPC, errno.EDQUOT}:
        return disk_full(path)
    return cannot_write(path, error.strerror or str(error))
