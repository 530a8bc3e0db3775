"""A database file that is no longer in its place: seen at once, kept beside, taken up again.

Where the system lets an open file go, a deleted or replaced database takes entries as before, and
all of them vanish with the program. So the open file is compared with what lies at its path, and
copied into a rescue file beside it while it can still be read.
"""

import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from itertools import count
from pathlib import Path
from typing import NamedTuple

from sqlalchemy import Connection, insert, select

from washmon.store import journal_check
from washmon.store.engine import (
    copy_to,
    driver,
    make_folder,
    reading_engine,
    take_lock,
)
from washmon.store.errors import StoreUnavailable, told
from washmon.store.fresh import StoredRow, stored_rows
from washmon.store.projecting import Projections
from washmon.store.schema import journal
from washmon.store.writing import Writing
from washmon.whole_file import OWN, sync_folder, whole_file

_BESIDE = ("", "-wal", "-shm")
_RESCUE, _DONE = "-rescue", "-taken-up"


class Identity(NamedTuple):
    """What the system knows the files of an open database by: device and number of each."""

    files: tuple[tuple[int, int], ...]

    @classmethod
    def of(cls, path: Path) -> "Identity | None":
        """Return what lies at a path now; None where a file of the database is not there."""
        try:
            found = [os.stat(f"{path}{ending}") for ending in _BESIDE]  # noqa: PTH116 - half the time
        except OSError:
            return None
        return cls(tuple((one.st_dev, one.st_ino) for one in found))


def away(path: Path, rescue: Path) -> str:
    """Say that a database is not in its place any more."""
    return (
        f"{path.name} is no longer in its place: it was deleted, moved or replaced. Entries are "
        f"kept in {rescue.name} beside it, and put back when the program is closed or started "
        "again. Find out what took the file away."
    )


def copy_and_leave(connection: Connection, home: Path, left: Path, known: Identity) -> Path:
    """Copy a database that was taken from its place beside ``home``; return the copy.

    Args:
        connection: still sees the database, wherever its file has gone.
        home: where the database belongs.
        left: where it was last, and is no more.
        known: what its files were there.

    Raises:
        StoreUnavailable: there is no rescue file.
    """
    beside = rescue_file(home)
    copy_beside(connection, beside)
    leave(connection, left, known)
    return beside


def rescue_file(path: Path) -> Path:
    """Return a free name for a rescue file beside a database."""
    return _free(path, _RESCUE)


def copy_beside(connection: Connection, rescue: Path) -> None:
    """Copy what an open connection still sees of its database, wherever its file has gone.

    Raises:
        StoreUnavailable: there is no rescue file.
    """
    part = rescue.with_name(rescue.name + ".part")
    with told(rescue):
        try:
            rescue.parent.mkdir(parents=True, exist_ok=True)
            copy_to(driver(connection), part)
            part.replace(rescue)
            sync_folder(rescue.parent)
        finally:
            part.unlink(missing_ok=True)


def leave(connection: Connection, path: Path, known: Identity) -> None:
    """Take the log from a place that its database has left: it would be taken for another's."""
    with suppress(sqlite3.Error):  # what was moved is whole by itself, then
        driver(connection).execute("PRAGMA wal_checkpoint(TRUNCATE)")
    for ending, files in zip(_BESIDE[1:], known.files[1:], strict=True):
        with suppress(OSError):
            old = path.with_name(path.name + ending)
            found = old.stat()
            if (found.st_dev, found.st_ino) == files:
                old.unlink()


@contextmanager
def while_closing(path: Path, home: Path) -> Iterator[None]:
    """Keep what a database holds, should it be taken away in the moment of being closed.

    Raises:
        StoreUnavailable: there is no rescue file.
    """
    if os.name == "nt":  # there an open file can't be taken away
        yield
        return
    try:
        file = path.open("rb")
    except OSError:  # it is gone already, which was told
        yield
        return
    with file:
        yield
        if _same(os.fstat(file.fileno()), path):
            return
        rescue = rescue_file(home)
        with told(rescue):
            make_folder(rescue.parent)
            with whole_file(rescue, OWN) as copy:
                shutil.copyfileobj(file, copy)


def _same(open_file: os.stat_result, path: Path) -> bool:
    try:
        there = path.stat()
    except OSError:
        return False
    return (there.st_dev, there.st_ino) == (open_file.st_dev, open_file.st_ino)


def put_back(path: Path) -> None:
    """Where there is no database, put the rescue file in its place that was left beside it.

    Raises:
        StoreUnavailable: the file, or its place, refuses.
    """
    rescue = next(_left_beside(path), None)
    if path.exists() or rescue is None:
        return
    with told(rescue):
        Writing.begin(rescue).close()  # what its log holds goes into the file itself
    with told(path), take_lock(path):
        if not path.exists():
            rescue.rename(path)
            sync_folder(path.parent)


def take_up(connection: Connection, path: Path) -> str:
    """Bring what rescue files beside a database have, and it lacks, into it.

    Returns:
        What is to be told of them, or an empty text.

    Raises:
        StoreUnavailable: the database can't be written.
    """
    said = ""
    for rescue in list(_left_beside(path)):
        try:
            with told(rescue):
                Writing.begin(rescue).close()  # what its log holds goes into the file itself
                with take_lock(rescue):
                    entries, why_not = _taken_up(connection, path, rescue)
        except StoreUnavailable as trouble:
            entries, why_not = 0, str(trouble)
        if why_not:
            said = (
                f"{rescue.name} holds entries that could not be put back into {path.name} "
                f"({why_not}). Keep both files, and ask for help."
            )
            continue
        with told(rescue):
            rescue.rename(_free(path, _DONE))
        said = said or (
            f"{entries} entries were put back into {path.name} from {rescue.name}, which was kept "
            "when the database was taken away."
        ) * bool(entries)
    return said


def _taken_up(connection: Connection, path: Path, rescue: Path) -> tuple[int, str]:
    """Return how many entries were put back, and why others were not."""
    engine = reading_engine(rescue, immutable=True)
    try:
        with engine.begin() as source:
            if found := journal_check.faults(source):
                return 0, str(found[0])
            with told(path), connection.begin():
                missing, differing = _compared(connection, source)
                if missing:
                    connection.execute(insert(journal), [row._asdict() for row in missing])
                    Projections(path, connection).rebuild()
    finally:
        engine.dispose()
    names = ", ".join(sorted(differing))
    return len(missing), f"other entries stand in their place in {names}" if names else ""


def _compared(here: Connection, there: Connection) -> tuple[list[StoredRow], set[str]]:
    """Return the entries that are missing here, and the chains that go on differently."""
    missing: list[StoredRow] = []
    differing: set[str] = set()
    known: dict[int, str] = {}
    chain: str | None = None
    for row in stored_rows(there):
        if row.chain != chain:
            chain, known = row.chain, _hashes(here, row.chain)
            if len(known) != max(known, default=-1) + 1:
                differing.add(chain)  # it has gaps, which are for somebody to look at
        digest = known.get(row.seq)
        if digest is not None and digest != row.hash:
            differing.add(chain)
        elif digest is None and chain not in differing:
            missing.append(row)
    return missing, differing


def _hashes(connection: Connection, chain: str) -> dict[int, str]:
    rows = connection.execute(select(journal.c.seq, journal.c.hash).where(journal.c.chain == chain))
    return {row.seq: row.hash for row in rows}


def _left_beside(path: Path) -> Iterator[Path]:
    for one in _names(path, _RESCUE):
        if not one.exists():
            return
        yield one


def _free(path: Path, mark: str) -> Path:
    return next(one for one in _names(path, mark) if not one.exists())


def _names(path: Path, mark: str) -> Iterator[Path]:
    for number in count(1):
        ending = "" if number == 1 else f"-{number}"
        yield path.with_name(f"{path.stem}{mark}{ending}{path.suffix}")
