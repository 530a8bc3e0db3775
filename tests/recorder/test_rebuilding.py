"""The list of shifts and the summaries made anew: the same rows, whoever folds them."""

import sqlite3
from pathlib import Path
from typing import Any

import pytest

from tests.store.shed import batch, ended, minutes, note, run_shift, started
from washmon.line.events import Corrected, ReadingTaken
from washmon.line.fold import fold
from washmon.line.journal import SITE
from washmon.recorder import rebuilding
from washmon.recorder.rebuilding import rebuild
from washmon.recorder.summaries import file_away
from washmon.store import Store

TABLES = ("shift", "mention", "tank_summary", "summary_rows")


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A database with ended shifts, a running one, and a chain that is no shift's."""
    path = tmp_path / "shed.db"
    low = ReadingTaken(at=minutes(2), by="RM", tank=1, fac_mg_l=20.0, ph=7.0)
    wrong = Corrected(at=minutes(3), by="RM", entry=1, reason="another lot", instead=batch(1, "B"))
    with Store.open(path) as store:
        for number in range(12):
            run_shift(store, f"shift-{number:02}", extra=(low, wrong) if number % 2 else ())
        store.append("shift-running", [started(), batch(1), note(2)], minutes(2))
        store.append("stray", [ended(1)], minutes(1))
        store.append(SITE, [note(1)], minutes(1))
        for chain in store.shifts_without_summary():
            file_away(store, fold(chain, store.entries(chain)))
    return path


def kept(path: Path) -> dict[str, list[tuple[Any, ...]]]:
    db = sqlite3.connect(path)
    found = {table: sorted(db.execute(f"SELECT * FROM {table}")) for table in TABLES}  # noqa: S608
    db.close()
    return found


@pytest.mark.parametrize("processes", [1, 2])
def test_all_that_is_kept_comes_out_as_it_was_kept(path: Path, processes: int) -> None:
    before = kept(path)
    assert [len(before[table]) for table in TABLES] == [13, 71, 12, 12]
    db = sqlite3.connect(path)
    with db:
        db.execute("UPDATE shift SET lots = 'X'")
        for table in TABLES[1:]:
            db.execute(f"DELETE FROM {table}")  # noqa: S608 - ours
    db.close()
    told: list[int] = []
    with Store.open(path) as store:
        assert rebuild(store, told.append, processes) == 12
        assert store.compare_projections() == []
        assert store.shifts_without_summary() == []
        store.append("shift-running", [ended(9)], minutes(9))  # which goes on from what was folded
        assert store.compare_projections() == []
    assert told == list(range(1, 16))
    after = kept(path)
    after["shift"] = [row for row in after["shift"] if row[0] != "shift-running"]
    before["shift"] = [row for row in before["shift"] if row[0] != "shift-running"]
    assert after == before


def test_an_entry_that_can_not_be_read_leaves_all_as_it_was(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = kept(path)

    def fails(*_: object) -> object:
        raise ZeroDivisionError

    with Store.open(path) as store:
        with monkeypatch.context() as patch:
            patch.setattr(rebuilding, "summarize", fails)
            with pytest.raises(ZeroDivisionError):
                rebuild(store, processes=1)
        assert kept(path) == before
        assert rebuild(store, processes=1) == 12
