"""A restore that is killed at any of its calls leaves the old records or the new ones, whole."""

import subprocess
import sys
from pathlib import Path

import pytest

from tests.store.shed import minutes, note, run_shift
from washmon.store import Store

CALLS = 40
"""More than a restore has; those beyond its end change nothing."""

DIES = """
import os, pathlib, shutil, sys
from datetime import UTC, datetime
from pathlib import Path
from washmon.store import backups
left = int(sys.argv[3])
def counting(module, name):
    real = getattr(module, name)
    def call(*words, **named):
        global left
        left -= 1
        if left < 0:
            os._exit(9)
        return real(*words, **named)
    setattr(module, name, call)
for name in ("replace", "rename", "unlink", "open", "fsync", "link"):
    counting(os, name)
counting(shutil, "copyfile")
for name in ("replace", "unlink", "open", "exists"):
    counting(pathlib.Path, name)
backups.restore(Path(sys.argv[1]), Path(sys.argv[2]), datetime(2026, 6, 1, tzinfo=UTC))
"""


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A backup with one shift of two that there are in the database."""
    folder = tmp_path_factory.mktemp("shelf")
    with Store.open(folder / "shed.db") as store:
        run_shift(store, "old")
        store.backup(folder / "backup.db")
        run_shift(store, "new", 60)
    return folder


def test_no_kill_leaves_less_than_one_whole_set_of_records(shelf: Path, tmp_path: Path) -> None:
    outcomes = set()
    for call in range(CALLS):
        target = tmp_path / str(call) / "shed.db"
        target.parent.mkdir()
        with Store.open(shelf / "shed.db") as store:
            store.backup(target)
        words = [sys.executable, "-c", DIES, str(shelf / "backup.db"), str(target), str(call)]
        told = subprocess.run(words, capture_output=True, text=True, check=False)
        assert told.returncode in {0, 9}, told.stderr
        with Store.open(target) as store:
            assert store.verify() == [], call
            chains = {row.chain for row in store.shifts()}
            store.append("old", [note(900)], minutes(900))
        assert chains in ({"old", "new"}, {"old"}), call
        if chains == {"old"}:  # then what was there before is kept, whole
            (aside,) = target.parent.glob("shed-replaced-*.db")
            with Store.open(aside, read_only=True) as kept:
                assert {row.chain for row in kept.shifts()} == {"old", "new"}
                assert kept.verify() == []
        outcomes.add((told.returncode, len(chains)))
    assert outcomes == {(9, 2), (9, 1), (0, 1)}
