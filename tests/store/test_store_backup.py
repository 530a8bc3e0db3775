import errno
import os
import sqlite3
from pathlib import Path

import pytest

from tests.store.shed import minutes, note, run_shift
from washmon.store import CannotWrite, Damaged, DiskFull, Store, reading
from washmon.store.engine import copy_to


@pytest.fixture
def store(tmp_path: Path) -> Store:
    store = Store.open(tmp_path / "shed.db")
    run_shift(store, "a")
    return store


def test_a_backup_is_one_whole_file_that_opens(store: Store, tmp_path: Path) -> None:
    target = tmp_path / "stick" / "copy.db"
    with store:
        store.backup(target)
        store.append("a", [note(20)], minutes(20))
        assert [file.name for file in target.parent.iterdir()] == ["copy.db"]
        with Store.open(target) as copy:
            assert copy.entries("a") == store.entries("a")[:3]
            assert copy.shifts()[0].entries == 3
            copy.append("a", [note(30)], minutes(30))
            assert copy.verify() == []


def test_a_backup_can_be_made_from_a_database_that_is_only_read(
    store: Store, tmp_path: Path
) -> None:
    with store, Store.open(store.path, read_only=True) as reader:
        reader.backup(tmp_path / "copy.db")
    with Store.open(tmp_path / "copy.db", read_only=True) as copy:
        assert len(copy.entries("a")) == 3


def test_a_new_backup_takes_the_place_of_the_old_one(store: Store, tmp_path: Path) -> None:
    with store:
        store.backup(tmp_path / "copy.db")
        store.append("a", [note(20)], minutes(20))
        store.backup(tmp_path / "copy.db")
    with Store.open(tmp_path / "copy.db", read_only=True) as copy:
        assert len(copy.entries("a")) == 4


def test_the_database_is_never_its_own_backup(store: Store) -> None:
    with store, pytest.raises(CannotWrite, match="the database itself"):
        store.backup(store.path)


@pytest.mark.parametrize(
    ("number", "family"), [(errno.ENOSPC, DiskFull), (errno.EACCES, CannotWrite)]
)
def test_a_backup_that_fails_leaves_the_old_one(
    store: Store,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    number: int,
    family: type[Exception],
) -> None:
    def fail(db: sqlite3.Connection, target: Path) -> None:
        del db
        target.write_bytes(b"half")
        raise OSError(number, os.strerror(number))

    target = tmp_path / "copy.db"
    with store:
        store.backup(target)
        old = target.read_bytes()
        monkeypatch.setattr(reading, "copy_to", fail)
        with pytest.raises(family):
            store.backup(target)
    assert target.read_bytes() == old
    assert not target.with_name("copy.db.part").exists()


def test_a_copy_that_differs_is_not_kept(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def misprint(db: sqlite3.Connection, target: Path) -> None:
        copy_to(db, target)
        copy = sqlite3.connect(target)
        copy.execute("DROP TRIGGER journal_never_updated")
        copy.execute("UPDATE journal SET body = x'00' WHERE seq = 1")
        copy.commit()
        copy.close()

    monkeypatch.setattr(reading, "copy_to", misprint)
    with store, pytest.raises(Damaged, match="Entry 1"):
        store.backup(tmp_path / "copy.db")
    assert not (tmp_path / "copy.db").exists()


def test_a_database_with_a_broken_chain_can_still_be_backed_up(
    store: Store, tmp_path: Path
) -> None:
    with store:
        db = sqlite3.connect(store.path)
        db.execute("DROP TRIGGER journal_never_updated")
        db.execute("UPDATE journal SET body = x'00' WHERE seq = 1")
        db.commit()
        db.close()
        store.backup(tmp_path / "copy.db")
        with Store.open(tmp_path / "copy.db", read_only=True) as copy:
            assert copy.verify() == store.verify() != []
