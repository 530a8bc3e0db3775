"""What is newly made in the user's own folder nobody else can read; a shared folder stays so."""

import os
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tests.store.shed import run_shift
from washmon.store import Store
from washmon.store.backups import back_up, restore


def rights(path: Path) -> int:
    return path.stat().st_mode & 0o777


@pytest.fixture(autouse=True)
def _usual_mask() -> None:
    os.umask(0o022)


def test_new_records_their_lock_and_their_backups_are_the_users_own(tmp_path: Path) -> None:
    path, shelf = tmp_path / "own" / "shed.db", tmp_path / "shelf"
    shelf.mkdir(mode=0o700)
    with Store.open(path) as store:
        run_shift(store, "a")
        assert {rights(one) for one in path.parent.iterdir()} == {0o600}
        assert len(list(path.parent.iterdir())) == 4
        backup = back_up(store, shelf, datetime(2026, 5, 7, tzinfo=UTC))
    assert rights(path.parent) == 0o700
    assert rights(backup.path) == 0o600
    assert restore(backup.path, path, datetime(2026, 5, 8, tzinfo=UTC)) is not None
    assert {rights(one) for one in path.parent.iterdir()} == {0o600}


def test_a_shared_folder_keeps_its_rights(tmp_path: Path) -> None:
    shared = tmp_path / "shared"
    shared.mkdir()
    shared.chmod(0o775)
    with Store.open(shared / "shed.db") as store:
        run_shift(store, "a")
        assert {rights(one) for one in shared.iterdir()} == {0o644}
    assert rights(shared) == 0o775


def test_a_database_that_is_there_keeps_its_rights(tmp_path: Path) -> None:
    path = tmp_path / "shed.db"
    Store.open(path).close()
    path.chmod(0o640)
    with Store.open(path) as store:
        run_shift(store, "a")
    assert rights(path) == 0o640
