import errno
import multiprocessing
import os
import sqlite3
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from sqlalchemy import Engine
from sqlalchemy.exc import OperationalError

from tests.store.shed import minutes, note, run_shift
from washmon.store import (
    CannotWrite,
    DiskFull,
    LaterVersion,
    NotADatabase,
    Store,
    StoreBug,
    StoreInUse,
    StoreUnavailable,
    engine,
)
from washmon.store import store as store_module
from washmon.store.errors import told


def contents(folder: Path) -> dict[str, bytes]:
    return {file.name: file.read_bytes() for file in folder.iterdir()}


def test_a_missing_database_is_made_together_with_its_folder(tmp_path: Path) -> None:
    with Store.open(tmp_path / "far" / "away" / "shed.db") as store:
        assert not store.read_only
        assert store.verify() == []
    assert (tmp_path / "far" / "away" / "shed.db").is_file()


def test_a_path_with_odd_characters_is_taken_as_it_is(tmp_path: Path) -> None:
    path = tmp_path / "Señor 100% #1?&mode=ro" / "shed 1.db"
    with Store.open(path) as store:
        store.append("a", [note(0)], minutes(0))
    assert path.is_file()
    with Store.open(path, read_only=True) as store:
        assert len(store.entries("a")) == 1


def test_a_url_of_sqlite_names_a_file(tmp_path: Path) -> None:
    with Store.open(f"sqlite:///{tmp_path}/shed.db") as store:
        assert store.path == tmp_path / "shed.db"


@pytest.mark.parametrize("url", ["mysql://shed", "sqlite://", "://", "http://a/b.db"])
def test_any_other_url_is_refused(url: str) -> None:
    with pytest.raises(CannotWrite, match="names no database file"):
        Store.open(url)


def test_a_closed_database_is_one_file_and_its_lock(tmp_path: Path) -> None:
    with Store.open(tmp_path / "shed.db") as store:
        store.append("a", [note(0)], minutes(0))
        store.entries("a")
    assert contents(tmp_path).keys() <= {"shed.db", "shed.db.lock"}


def test_a_second_writer_is_told_so_and_can_read(tmp_path: Path) -> None:
    path = tmp_path / "shed.db"
    with Store.open(path) as store:
        store.append("a", [note(0)], minutes(0))
        with pytest.raises(StoreInUse, match=r"Another program .* open the database read-only"):
            Store.open(path)
        with Store.open(path, read_only=True) as reader:
            assert len(reader.entries("a")) == 1
            store.append("a", [note(1)], minutes(1))
            assert len(reader.entries("a")) == 2
    with Store.open(path):
        pass


def test_a_second_writer_is_found_through_another_name_of_the_file(tmp_path: Path) -> None:
    (tmp_path / "link").symlink_to(tmp_path, target_is_directory=True)
    with Store.open(tmp_path / "shed.db"), pytest.raises(StoreInUse):
        Store.open(tmp_path / "link" / "shed.db")


def _write_and_die(path: Path) -> None:
    Store.open(path).append("a", [note(0)], minutes(0))
    os.kill(os.getpid(), 9)


def test_a_killed_writer_leaves_its_entries_and_no_lock(tmp_path: Path) -> None:
    child = multiprocessing.get_context("spawn").Process(
        target=_write_and_die, args=(tmp_path / "shed.db",)
    )
    child.start()
    child.join(30)
    assert child.exitcode == -9
    with Store.open(tmp_path / "shed.db") as store:
        assert len(store.entries("a")) == 1


def test_read_only_saves_nothing(tmp_path: Path) -> None:
    with Store.open(tmp_path / "shed.db") as store:
        run_shift(store, "a")
    with Store.open(tmp_path / "shed.db", read_only=True) as reader:
        assert reader.read_only
        for attempt in (
            lambda: reader.append("a", [note(1)], minutes(1)),
            lambda: reader.save_summaries("a", []),
            reader.rebuild_projections,
        ):
            with pytest.raises(CannotWrite, match="read-only"):
                attempt()
        with pytest.raises(OperationalError, match="readonly"), reader._reader.begin() as raw:
            raw.exec_driver_sql("DELETE FROM shift")


def test_read_only_makes_no_database(tmp_path: Path) -> None:
    with pytest.raises(NotADatabase, match="There is no database at"):
        Store.open(tmp_path / "shed.db", read_only=True)
    assert contents(tmp_path) == {}


@pytest.mark.parametrize("read_only", [False, True])
@pytest.mark.parametrize(
    "content", [b"hello", b"PK\x03\x04" + b"\0" * 9000, b"SQLite format 3\0" + b"\xff" * 5000]
)
def test_a_file_that_is_no_database_is_left_as_it_is(
    tmp_path: Path, content: bytes, *, read_only: bool
) -> None:
    path = tmp_path / "holiday.jpg"
    path.write_bytes(content)
    with pytest.raises(NotADatabase, match=r"holiday\.jpg is not a washmon database"):
        Store.open(path, read_only=read_only)
    assert path.read_bytes() == content
    with told(path):  # the lock is free again
        engine.take_lock(path).release()


def test_a_lock_that_one_thread_took_another_gives_back(tmp_path: Path) -> None:
    with ThreadPoolExecutor(1) as pool:
        lock = pool.submit(engine.take_lock, tmp_path / "shed.db").result()
    with pytest.raises(StoreInUse):
        engine.take_lock(tmp_path / "shed.db")
    lock.release()
    engine.take_lock(tmp_path / "shed.db").release()


@pytest.mark.parametrize("read_only", [False, True])
@pytest.mark.parametrize(
    "tables",
    [
        ("bookmark (url)",),
        ("alembic_version (version_num)", "bookmark (url)"),
        ("alembic_version (version_num)", "journal (day)"),
    ],
)
def test_a_database_of_another_program_is_left_as_it_is(
    tmp_path: Path, tables: tuple[str, ...], *, read_only: bool
) -> None:
    path = tmp_path / "browser.db"
    db = sqlite3.connect(path)
    for table in tables:
        db.execute(f"CREATE TABLE {table}")
    db.commit()
    db.close()
    before = path.read_bytes()
    with pytest.raises(NotADatabase):
        Store.open(path, read_only=read_only)
    assert path.read_bytes() == before


def test_an_empty_file_becomes_a_database_but_can_not_be_read_as_one(tmp_path: Path) -> None:
    path = tmp_path / "shed.db"
    path.touch()
    with pytest.raises(NotADatabase):
        Store.open(path, read_only=True)
    with Store.open(path) as store:
        store.append("a", [note(0)], minutes(0))


@pytest.mark.parametrize("read_only", [False, True])
def test_a_database_of_a_later_version_is_left_as_it_is(tmp_path: Path, *, read_only: bool) -> None:
    path = tmp_path / "shed.db"
    Store.open(path).close()
    db = sqlite3.connect(path)
    db.execute("UPDATE alembic_version SET version_num = '0815'")
    db.commit()
    db.close()
    before = path.read_bytes()
    with pytest.raises(LaterVersion, match=r"later version of washmon \(schema 0815\)"):
        Store.open(path, read_only=read_only)
    assert path.read_bytes() == before


def test_a_folder_that_can_not_be_made_gets_a_clear_sentence(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(CannotWrite, match="choose another place"):
        Store.open(tmp_path / "file" / "shed.db")


def test_a_folder_in_place_of_the_file_gets_a_clear_sentence(tmp_path: Path) -> None:
    (tmp_path / "shed.db").mkdir()
    with pytest.raises(CannotWrite, match="choose another place"):
        Store.open(tmp_path / "shed.db")


def test_a_lock_that_can_not_be_written_gets_a_clear_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(_path: Path) -> None:
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr("washmon.store.writing.take_lock", refuse)
    with pytest.raises(CannotWrite, match=r"Permission denied.*choose another place"):
        Store.open(tmp_path / "shed.db")


def test_a_file_that_can_not_be_written_is_noticed_when_it_is_opened(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "shed.db"
    Store.open(path).close()

    def write_protected(path: Path) -> Engine:
        return engine._engine(path, "mode=ro", begin="BEGIN IMMEDIATE")

    monkeypatch.setattr("washmon.store.writing.writing_engine", write_protected)
    with pytest.raises(CannotWrite, match="readonly database"):
        Store.open(path)


def test_in_a_folder_that_can_not_be_written_reading_needs_no_shared_files(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "shed.db"
    with Store.open(path) as store:
        run_shift(store, "a")
    real = engine.reading_engine
    asked: list[bool] = []

    def on_read_only_disk(path: Path, *, immutable: bool = False) -> Engine:
        asked.append(immutable)
        # SQLite refuses to make the shared files; only an immutable file is read without.
        return real(path if immutable else path / "nowhere", immutable=immutable)

    monkeypatch.setattr(store_module, "reading_engine", on_read_only_disk)
    with Store.open(path, read_only=True) as reader:
        assert len(reader.shifts()) == 1
    assert asked == [False, True]
    path.with_name("shed.db-wal").touch()  # then a writer may be at work
    with pytest.raises(CannotWrite):
        Store.open(path, read_only=True)


@pytest.mark.parametrize(
    ("number", "family"),
    [
        (errno.ENOSPC, DiskFull),
        (errno.EDQUOT, DiskFull),
        (errno.EROFS, CannotWrite),
        (errno.EACCES, CannotWrite),
    ],
)
def test_what_the_system_says_is_told_to_the_shed(
    number: int, family: type[StoreUnavailable]
) -> None:
    with pytest.raises(family, match=r"shed\.db"), told(Path("shed.db")):
        raise OSError(number, os.strerror(number))


@pytest.mark.parametrize(
    ("name", "family"),
    [
        ("SQLITE_FULL", DiskFull),
        ("SQLITE_IOERR_SHMSIZE", DiskFull),
        ("SQLITE_IOERR_FSYNC", CannotWrite),
        ("SQLITE_READONLY_DBMOVED", CannotWrite),
        ("SQLITE_CANTOPEN", CannotWrite),
        ("SQLITE_BUSY_SNAPSHOT", StoreInUse),
        ("SQLITE_NOTADB", NotADatabase),
        ("SQLITE_ERROR", StoreBug),
    ],
)
def test_what_sqlite_says_is_told_to_the_shed(name: str, family: type[Exception]) -> None:
    error = sqlite3.OperationalError("words of SQLite")
    error.sqlite_errorname = name
    with pytest.raises(family), told(Path("shed.db")):
        raise error
