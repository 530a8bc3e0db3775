"""The server stops answering in mid-shift: the shift goes on, and nothing is lost or doubled."""

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.faults.proxy import Kind, Proxy
from tests.faults.server_faults import all_faults
from tests.shed import START, a_setup, a_tank
from tests.store.programs import PROGRAMS
from tests.store.server import Server
from tests.store.shed import batch, minutes, note, started
from washmon.line.events import (
    Corrected,
    NoteWritten,
    ReadingTaken,
    ShiftEnded,
    ShiftStarted,
    TankFilled,
)
from washmon.line.journal import Entry, extend
from washmon.line.message import say
from washmon.line.setup import Lot
from washmon.planning.snapshot import Snapshot
from washmon.recorder import Recorder, Saved
from washmon.store import Store, gap, postgres
from washmon.store.gap import Outbox
from washmon.store.place import locate
from washmon.units import UnitSystem

pytestmark = [
    pytest.mark.xdist_group("postgresql"),
    pytest.mark.skipif(PROGRAMS is None, reason="no server here"),
]
LONG = 20.0


@pytest.fixture(autouse=True)
def _impatient(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(postgres, "ANSWER_S", 0.5)
    monkeypatch.setattr(postgres, "READ_S", 0.5)
    monkeypatch.setattr(postgres, "PROBE_S", 2)
    monkeypatch.setattr(gap, "PROBE_EVERY_S", 0.01)


@pytest.fixture
def proxy(postgresql: Server) -> Iterator[Proxy]:
    """Return a way to the server that can be cut."""
    made = Proxy(postgresql.socket)
    yield made
    made.close()


SAMPLE = [
    (Kind.CUT_QUESTION, 5),
    (Kind.CUT_ANSWER, 5),
    (Kind.SWALLOW_ANSWER, 4),
    (Kind.DEAF, 2),
]
"""A few of those that ``python -m tests.faults.server_faults`` tries."""


@pytest.mark.parametrize(("kind", "moment"), SAMPLE)
def test_a_fault_on_the_way_loses_and_doubles_nothing(
    postgresql: Server, tmp_path: Path, kind: Kind, moment: int
) -> None:
    (run,) = all_faults(postgresql, tmp_path, [kind], [moment])
    assert run.struck
    assert (run.lost, run.doubled, run.wrong, run.unsent) == (0, 0, 0, 0)


def test_what_waits_is_sent_after_others_wrote_and_means_the_same_entries(
    postgresql: Server, proxy: Proxy, tmp_path: Path
) -> None:
    name = postgresql.new_name()
    with (
        Store.open(proxy.url(name), state_folder=tmp_path) as cut,
        Store.open(postgresql.url(name)) as other,
    ):
        cut.append("a", [started()], minutes(0))
        proxy.strike(Kind.REFUSE, 0)
        (wrong,) = cut.append("a", [note(1, "wrong")], minutes(1))
        assert cut.keeps_here
        assert "One entry is kept on this computer" in cut.heed()
        other.append("a", [note(2, "from the office")], minutes(2))
        mended = Corrected(at=minutes(3), by="RM", entry=wrong.seq, reason="typed wrong")
        cut.append("a", [mended], minutes(3))
        (kept,) = tmp_path.glob("outbox-*.jsonl")
        if os.name != "nt":
            assert kept.stat().st_mode & 0o777 == 0o600
        proxy.mend()
    assert kept.exists()  # it was closed before the server was back
    with Store.open(proxy.url(name), state_folder=tmp_path) as again:
        assert "saved there" in again.heed()
        assert not again.keeps_here
        entries = again.entries("a")
        assert [getattr(one.event, "text", "") for one in entries] == [
            "", "from the office", "wrong", "",
        ]  # fmt: skip
        assert isinstance(entries[3].event, Corrected)
        assert entries[3].event.entry == 2
        assert again.verify() == []
    assert not list(tmp_path.glob("outbox-*.jsonl"))


def test_what_was_sent_before_a_kill_is_not_sent_again(postgresql: Server, tmp_path: Path) -> None:
    url = postgresql.new_place()
    with Store.open(url) as store:
        store.append("a", [started()], minutes(0))
        whole = ReadingTaken(at=minutes(2), by="RM", tank=1, fac_mg_l=50)  # read back as 50.0
        entries = store.append("a", [batch(1), note(2), whole], minutes(2))
    box = Outbox(tmp_path, locate(url))
    box.keep("a", entries)  # as if the program had died before it could forget them
    box.close()
    with Store.open(url, state_folder=tmp_path) as store:
        assert len(store.entries("a")) == 4
        assert not store.keeps_here


def test_two_programs_keep_apart_and_what_one_left_the_next_takes_up(tmp_path: Path) -> None:
    place = locate("postgresql+psycopg://someone@nowhere/shed")
    (first, second) = Outbox(tmp_path, place), Outbox(tmp_path, place)
    assert first.path != second.path
    entry = next(_entries())
    first.keep("a", [entry])
    second.keep("a", [entry])
    first.close()
    second.close()
    third = Outbox(tmp_path, place)
    assert len(third) == 2
    third.close()


def _entries() -> Iterator[Entry]:
    yield from (entry for entry, _ in extend("a", None, [started()], minutes(0)))


def trouble(snapshot: Snapshot) -> str:
    return say(snapshot.trouble, UnitSystem.METRIC) if snapshot.trouble else ""


def test_a_shift_goes_on_without_the_server_and_ends(
    postgresql: Server, proxy: Proxy, tmp_path: Path
) -> None:
    url = proxy.url(postgresql.new_name())
    shown: list[Snapshot] = []
    setup = a_setup(a_tank(1, "First dunk"))
    store = Store.open(url, state_folder=tmp_path)
    recorder = Recorder(store, shown.append, clock=lambda: START, tick_s=3600)
    recorder.start()
    lots = (Lot(code="L-1", produce="chard"),)
    begun = recorder.enter(ShiftStarted(at=START, by="RM", setup=setup, lots=lots)).result(LONG)
    assert isinstance(begun, Saved)
    assert not begun.kept_here
    proxy.strike(Kind.DEAF, 0)
    for event in (
        TankFilled(at=START, by="RM", tank=1, volume_l=500),
        NoteWritten(at=START, by="RM", text="the cable"),
        ShiftEnded(at=START, by="RM"),
    ):
        answer = recorder.enter(event).result(LONG)
        assert isinstance(answer, Saved), answer
        assert answer.kept_here
    recorder.look_again().result(LONG)
    assert "kept on this computer, not yet on the server" in trouble(shown[-1])
    assert shown[-1].shift is not None
    assert shown[-1].shift.ended is not None
    proxy.mend()
    assert store._gap is not None
    assert store._gap._back.wait(LONG)
    recorder.look_again().result(LONG)
    assert "saved there" in trouble(shown[-1])
    recorder.close()
    with Store.open(url) as again:
        (row,) = again.shifts()
        assert row.ended_at is not None
        assert again.verify() == []
        there = [type(one.event) for one in again.entries(row.chain)]
        assert [there.count(kind) for kind in (TankFilled, NoteWritten, ShiftEnded)] == [1, 1, 1]
