"""Backups in a folder of choice: made and checked, thinned by a scheme, restored with one call."""

import os
import re
import shutil
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from sqlalchemy import Engine

from washmon.line.journal import SITE
from washmon.line.registers import Paper
from washmon.line.registry import registers_of
from washmon.store import journal_check, migrate
from washmon.store.engine import make_empty, make_folder, reading_engine, take_lock
from washmon.store.errors import CannotWrite, Damaged, NotADatabase, not_a_database, told
from washmon.store.fresh import fill_server
from washmon.store.papers import copy_missing
from washmon.store.place import Server
from washmon.store.reading import Reading
from washmon.whole_file import sync_folder

ALL_FOR = timedelta(days=7)
WEEKLY_FOR = timedelta(days=365)

_STAMP = "%Y%m%dT%H%M%SZ"
_STAMPED = r"(?:\d{8}T\d{6}Z)"
_PAPERS = "-papers"
_BESIDE = ("", "-wal", "-shm")


@dataclass(frozen=True, slots=True, order=True)
class Backup:
    """A backup in a folder, by its name; ``made_at`` in UTC."""

    made_at: datetime
    path: Path
    lacks: tuple[str, ...] = ()
    """In sentences, the papers whose content was missing or changed, so that it has none of it."""


def back_up(store: Reading, folder: Path, now: datetime) -> Backup:
    """Copy a database into a folder, check the copy, then remove backups that the scheme lets go.

    The folder must be there: one that vanished may be a drive that nobody plugged in, and a copy
    in its place on the disk that it should protect from would be none.

    Raises:
        CannotWrite: the folder has vanished, or refuses.
        DiskFull, Damaged: see :meth:`washmon.store.reading.Reading.backup`.
    """
    if not folder.is_dir():
        raise CannotWrite(
            f"The folder for backups, {folder}, is not there: plug in its drive, or choose another "
            "folder. The database itself is not affected."
        )
    stem = _stem(store.place.name)
    stamp = now.astimezone(UTC).replace(microsecond=0)
    backup = Backup(stamp, folder / f"{stem}-{stamp.strftime(_STAMP)}.db")
    store.backup(backup.path)
    lacks = copy_papers(store, folder / f"{stem}{_PAPERS}")
    with told(folder):
        for old in to_remove(backups_in(folder, stem), now):
            old.path.unlink(missing_ok=True)
    return replace(backup, lacks=tuple(lacks))


def copy_papers(store: Reading, target: Path) -> list[str]:
    """Copy into a folder what it lacks of the papers' content; return what could not be copied.

    Raises:
        CannotWrite, DiskFull: the folder refuses.
    """
    known = registers_of(store.entries(SITE)).of(Paper)
    return copy_missing(known, store.papers_folder, target) if known else []


def papers_of_backup(backup: Path) -> Path:
    """Return the folder in which the papers of a backup lie: one for all backups of a database."""
    match = re.fullmatch(rf"(.+)-{_STAMPED}\.db", backup.name)
    return backup.with_name(f"{match[1] if match else backup.stem}{_PAPERS}")


def backups_of(store: Reading, folder: Path) -> list[Backup]:
    """Return the backups of a database in a folder, newest first; none if it has vanished."""
    return sorted(backups_in(folder, _stem(store.place.name)), reverse=True)


def backups_in(folder: Path, stem: str) -> list[Backup]:
    """Return the backups whose names begin so, oldest first."""
    name = re.compile(re.escape(stem) + r"-(\d{8}T\d{6}Z)\.db")
    found = []
    for path in folder.iterdir() if folder.is_dir() else ():
        if match := name.fullmatch(path.name):
            made_at = datetime.strptime(match[1], _STAMP).replace(tzinfo=UTC)
            found.append(Backup(made_at, path))
    return sorted(found)


def to_remove(backups: Iterable[Backup], now: datetime) -> list[Backup]:
    """Return those that need not be kept: all of 7 days, one a week for a year, then one a month.

    The newest of a week (ISO 8601, from Monday) or month is the one that stays.
    """
    kept: set[tuple[str, int, int]] = set()
    gone = []
    for backup in sorted(backups, reverse=True):
        age = now - backup.made_at
        if age <= ALL_FOR:
            continue
        week, made_at = backup.made_at.isocalendar(), backup.made_at
        of = ("week", week.year, week.week)
        if age > WEEKLY_FOR:
            of = ("month", made_at.year, made_at.month)
        if of in kept:
            gone.append(backup)
        kept.add(of)
    return gone


def restore(backup: Path, target: Path, now: datetime) -> Path | None:
    """Put a backup in the place of a database; return where the replaced one lies now, if any.

    The copy is checked before anything is moved. The replaced files keep their content under a new
    name beside the old one.

    Raises:
        NotADatabase, Damaged: the backup is no whole database; nothing was changed.
        StoreInUse: a program is writing the target.
        DiskFull, CannotWrite: nothing was changed.
    """
    with told(backup):
        if not backup.is_file():
            raise NotADatabase(f"There is no backup at {backup}: choose another.")
    with told(target):
        target = target.resolve()
        make_folder(target.parent)
        part = target.with_name(target.name + ".part")
        with take_lock(target):
            _finish(target)
            try:
                _copy(backup, part)
                _check(part, backup)
                aside = _kept_aside(target, now)
                part.replace(_ready(target))
                sync_folder(target.parent)
            finally:
                part.unlink(missing_ok=True)
            _finish(target)
    return aside


def finish_restore(target: Path) -> None:
    """Bring a restore to its end that was cut off when all was ready for it.

    Raises:
        StoreUnavailable: another program writes there, or the place refuses.
    """
    if _ready(target).exists():
        with told(target), take_lock(target):
            _finish(target)


def _ready(target: Path) -> Path:
    """Return the name of a backup that was copied and checked, while the old one is kept aside."""
    return target.with_name(target.name + ".restoring")


def _finish(target: Path) -> None:
    ready = _ready(target)
    if not ready.exists():
        return
    # The log first: under the new file's name it would be taken for the new file's.
    for ending in reversed(_BESIDE[1:]):
        target.with_name(target.name + ending).unlink(missing_ok=True)
    ready.replace(target)
    sync_folder(target.parent)


def restore_to_server(backup: Path, target: Server) -> None:
    """Put a backup into an empty database on a server, where it is checked again.

    Raises:
        NotADatabase, Damaged: the backup is no whole database; nothing was changed.
        CannotWrite: there are records in the server's database already.
        StoreUnavailable: the server can't be reached, or refuses.
    """
    with told(backup):
        if not backup.is_file():
            raise NotADatabase(f"There is no backup at {backup}: choose another.")
        engine = reading_engine(backup.resolve(), immutable=True)
    try:
        _check_whole(engine, backup)
        with told(target), engine.begin() as source:
            fill_server(target, source, backup.name)
    finally:
        engine.dispose()


def _copy(source: Path, part: Path) -> None:
    part.unlink(missing_ok=True)
    make_empty(part)
    shutil.copyfile(source, part)
    with part.open("rb+") as copied:
        os.fsync(copied.fileno())


def _check(part: Path, backup: Path) -> None:
    engine = reading_engine(part, immutable=True)
    try:
        _check_whole(engine, backup)
    finally:
        engine.dispose()


def _check_whole(engine: Engine, backup: Path) -> None:
    with told(backup), engine.begin() as connection:
        if migrate.version_of(connection, backup) is None:
            raise not_a_database(backup)
        found = journal_check.faults(connection)
    if found:
        raise Damaged(f"The backup {backup.name} is not whole: {found[0]} Choose an older one.")


def _kept_aside(target: Path, now: datetime) -> Path | None:
    """Give the files of a database a second name; under their own they stay as they are."""
    if not target.exists():
        return None
    stamp = now.astimezone(UTC).strftime(_STAMP)
    aside = target.with_name(f"{target.stem}-replaced-{stamp}{target.suffix}")
    if aside.exists():
        raise CannotWrite(f"{aside} is there already: wait a second, then try again.")
    for ending in _BESIDE[:2]:
        old = target.with_name(target.name + ending)
        if old.exists():
            _copy(old, aside.with_name(aside.name + ending))
    sync_folder(target.parent)
    return aside


def _stem(name: str) -> str:
    """Return a name that any drive takes; a server's holds an address."""
    stem = name.removesuffix(".db")
    return re.sub(r"[^\w.-]+", "-", stem, flags=re.ASCII).strip("-.") or "washmon"
