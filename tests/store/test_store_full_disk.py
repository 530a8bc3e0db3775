from pathlib import Path

import pytest

from tests.store.shed import minutes, note, room_for, run_shift
from washmon.store import DiskFull, Store


def test_on_a_full_disk_nothing_is_half_written_and_nothing_saved_is_lost(tmp_path: Path) -> None:
    path = tmp_path / "shed.db"
    with Store.open(path) as store:
        run_shift(store, "a")
        saved = store.entries("a")
        room_for(store, 3)
        with pytest.raises(DiskFull, match="free some space, then try again"):
            store.append("a", [note(20), note(21, "x" * 40_000)], minutes(21))
        assert store.entries("a") == saved
        assert store.verify() == []

        room_for(store, None)
        store.append("a", [note(22)], minutes(22))
        store.append("a", [note(23, "x" * 40_000)], minutes(23))
    with Store.open(path) as store:
        assert store.entries("a")[: len(saved)] == saved
        assert len(store.entries("a")) == len(saved) + 2
        assert store.verify() == []


def test_small_entries_fill_the_disk_one_by_one_and_stop_whole(tmp_path: Path) -> None:
    with Store.open(tmp_path / "shed.db") as store:
        room_for(store, 4)
        kept = fill_up(store)
        assert 0 < kept < 1000
        assert len(store.entries("a")) == kept
        assert store.verify() == []


def fill_up(store: Store) -> int:
    """Append until the disk is full; return how many entries were told to be saved."""
    for kept in range(1000):
        try:
            store.append("a", [note(kept, "y" * 200)], minutes(kept))
        except DiskFull:
            return kept
    raise AssertionError("The disk never filled.")
