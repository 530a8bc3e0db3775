"""Summaries of an earlier version are made anew beside the work, and only where nothing changed."""

import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TypeVar

import pytest

from tests.store.shed import batch, ended, minutes, note, started
from washmon.line.fold import fold
from washmon.recorder.recorder import Recorder
from washmon.recorder.summaries import FORM, file_away, renew
from washmon.store import Store

T = TypeVar("T")
CHAINS = tuple(f"shift-{at:02}" for at in range(25))


class Shed:
    """A shed after an upgrade: its shifts were summed up by another version, or not at all."""

    def __init__(self, path: Path) -> None:
        self.path = path
        with Store.open(path) as store:
            for at, chain in enumerate(CHAINS):
                for event in (started(20 * at), batch(20 * at + 1), ended(20 * at + 9)):
                    store.append(chain, [event], event.at)
                if at < 3:
                    file_away(store, fold(chain, store.entries(chain)))
            store.append("running", [started(900)], minutes(900))
        self.sql("UPDATE summary_rows SET form = 'older' WHERE chain <> ?", CHAINS[0])
        self.store = Store.open(path)
        self.told: list[tuple[int, int]] = []

    def sql(self, words: str, *values: str) -> None:
        with sqlite3.connect(self.path) as db:
            db.execute(words, values)

    def ask(self, query: Callable[[Store], T]) -> T:
        return query(self.store)

    def renew(self, stop: Callable[[], bool] = lambda: False) -> int:
        with self.store.reader() as reader:
            return renew(reader, self.ask, stop, lambda *told: self.told.append(told))

    @property
    def old(self) -> list[str]:
        return self.store.summed_up_otherwise(FORM)


@pytest.fixture
def shed(tmp_path: Path) -> Iterator[Shed]:
    shed = Shed(tmp_path / "shed.db")
    yield shed
    shed.store.close()


def test_what_is_old_or_missing_is_made_anew_with_progress(shed: Shed) -> None:
    assert shed.old == list(CHAINS[1:])
    assert shed.renew() == 24
    assert shed.told == [(at, 24) for at in range(1, 25)]
    assert shed.old == []
    assert shed.store.shifts_without_summary() == []
    assert shed.renew() == 0


def test_it_stops_between_shifts_and_goes_on_where_it_was(shed: Shed) -> None:
    shed.renew(lambda: len(shed.told) == 4)
    assert len(shed.old) == 20
    assert shed.renew() == 20


def test_a_shift_that_got_another_entry_meanwhile_keeps_what_is_newer(shed: Shed) -> None:
    def entered(query: Callable[[Store], T]) -> T:
        if shed.store.entries(CHAINS[1])[-1].seq == 2:
            shed.store.append(CHAINS[1], [note(600)], minutes(600))
        return query(shed.store)

    with shed.store.reader() as reader:
        assert renew(reader, entered, lambda: False, lambda *_: None) == 23
    assert shed.old == [CHAINS[1]]


def test_a_shift_that_can_not_be_read_leaves_the_others(shed: Shed) -> None:
    shed.sql("DROP TRIGGER journal_never_updated")
    shed.sql("UPDATE journal SET body = x'7b7d' WHERE seq = 1 AND chain = ?", CHAINS[5])
    assert shed.renew() == 23
    assert shed.old == [CHAINS[5]]


def test_many_of_them_do_not_hold_up_the_start(shed: Shed) -> None:
    shown: list[object] = []
    recorder = Recorder(shed.store, shown.append, clock=lambda: minutes(910))
    recorder.start()
    left = recorder.read(lambda store: store.shifts_without_summary()).result(10)
    assert shown
    assert len(left) == 22
    recorder.close()
