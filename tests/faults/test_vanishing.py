"""The database file goes away in mid-shift: said at once, nothing lost, taken up again."""

import errno
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.store.shed import batch, minutes, note, run_shift, started
from washmon.store import CannotWrite, Store
from washmon.store.errors import StoreUnavailable
from washmon.store.rescue import while_closing

CHAIN = "running"


def delete(path: Path) -> None:
    path.unlink()


def delete_all(path: Path) -> None:
    for one in path.parent.glob(path.name + "*"):
        one.unlink()


def move(path: Path) -> None:
    path.rename(path.with_name("elsewhere.db"))


def move_the_folder(path: Path) -> None:
    path.parent.rename(path.parent.with_name("elsewhere"))


def replace_by_an_older_copy(path: Path) -> None:
    copy = path.with_name("older.db")
    shutil.copyfile(path.with_name("before.db"), copy)
    copy.replace(path)


def replace_by_the_same_bytes(path: Path) -> None:
    copy = path.with_name("same.db")
    shutil.copyfile(path, copy)
    copy.replace(path)


def delete_the_log(path: Path) -> None:
    path.with_name(path.name + "-wal").unlink()


def delete_the_shared_memory(path: Path) -> None:
    path.with_name(path.name + "-shm").unlink()


WAYS = [
    delete,
    delete_all,
    move,
    move_the_folder,
    replace_by_an_older_copy,
    replace_by_the_same_bytes,
    delete_the_log,
    delete_the_shared_memory,
]
LEAVES_NO_DATABASE = {delete, delete_all, move, move_the_folder}
"""Else there is one at the path, which lacks some of the entries."""


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A shift that has ended, a copy of that, and the start of another."""
    path = tmp_path / "records" / "shed.db"
    with Store.open(path) as store:
        run_shift(store, "past")
        store.backup(path.with_name("before.db"))
        store.append(CHAIN, [started(60, after=store.last_shift_head())], minutes(60))
    return path


def wash(store: Store, first: int, last: int) -> list[str]:
    """Enter batches, each on its own; return the hashes that were told to be saved."""
    return [
        store.append(CHAIN, [batch(60 + one)], minutes(60 + one))[0].hash
        for one in range(first, last)
    ]


@pytest.mark.parametrize("vanish", WAYS)
def test_every_entry_that_was_told_saved_is_there_again(
    path: Path, vanish: Callable[[Path], None]
) -> None:
    with Store.open(path) as store:
        assert store.heed() == ""
        saved = wash(store, 1, 4)
        vanish(path)
        saved += wash(store, 4, 9)
        assert "shed.db is no longer in its place" in store.heed()
        assert store.place == path.with_name("shed-rescue.db")
        assert [one.hash for one in store.entries(CHAIN)][1:] == saved
        assert store.verify() == []
    with Store.open(path) as store:
        assert [one.hash for one in store.entries(CHAIN)][1:] == saved
        assert {row.chain: row.entries for row in store.shifts()} == {"past": 3, CHAIN: 9}
        assert store.verify() == []
        assert store.compare_projections() == []
    assert not path.with_name("shed-rescue.db").exists()


@pytest.mark.parametrize("vanish", WAYS)
def test_it_is_told_before_the_next_entry(path: Path, vanish: Callable[[Path], None]) -> None:
    with Store.open(path) as store:
        vanish(path)
        assert "Entries are kept in shed-rescue.db beside it" in store.heed()


DIES = """
import os, sys
from pathlib import Path
from tests.faults import test_vanishing as it
from washmon.store import Store
path = Path(sys.argv[1])
store = Store.open(path)
saved = it.wash(store, 1, 3)
getattr(it, sys.argv[2])(path)
saved += it.wash(store, 3, 6)
print(*saved, flush=True)
os._exit(9)
"""


@pytest.mark.parametrize("vanish", WAYS)
def test_a_kill_after_it_loses_nothing_either(path: Path, vanish: Callable[[Path], None]) -> None:
    command = [sys.executable, "-c", DIES, str(path), vanish.__name__]
    told = subprocess.run(command, capture_output=True, text=True, check=False)
    assert told.returncode == 9, told.stderr
    with Store.open(path) as store:
        assert [one.hash for one in store.entries(CHAIN)][1:] == told.stdout.split()
        assert store.verify() == []
        assert ("were put back" in store.heed()) == (vanish not in LEAVES_NO_DATABASE)
    assert {one.name for one in path.parent.glob("shed-rescue*")} <= {"shed-rescue.db.lock"}


def test_what_goes_on_differently_in_both_files_is_kept_in_both_and_told(path: Path) -> None:
    with Store.open(path) as store:
        wash(store, 1, 4)
        path.rename(path.with_name("moved.db"))
        shutil.copyfile(path.with_name("before.db"), path)
        wash(store, 4, 6)
        # Another program, that knew nothing of this one, wrote the same shift.
        path.with_name("shed.db.lock").unlink()
        with Store.open(path) as other:
            assert "could not be put back" in other.heed()  # it is in use
            other.append(CHAIN, [started(61)], minutes(61))
    with Store.open(path) as store:
        assert "other entries stand in their place in running" in store.heed()
        assert len(store.entries(CHAIN)) == 1
        assert store.verify() == []
    with Store.open(path.with_name("shed-rescue.db"), read_only=True) as kept:
        assert len(kept.entries(CHAIN)) == 6


def test_where_nothing_can_be_kept_beside_an_entry_counts_as_not_saved(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Store.open(path) as store:
        (saved,) = wash(store, 1, 2)
        assert len(store.entries(CHAIN)) == 2
        delete_all(path)

        def refuse(*_: object) -> None:
            raise CannotWrite("There is no room beside it.")

        monkeypatch.setattr("washmon.store.rescue.copy_beside", refuse)
        with pytest.raises(StoreUnavailable, match="no room beside"):
            wash(store, 2, 3)
        monkeypatch.undo()
        assert [one.hash for one in store.entries(CHAIN)][1:] == [saved]
        wash(store, 2, 3)
    with Store.open(path) as store:
        assert len(store.entries(CHAIN)) == 3


def test_a_reader_goes_on_with_what_lies_there_now(path: Path) -> None:
    with Store.open(path) as writer, Store.open(path, read_only=True) as reader:
        assert len(reader.entries(CHAIN)) == 1
        delete_all(path)
        wash(writer, 1, 3)
        reader.heed()
        with pytest.raises(CannotWrite):
            reader.entries(CHAIN)
        writer.close()
        reader.heed()
        assert len(reader.entries(CHAIN)) == 3


def test_a_rescue_file_that_is_not_whole_is_left_where_it_is(path: Path) -> None:
    beside = path.with_name("shed-rescue.db")
    beside.write_bytes(b"no database at all, only words" * 100)
    with Store.open(path) as store:
        assert "shed-rescue.db holds entries that could not be put back" in store.heed()
        store.append(CHAIN, [note(61)], minutes(61))
    assert beside.exists()


def test_a_copy_that_breaks_off_leaves_nothing_beside(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def breaks_off(_: object, part: Path) -> None:
        part.write_bytes(b"the first half")
        raise OSError(errno.EIO, "the stick was pulled")

    with Store.open(path) as store:
        monkeypatch.setattr("washmon.store.rescue.copy_to", breaks_off)
        delete_all(path)
        with pytest.raises(StoreUnavailable):
            store.heed()
    assert list(path.parent.glob("*.part")) == []


def test_the_log_of_what_was_moved_is_not_left_to_what_comes_in_its_place(path: Path) -> None:
    with Store.open(path) as store:
        wash(store, 1, 3)
        move(path)
        store.heed()
        assert not path.with_name("shed.db-wal").exists()
        assert path.with_name("shed-rescue.db-wal").exists()
    with Store.open(path.with_name("elsewhere.db"), read_only=True) as moved:
        assert len(moved.entries(CHAIN)) == 3  # it is whole by itself


@pytest.mark.skipif(os.name == "nt", reason="there an open file can't be taken away")
@pytest.mark.parametrize("vanish", [delete, move, replace_by_an_older_copy])
def test_what_is_taken_away_in_the_moment_of_closing_is_kept(
    path: Path, vanish: Callable[[Path], None]
) -> None:
    with Store.open(path) as store:
        wash(store, 1, 4)
    content = path.read_bytes()
    with while_closing(path, path):
        vanish(path)
    assert path.with_name("shed-rescue.db").read_bytes() == content
    with Store.open(path) as store:
        assert len(store.entries(CHAIN)) == 4


def test_what_stays_where_it_is_or_was_gone_before_is_not_kept_twice(path: Path) -> None:
    with while_closing(path, path):
        pass
    path.unlink()
    with while_closing(path, path):
        pass
    assert list(path.parent.glob("*rescue*")) == []
