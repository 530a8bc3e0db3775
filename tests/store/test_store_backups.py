import errno
import os
import shutil
import sqlite3
from collections.abc import Callable
from datetime import UTC, datetime, timedelta, timezone
from itertools import pairwise
from pathlib import Path

import pytest

from tests.some import some
from tests.store.shed import DAWN, minutes, note, run_shift
from washmon.store import (
    CannotWrite,
    Damaged,
    DiskFull,
    NotADatabase,
    Store,
    StoreInUse,
    back_up,
    backups,
    backups_of,
    restore,
)
from washmon.store.backups import ALL_FOR, WEEKLY_FOR, Backup, to_remove

DAY = timedelta(days=1)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    folder = tmp_path / "stick"
    folder.mkdir()
    return folder


def test_a_backup_at_shift_end_is_a_checked_database_named_by_its_time(
    where: str, folder: Path
) -> None:
    with Store.open(where) as store:
        run_shift(store, "a")
        made = back_up(store, folder, DAWN.astimezone(timezone(timedelta(hours=-7))))
        assert made.made_at == DAWN
        assert [path.name for path in folder.iterdir()] == [made.path.name]
        assert made.path.name.endswith("-20260507T060000Z.db")
        assert backups_of(store, folder) == [made]
        with Store.open(made.path, read_only=True) as copy:
            assert copy.verify() == []
            assert copy.rows("a") == store.rows("a")
            assert copy.shifts() == store.shifts()


def test_a_folder_that_vanished_gets_a_clear_sentence_and_is_not_made(
    where: str, tmp_path: Path
) -> None:
    with Store.open(where) as store:
        with pytest.raises(CannotWrite, match="plug in its drive, or choose another folder"):
            back_up(store, tmp_path / "stick", DAWN)
        assert not (tmp_path / "stick").exists()
        assert backups_of(store, tmp_path / "stick") == []


def test_a_full_drive_leaves_the_older_backups_alone(
    tmp_path: Path, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(_db: sqlite3.Connection, target: Path) -> None:
        target.write_bytes(b"half")
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with Store.open(tmp_path / "shed.db") as store:
        old = back_up(store, folder, DAWN - 900 * DAY)
        older = back_up(store, folder, DAWN - 901 * DAY)
        monkeypatch.setattr("washmon.store.reading.copy_to", fail)
        with pytest.raises(DiskFull):
            back_up(store, folder, DAWN)
        assert backups_of(store, folder) == [old, older]
        assert len(list(folder.iterdir())) == 2


def test_backups_of_other_databases_and_other_files_are_never_removed(
    tmp_path: Path, folder: Path
) -> None:
    others = ["barn-20200101T000000Z.db", "shed-2-20200101T000000Z.db", "shed-old.db", "list.txt"]
    for name in others:
        (folder / name).touch()
    with Store.open(tmp_path / "shed.db") as store:
        for days in (901, 900, 0):
            back_up(store, folder, DAWN - days * DAY)
        assert {path.name for path in folder.iterdir()} == {
            *others,
            "shed-20231119T060000Z.db",
            "shed-20260507T060000Z.db",
        }


def made(*days_ago: float) -> list[Backup]:
    return [Backup(DAWN - days * DAY, Path(f"{days}.db")) for days in days_ago]


def test_all_backups_of_a_week_are_kept() -> None:
    assert to_remove(made(0, 0.1, 0.2, 1, 3, 6.9, 7), DAWN) == []


def test_after_a_week_one_a_week_is_kept_and_after_a_year_one_a_month() -> None:
    # DAWN is Thursday, 7 May 2026, of ISO week 19.
    daily = made(*range(3 * 365))
    gone = to_remove(daily, DAWN)
    kept = [backup for backup in daily if backup not in gone]
    recent = [one for one in kept if DAWN - one.made_at <= ALL_FOR]
    weekly = [one for one in kept if ALL_FOR < DAWN - one.made_at <= WEEKLY_FOR]
    monthly = [one for one in kept if DAWN - one.made_at > WEEKLY_FOR]
    assert len(recent) == 8
    weeks = [one.made_at.isocalendar()[:2] for one in weekly]
    assert len(set(weeks)) == len(weeks) == 52
    assert all(one.made_at.isoweekday() == 7 for one in some(weekly[1:]))  # the newest of its week
    months = [(one.made_at.year, one.made_at.month) for one in monthly]
    assert len(set(months)) == len(months) == 25
    assert to_remove(kept, DAWN) == []


def test_thinning_every_day_comes_to_the_same_as_thinning_once() -> None:
    kept: list[Backup] = []
    for day in range(800):
        now = DAWN + day * DAY
        kept.append(Backup(now, Path(f"{day}.db")))
        for gone in to_remove(kept, now):
            kept.remove(gone)
    every = [Backup(DAWN + day * DAY, Path(f"{day}.db")) for day in range(800)]
    once = [one for one in every if one not in to_remove(every, DAWN + 799 * DAY)]
    assert {one.made_at for one in kept} >= {one.made_at for one in once[-8:]}
    assert len(kept) <= len(once) + 2
    gaps = [later.made_at - one.made_at for one, later in pairwise(kept)]
    assert max(gaps) <= timedelta(days=62)


@pytest.fixture
def backup(tmp_path: Path, folder: Path) -> Path:
    with Store.open(tmp_path / "shed.db") as store:
        run_shift(store, "a")
        path = back_up(store, folder, DAWN).path
        run_shift(store, "b", 60)
    return path


def test_a_restored_database_is_the_backup_and_the_replaced_one_is_kept(
    tmp_path: Path, backup: Path
) -> None:
    target = tmp_path / "shed.db"
    aside = restore(backup, target, minutes(90))
    assert aside == tmp_path / "shed-replaced-20260507T073000Z.db"
    with Store.open(target) as store:
        assert [row.chain for row in store.shifts()] == ["a"]
        store.append("a", [note(100)], minutes(100))
        assert store.verify() == []
    with Store.open(aside, read_only=True) as replaced:
        assert [row.chain for row in replaced.shifts()] == ["b", "a"]
    assert not list(tmp_path.glob("*.part"))
    with Store.open(backup, read_only=True) as unchanged:
        assert len(unchanged.entries("a")) == 3


def test_a_log_that_a_crash_left_goes_aside_with_its_file(tmp_path: Path, backup: Path) -> None:
    target = tmp_path / "shed.db"
    for ending in ("-wal", "-shm"):
        target.with_name(target.name + ending).write_bytes(b"left over")
    aside = restore(backup, target, minutes(90))
    assert aside is not None
    assert aside.with_name(aside.name + "-wal").read_bytes() == b"left over"
    assert not aside.with_name(aside.name + "-shm").exists()  # SQLite makes it anew from the log
    assert not target.with_name("shed.db-wal").exists()


def test_a_backup_can_be_restored_where_nothing_was(tmp_path: Path, backup: Path) -> None:
    assert restore(backup, tmp_path / "new" / "shed.db", DAWN) is None
    with Store.open(tmp_path / "new" / "shed.db") as store:
        assert len(store.shifts()) == 1


def test_a_database_in_use_is_not_replaced(tmp_path: Path, backup: Path) -> None:
    with Store.open(tmp_path / "shed.db") as store:
        with pytest.raises(StoreInUse, match="close it first"):
            restore(backup, tmp_path / "shed.db", DAWN)
        assert len(store.shifts()) == 2


def _flip(path: Path) -> None:
    whole = bytearray(path.read_bytes())
    place = whole.rindex(b"LB-0507-3")
    whole[place] ^= 1
    path.write_bytes(whole)


@pytest.mark.parametrize(
    ("harm", "family"),
    [
        (_flip, Damaged),
        (lambda path: path.write_bytes(path.read_bytes()[:9000]), Damaged),
        (lambda path: path.write_bytes(b"hello"), NotADatabase),
        (lambda path: path.write_bytes(b""), NotADatabase),
        (lambda path: path.unlink(), NotADatabase),
    ],
)
def test_a_backup_that_is_not_whole_replaces_nothing(
    tmp_path: Path, backup: Path, harm: Callable[[Path], None], family: type[Exception]
) -> None:
    harm(backup)
    before = (tmp_path / "shed.db").read_bytes()
    with pytest.raises(family):
        restore(backup, tmp_path / "shed.db", DAWN)
    assert (tmp_path / "shed.db").read_bytes() == before
    assert not list(tmp_path.glob("*replaced*"))
    assert not list(tmp_path.glob("*.part"))


def test_a_second_restore_within_a_second_overwrites_nothing(tmp_path: Path, backup: Path) -> None:
    restore(backup, tmp_path / "shed.db", DAWN)
    with pytest.raises(CannotWrite, match="wait a second"):
        restore(backup, tmp_path / "shed.db", DAWN)


def test_names_of_backups_are_read_as_utc(folder: Path) -> None:
    (folder / "shed-20260507T060000Z.db").touch()
    (folder / "shed-20261507T060000Z.txt").touch()
    assert backups.backups_in(folder, "shed") == [
        Backup(datetime(2026, 5, 7, 6, tzinfo=UTC), folder / "shed-20260507T060000Z.db")
    ]


def names(backups: list[Backup]) -> list[str]:
    return [one.path.name for one in backups]


def test_the_ends_of_the_scheme_are_those_that_are_told() -> None:
    """All of 7 days, one a week for a year, then one a month: the last moment of each counts."""
    second = timedelta(seconds=1)
    week_old, year_old = DAWN - 7 * DAY, DAWN - 365 * DAY
    moments = {
        "week": week_old,
        "after a week": week_old - second,
        "once more": week_old - 2 * second,
        "year": year_old,
        "after a year": year_old - second,
        "and once more": year_old - 2 * second,
    }
    every = [Backup(at, Path(name)) for name, at in moments.items()]
    assert names(to_remove(every, DAWN)) == ["once more", "and once more"]
    assert names(to_remove(every[::-1], DAWN)) == ["once more", "and once more"]


@pytest.mark.parametrize(
    ("name", "folder"),
    [
        ("shed-20260507T060000Z.db", "shed-papers"),
        ("north-shed-20260507T060000Z.db", "north-shed-papers"),
        ("shed-20260507T0600Z.db", "shed-20260507T0600Z-papers"),
        ("old copy.db", "old copy-papers"),
    ],
)
def test_the_papers_of_all_backups_of_a_database_lie_in_one_folder(name: str, folder: str) -> None:
    assert backups.papers_of_backup(Path("stick", name)) == Path("stick", folder)


@pytest.mark.parametrize(
    ("name", "stem"),
    [
        ("shed.db", "shed"),
        ("shed.records", "shed.records"),
        ("shed on cellar:5433", "shed-on-cellar-5433"),
        ("..db", "washmon"),
        ("???", "washmon"),
        ("-_north_-", "_north_"),
    ],
)
def test_any_drive_takes_the_name_of_a_backup(name: str, stem: str) -> None:
    assert backups._stem(name) == stem


def test_backups_are_listed_by_their_time_and_nothing_else_is_one(folder: Path) -> None:
    stamps = ("20260507T060000Z", "20251231T235959Z", "20260507T055959Z")
    for stamp in stamps:
        (folder / f"shed-{stamp}.db").touch()
        (folder / f"shed-{stamp}.db.part").touch()
        (folder / f"barn-{stamp}.db").touch()
    listed = names(backups.backups_in(folder, "shed"))
    assert listed == [f"shed-{stamp}.db" for stamp in sorted(stamps)]
    assert backups.backups_in(folder / "gone", "shed") == []


def test_a_restore_that_was_cut_off_when_all_was_ready_is_brought_to_its_end(
    tmp_path: Path, backup: Path
) -> None:
    target = tmp_path / "shed.db"
    shutil.copyfile(backup, target.with_name("shed.db.restoring"))
    target.with_name("shed.db-wal").write_bytes(b"of the replaced one")
    with Store.open(target) as store:
        assert [row.chain for row in store.shifts()] == ["a"]
        assert store.verify() == []
    assert not target.with_name("shed.db.restoring").exists()
    backups.finish_restore(target)  # there is nothing left to do
    assert target.exists()


def test_a_restore_that_was_cut_off_is_ended_before_another_begins(
    tmp_path: Path, backup: Path
) -> None:
    target = tmp_path / "shed.db"
    target.with_name("shed.db.restoring").write_bytes(b"another backup")
    aside = restore(backup, target, minutes(90))
    assert aside is not None
    assert aside.read_bytes() == b"another backup"
    with Store.open(target) as store:
        assert [row.chain for row in store.shifts()] == ["a"]


@pytest.mark.skipif(os.name == "nt", reason="there rights are handed down")
def test_what_is_restored_and_kept_aside_is_for_its_owner_alone(
    tmp_path: Path, backup: Path
) -> None:
    tmp_path.chmod(0o700)
    backup.chmod(0o644)
    aside = restore(backup, tmp_path / "shed.db", minutes(90))
    assert aside is not None
    assert (tmp_path / "shed.db").stat().st_mode & 0o777 == 0o600
    assert aside.stat().st_mode & 0o777 == 0o600


def test_a_plain_copy_of_the_file_is_a_backup_and_nothing_is_left_beside_either(
    tmp_path: Path, folder: Path, backup: Path
) -> None:
    backup.unlink()
    copy = folder / "copy.db"
    shutil.copyfile(tmp_path / "shed.db", copy)
    restore(copy, tmp_path / "new" / "shed.db", minutes(90))
    assert [one.name for one in folder.iterdir()] == ["copy.db"]
    left = {one.name for one in (tmp_path / "new").iterdir()}
    assert left <= {"shed.db", "shed.db.lock"}
    with Store.open(tmp_path / "new" / "shed.db") as store:
        assert len(store.shifts()) == 2
