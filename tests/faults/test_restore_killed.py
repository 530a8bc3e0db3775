"""A restore that is killed at any of its calls leaves the old records or the new ones, whole."""

from pathlib import Path

import pytest

from tests.faults.killing import ready_processes
from tests.faults.restoring import DIED, restore_and_die
from tests.store.shed import minutes, note, run_shift
from washmon.store import Store

CALLS = 40
"""More than a restore has; those beyond its end change nothing."""


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
    processes = ready_processes()
    outcomes = set()
    for calls in range(CALLS):
        target = tmp_path / str(calls) / "shed.db"
        target.parent.mkdir()
        with Store.open(shelf / "shed.db") as store:
            store.backup(target)
        words = (shelf / "backup.db", target, calls)
        process = processes.Process(target=restore_and_die, args=words)
        process.start()
        process.join()
        assert process.exitcode in {0, DIED}, calls
        with Store.open(target) as store:
            assert store.verify() == [], calls
            chains = {row.chain for row in store.shifts()}
            store.append("old", [note(900)], minutes(900))
        assert chains in ({"old", "new"}, {"old"}), calls
        if chains == {"old"}:  # then what was there before is kept, whole
            (aside,) = target.parent.glob("shed-replaced-*.db")
            with Store.open(aside, read_only=True) as kept:
                assert {row.chain for row in kept.shifts()} == {"old", "new"}
                assert kept.verify() == []
        outcomes.add((process.exitcode, len(chains)))
    assert outcomes == {(DIED, 2), (DIED, 1), (0, 1)}
