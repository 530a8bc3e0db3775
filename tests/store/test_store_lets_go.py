"""Whatever is done with a database, its files are let go of, as no other program could use them.

Windows keeps others off a file that is open; elsewhere a drive can't be pulled.
"""

import gc
import os
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.store.shed import minutes, run_shift
from washmon.line.journal import SITE
from washmon.store import Store, StoreUnavailable, back_up, papers, restore, salvage
from washmon.store.kept import Kept, KeptText

OPEN = Path("/proc/self/fd")
pytestmark = pytest.mark.skipif(not OPEN.exists(), reason="only Linux tells what is open")


def held(folder: Path) -> list[str]:
    """The files of a folder that this program has open."""
    found = []
    for one in OPEN.iterdir():
        try:
            target = str(one.readlink())
        except OSError:  # it was that of the list itself
            continue
        if target.startswith(f"{folder}/"):
            found.append(Path(target).name)
    return found


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "shed.db"
    with Store.open(path) as store:
        run_shift(store, "a")
    gc.collect()  # and not again: what is let go of only by that stays for who knows how long
    return path


def _read(path: Path) -> None:
    with Store.open(path, read_only=True) as store, store.reader() as other:
        assert store.verify() == other.verify() == []
        assert store.unsound("a") == store.compare_projections() == []
        store.entries(SITE)


def _write(path: Path) -> None:
    with Store.open(path) as store:
        run_shift(store, "b", 60)
        store.rebuild_projections()


def _back_up_and_restore(path: Path) -> None:
    folder = path.with_name("stick")
    folder.mkdir()
    with Store.open(path) as store:
        made = back_up(store, folder, minutes(99))
    restore(made.path, path, minutes(100))
    made.path.write_bytes(made.path.read_bytes()[:5000])
    with pytest.raises(StoreUnavailable):
        restore(made.path, path, minutes(101))


def _salvage(path: Path) -> None:
    salvage(path, path.with_name("saved.db"))


def _vanish(path: Path) -> None:
    with Store.open(path) as store:
        path.unlink()
        store.heed()
        run_shift(store, "b", 60)
    with Store.open(path) as store:
        assert len(store.shifts()) == 2


def _take_up(path: Path) -> None:
    with Store.open(path) as store:
        store.backup(path.with_name("shed-rescue.db"))
    Store.open(path).close()


def _refuse(path: Path) -> None:
    path.write_bytes(b"no database at all" * 100)
    for read_only in (True, False):
        with pytest.raises(StoreUnavailable):
            Store.open(path, read_only=read_only)


def _keep(path: Path) -> None:
    with Kept(path.parent, path, "1.0") as kept:
        kept.put("csv", "a", KeptText("head", 1, "text"))


def _papers(path: Path) -> None:
    folder, scan = path.with_name("papers"), path.with_name("scan.pdf")
    scan.write_bytes(b"an invented label")
    taken = papers.take_in(scan, folder)
    assert papers.fault_of(folder, taken.sha256) is None
    (folder / ("0" * 64)).mkdir()
    assert papers.fault_of(folder, "0" * 64) is not None
    path.with_name("folder.pdf").mkdir()
    os.mkfifo(path.with_name("pipe.pdf"))
    for odd in ("folder.pdf", "pipe.pdf"):
        with pytest.raises(StoreUnavailable):
            papers.take_in(path.with_name(odd), folder)


@pytest.mark.parametrize(
    "what",
    [_papers, _read, _write, _back_up_and_restore, _salvage, _vanish, _take_up, _refuse, _keep],
)
def test_nothing_stays_open_afterwards(path: Path, what: Callable[[Path], None]) -> None:
    assert held(path.parent) == []
    what(path)
    assert held(path.parent) == []
