"""A past shift that was kept elsewhere goes into the journal as a whole, and only once."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from tests.gui.logbook.past import quiet_shift
from tests.shed import START
from washmon.line.events import Decision, Event, HoldReleased, ShiftStarted
from washmon.line.journal import IMPORTED
from washmon.recorder import Failed, Recorder, Refused, Saved
from washmon.reports.summary import read_summary
from washmon.store.store import Store

CHAIN = f"{IMPORTED}20260401"


@pytest.fixture
def recorder(tmp_path: Path) -> Iterator[Recorder]:
    made = Recorder(
        Store.open(tmp_path / "shed.db"), lambda _: None, clock=lambda: START + timedelta(days=90)
    )
    made.start()
    yield made
    made.close()


def events(days_ago: int = 0) -> list[Event]:
    return [entry.event for entry in quiet_shift(START - timedelta(days=days_ago)).shift.entries]


def test_a_whole_shift_is_journaled_and_summed_up(recorder: Recorder) -> None:
    assert isinstance(recorder.take_in(CHAIN, events()).result(), Saved)
    (row,) = recorder.read(lambda store: store.shifts()).result()
    assert (row.chain, row.entries) == (CHAIN, len(events()))
    (kept, *_) = recorder.read(lambda store: store.summaries([CHAIN])).result()
    assert read_summary(kept.body) is not None
    assert recorder.read(lambda store: store.verify()).result() == []


def test_the_same_shift_is_not_taken_twice(recorder: Recorder) -> None:
    recorder.take_in(CHAIN, events()).result()
    answer = recorder.take_in(CHAIN, events()).result()
    assert isinstance(answer, Refused)
    assert "imported before" in answer.faults[0].message.text
    assert len(recorder.read(lambda store: store.shifts()).result()) == 1


def test_a_shift_that_vanishes_would_be_missed(recorder: Recorder) -> None:
    recorder.take_in(CHAIN, events(10)).result()
    recorder.take_in(f"{CHAIN}-2", events(20)).result()  # older, but taken in later
    (first, *_) = recorder.read(lambda store: store.entries(f"{CHAIN}-2")).result()
    assert isinstance(first.event, ShiftStarted)
    assert first.event.after is not None
    assert first.event.after[0] == CHAIN
    last = recorder.read(lambda store: store.last_shift_head()).result()
    assert last is not None
    assert last[0] == f"{CHAIN}-2"
    assert recorder.read(lambda store: store.verify()).result() == []


def test_a_window_that_only_reads_takes_nothing_in(tmp_path: Path) -> None:
    path = tmp_path / "shed.db"
    Store.open(path).close()
    reader = Recorder(Store.open(path, read_only=True), lambda _: None)
    reader.start()
    try:
        assert isinstance(reader.take_in(CHAIN, events()).result(), Failed)
    finally:
        reader.close()


def test_nothing_that_needs_a_pin_comes_in_by_this_door(recorder: Recorder) -> None:
    at = START - timedelta(days=1)
    decision = HoldReleased(at=at, by="RM", hold=3, decision=Decision.RELEASE, reason="L-1")
    for chain, extra in ((CHAIN, [decision]), ("shift-1", [])):
        answer = recorder.take_in(chain, [*events(1), *extra]).result()
        assert isinstance(answer, Refused)
        assert "decisions are entered by hand" in answer.faults[0].message.text
