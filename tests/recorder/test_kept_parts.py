"""Rows of CSV files that are kept once they were made, and proofs of kept summaries."""

import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.store.shed import batch, ended, minutes, note, started
from washmon.line.fold import fold
from washmon.line.state import ShiftState
from washmon.recorder import kept_parts
from washmon.recorder.kept_parts import table_parts
from washmon.recorder.proving import wrong_with
from washmon.recorder.summaries import file_away
from washmon.reports.csv_export import CsvPart
from washmon.reports.tables import BATCHES, READINGS, SUMMARIES
from washmon.store import Store

CHAINS = ("one", "two", "running")


class Counting:
    """A store that is asked, and how often a journal was folded for it."""

    def __init__(self, store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
        self.store = store
        self.folded: list[str] = []

        def counted(chain: str, entries: list[object]) -> ShiftState:
            self.folded.append(chain)
            return fold(chain, entries)  # type: ignore[arg-type]

        monkeypatch.setattr(kept_parts, "fold", counted)
        monkeypatch.setattr("washmon.recorder.summaries.fold", counted)

    def ask(self, query: Callable[[Store], object]) -> object:
        return query(self.store)

    def parts(self, table: object = BATCHES) -> list[CsvPart]:
        """Return the rows of all shifts, and forget what was folded before."""
        self.folded.clear()
        return list(table_parts(self.ask, CHAINS, table))  # type: ignore[arg-type]

    def wrong(self) -> dict[str, list[str]]:
        """Look whether the summaries of the ended shifts are as their journals say."""
        self.folded.clear()
        return wrong_with(self.ask, CHAINS[:2], SUMMARIES)  # type: ignore[arg-type]


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store.open(tmp_path / "shed.db", state_folder=tmp_path / "state") as store:
        for chain in CHAINS:
            for event in (started(0), batch(1), batch(3), ended(9)):
                if chain != "running" or event.at < minutes(9):
                    store.append(chain, [event], event.at)
        for chain in CHAINS[:2]:
            file_away(store, fold(chain, store.entries(chain)))
        yield store


@pytest.fixture
def counting(store: Store, monkeypatch: pytest.MonkeyPatch) -> Counting:
    return Counting(store, monkeypatch)


def kept_file(store: Store) -> Path:
    assert store.state_folder is not None
    (path,) = store.state_folder.glob("made-*.db")
    return path


def test_ended_shifts_are_folded_once_and_a_running_one_each_time(counting: Counting) -> None:
    first = counting.parts()
    assert counting.folded == list(CHAINS)
    assert [part.rows for part in first] == [2, 2, 2]
    assert counting.parts() == first
    assert counting.folded == ["running"]
    counting.parts(READINGS)
    assert counting.folded == list(CHAINS)  # another table


def test_a_shift_that_got_another_entry_is_folded_again(counting: Counting) -> None:
    counting.parts()
    counting.store.append("one", [note(20)], minutes(20))
    counting.parts()
    assert counting.folded == ["one", "running"]


def test_what_another_program_made_is_made_anew(
    counting: Counting, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = counting.parts()
    monkeypatch.setattr(kept_parts, "program_mark", lambda: "another one")
    assert counting.parts() == first
    assert counting.folded == list(CHAINS)


@pytest.mark.parametrize("harm", ["damaged", "hostile", "folder", "none"])
def test_whatever_becomes_of_the_file_the_rows_are_right(counting: Counting, harm: str) -> None:
    first = counting.parts()
    path = kept_file(counting.store)
    assert path.stat().st_mode & 0o077 == 0
    if harm == "damaged":
        path.write_bytes(b"SQLite format 3\0" + b"\xff" * 4096)
    elif harm == "hostile":
        with sqlite3.connect(path) as db:
            db.execute("UPDATE made SET text = x'00', rows = 'many'")
    elif harm == "folder":
        path.unlink()
        path.mkdir()
    else:
        counting.store.state_folder = None
    assert counting.parts() == first
    assert counting.folded == list(CHAINS)


def test_a_summary_is_proven_once_however_many_there_are(counting: Counting) -> None:
    assert counting.wrong() == {}
    assert counting.folded == ["one", "two"]
    assert counting.wrong() == {}
    assert counting.folded == []


def test_a_summary_that_was_changed_after_it_was_proven_is_found(counting: Counting) -> None:
    assert counting.wrong() == {}
    with sqlite3.connect(counting.store.path) as db:
        db.execute("UPDATE summary_rows SET text = replace(text, 'chard', 'kales')")
    (said,) = (counting.wrong()["one"],)
    assert "does not agree with its journal" in said[0]
