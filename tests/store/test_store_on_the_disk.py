"""What got its name keeps it through a power cut: its folder has reached the disk after that."""

import os
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.store.shed import minutes, run_shift
from washmon.store import Store, back_up, migrate, papers, restore

pytestmark = pytest.mark.skipif(os.name == "nt", reason="Windows keeps names in its own journal")


class Seen:
    """Folders in which a file got a name, until they reach the disk."""

    def __init__(self, patch: pytest.MonkeyPatch) -> None:
        self.open: set[Path] = set()
        self.synced: list[Path] = []
        self.named: list[str] = []
        fsync = os.fsync

        def sync(handle: int) -> None:
            fsync(handle)
            folder = Path(f"/proc/self/fd/{handle}").resolve()
            if folder.is_dir():
                self.open.discard(folder)
                self.synced.append(folder)

        patch.setattr(os, "fsync", sync)
        for name in ("replace", "rename"):
            patch.setattr(Path, name, self._noting(getattr(Path, name)))

    def _noting(self, give: Callable[[Path, Path], Path]) -> Callable[[Path, Path], Path]:
        def noted(path: Path, target: Path) -> Path:
            found = give(path, target)
            self.open.add(Path(target).parent)
            self.named.append(Path(target).name)
            return found

        return noted


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "shed.db"
    with Store.open(path) as store:
        run_shift(store, "a")
    return path


@pytest.fixture
def seen(path: Path, monkeypatch: pytest.MonkeyPatch) -> Seen:
    assert path.exists()
    return Seen(monkeypatch)


def test_a_new_database_and_one_that_is_there(tmp_path: Path, path: Path, seen: Seen) -> None:
    Store.open(tmp_path / "new" / "shed.db").close()
    assert tmp_path / "new" in seen.synced
    seen.synced.clear()
    Store.open(path).close()
    assert seen.synced == []  # there is no new name


def test_a_backup_and_what_it_is_restored_to(tmp_path: Path, path: Path, seen: Seen) -> None:
    (tmp_path / "stick").mkdir()
    with Store.open(path) as store:
        made = back_up(store, tmp_path / "stick", minutes(99))
    assert seen.named == [made.path.name]
    assert seen.open == set()
    (tmp_path / "barn").mkdir()
    restore(made.path, tmp_path / "barn" / "shed.db", minutes(100))
    assert seen.named[1:] == ["shed.db.restoring", "shed.db"]
    assert seen.open == set()


def test_what_is_replaced_is_there_under_its_other_name_before_it_is_replaced(
    tmp_path: Path, path: Path, seen: Seen, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "stick").mkdir()
    with Store.open(path) as store:
        made = back_up(store, tmp_path / "stick", minutes(99))
    order: list[str] = []
    named, synced = seen.named, seen.synced
    synced.clear()
    replace = Path.replace

    def noted(one: Path, target: Path) -> Path:
        order.append(f"{len(synced)} {Path(target).name}")
        return replace(one, target)

    monkeypatch.setattr(Path, "replace", noted)
    restore(made.path, path, minutes(100))
    assert order == ["1 shed.db.restoring", "2 shed.db"]
    assert len(synced) == 3
    assert named[-1] == "shed.db"


def test_papers(tmp_path: Path, seen: Seen) -> None:
    scan = tmp_path / "scan.pdf"
    scan.write_bytes(b"an invented label")
    taken = papers.take_in(scan, tmp_path / "papers")
    assert seen.named[-1] == taken.sha256
    assert seen.open == set()


def test_what_is_kept_beside_and_put_back(path: Path, seen: Seen) -> None:
    with Store.open(path) as store:
        path.unlink()
        store.heed()
        assert "shed-rescue.db" in seen.named
        assert seen.open == set()
        path.unlink(missing_ok=True)
    Store.open(path).close()
    assert seen.named[-1] == "shed.db"
    assert seen.open == set()


def test_the_copy_before_a_new_schema(path: Path, seen: Seen) -> None:
    db = sqlite3.connect(path)
    migrate._copy_aside(db, path.with_name("shed-before.db"))
    db.close()
    assert seen.named == ["shed-before.db"]
    assert seen.open == set()
