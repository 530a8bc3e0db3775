"""The computer's clock is set in mid-shift: ages go by the time that has passed."""

from collections.abc import Iterator
from datetime import timedelta, timezone
from pathlib import Path

import pytest
from msgspec.structs import replace

from tests.recorder.recorder_bench import Bench
from tests.shed import START, a_setup, a_tank
from washmon.line.events import BatchWashed, ClockChanged, NoteWritten, ReadingTaken, TankFilled
from washmon.line.flag_events import FlagsChanged
from washmon.line.fold import fold
from washmon.line.message import say
from washmon.planning.snapshot import Snapshot
from washmon.recorder import Answer, Recorder, Refused, Saved
from washmon.recorder.timekeeping import Timekeeper
from washmon.sessions.file import compose, parse
from washmon.sessions.player import TICK_S, Judged, Player
from washmon.store.store import Store
from washmon.units import UnitSystem


class ClockBench(Bench):
    """A recorder whose clock may be set apart from the time that passes."""

    passed_s = 0.0
    tick_s = 60.0

    def _recorder(self) -> Recorder:
        recorder = Recorder(
            self.store,
            self.snapshots.put,
            clock=self.clock,
            tick_s=3600,
            ahead_s=0,
            passing_s=lambda: self.passed_s,
        )
        recorder.start()
        return recorder

    def wait(self, minutes: float) -> Snapshot:
        """Let time pass, the clock with it, and the recorder look as often as a replay does."""
        snapshot = self.latest()
        for _ in range(round(minutes * 60 / self.tick_s)):
            self.now += timedelta(seconds=self.tick_s)
            self.passed_s += self.tick_s
            snapshot = self.latest()
        return snapshot

    def set_clock(self, **by: float) -> None:
        self.now += timedelta(**by)

    def run(self) -> str:
        """Start a shift with water that was read."""
        chain = self.start_shift(a_setup(a_tank(1, "First dunk")))
        self.enter(TankFilled(at=self.now, by="RM", tank=1, volume_l=500))
        self.wait(2)
        assert isinstance(self.read(50), Saved)
        return chain

    def read(self, fac: float, *, tank: int = 1) -> Answer:
        reading = ReadingTaken(at=self.now, by="RM", tank=tank, fac_mg_l=fac, ph=7.0)
        return self.enter(reading, sure=True)

    def wash(self) -> Answer:
        batch = BatchWashed(at=self.now, by="RM", tanks=(1,), lot="L-1", contact_s=90)
        return self.enter(batch, sure=True)

    def changes(self, chain: str) -> list[ClockChanged]:
        events = (entry.event for entry in self.store.reader().entries(chain))
        return [event for event in events if isinstance(event, ClockChanged)]


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[ClockBench]:
    """Return a recorder that is closed after the test."""
    bench = ClockBench(tmp_path / "shed.db")
    yield bench
    bench.recorder.close()


def rules_up(snapshot: Snapshot, tank: int = 1) -> set[str]:
    return {flag.rule for flag in snapshot.advice.flags if flag.tank == tank}


def trouble(snapshot: Snapshot) -> str:
    return say(snapshot.trouble, UnitSystem.METRIC) if snapshot.trouble else ""


def test_a_shift_begun_a_day_ahead_goes_on_when_the_clock_is_put_right(bench: ClockBench) -> None:
    bench.set_clock(days=1)
    chain = bench.run()
    bench.set_clock(days=-1)
    assert isinstance(bench.wash(), Saved)
    snapshot = bench.wait(1)
    assert snapshot.shift is not None
    assert snapshot.shift.started.at == START
    assert [one.by_s for one in bench.changes(chain)] == [-86400]
    assert "clock was set 24 h 00 min back" in trouble(snapshot)
    row = bench.store.reader().shifts()[0]
    assert row.started_at == START
    assert bench.store.reader().compare_projections() == []
    assert bench.store.reader().verify() == []


def test_a_clock_put_right_while_nothing_ran_is_noticed_at_the_next_start(
    bench: ClockBench,
) -> None:
    bench.set_clock(days=1)
    chain = bench.run()
    bench.recorder.close()
    bench.set_clock(days=-1)
    bench.passed_s = 5.0  # the computer was started anew
    bench.store = Store.open(bench.path)
    bench.recorder = bench._recorder()
    assert isinstance(bench.wash(), Saved)
    assert len(bench.changes(chain)) == 1


def test_a_reading_made_while_the_clock_ran_ahead_silences_no_flag(bench: ClockBench) -> None:
    bench.set_clock(hours=9)
    bench.run()
    bench.set_clock(hours=-9)
    assert not rules_up(bench.wait(15)) & {"overdue"}
    assert "overdue" in rules_up(bench.wait(25))
    assert isinstance(bench.read(12), Saved)
    assert "chlorine-critical" in rules_up(bench.latest())


def test_a_clock_set_back_two_hours_delays_no_flag(bench: ClockBench) -> None:
    bench.run()
    bench.wait(10)
    bench.set_clock(hours=-2)
    assert "overdue" not in rules_up(bench.wait(10))
    assert "overdue" in rules_up(bench.wait(20))


def test_a_clock_set_forward_makes_nothing_overdue(bench: ClockBench) -> None:
    chain = bench.run()
    bench.set_clock(hours=3)
    snapshot = bench.wait(5)
    assert "overdue" not in rules_up(snapshot)
    assert "clock was set 3 h 00 min forward" in trouble(snapshot)
    assert "overdue" in rules_up(bench.wait(35))
    assert [one.by_s for one in bench.changes(chain)] == [3 * 3600]


def test_sleep_and_summer_time_set_no_clock(bench: ClockBench) -> None:
    chain = bench.run()
    bench.now = bench.now.astimezone(timezone(timedelta(hours=-5)))  # the dial goes back an hour
    bench.wait(1)
    bench.now += timedelta(hours=1)  # asleep: both clocks go on
    bench.passed_s += 3600
    assert "overdue" in rules_up(bench.wait(1))
    bench.set_clock(seconds=40)  # as the network keeps it right
    bench.wait(1)
    assert bench.changes(chain) == []


def test_without_a_shift_a_jump_is_only_told(bench: ClockBench) -> None:
    bench.latest()
    bench.set_clock(hours=1)
    assert "stands as it was" in trouble(bench.latest())
    assert "stands as it was" in trouble(bench.latest())  # once, for as long as a remark stays
    assert isinstance(bench.start_shift(), str)


def test_times_that_were_wrong_are_moved_by_an_entry_with_a_reason(bench: ClockBench) -> None:
    bench.run()
    wrong = ClockChanged(at=bench.now, by="RM", by_s=7200, reason="it was two hours slow")
    refused = bench.enter(wrong)
    assert isinstance(refused, Refused)  # two hours later is not yet
    bench.recorder.close()
    bench.set_clock(hours=2)  # while nothing ran: nobody can know
    bench.store = Store.open(bench.path)
    bench.recorder = bench._recorder()
    assert "overdue" in rules_up(bench.latest())
    event = ClockChanged(at=bench.now, by="RM", by_s=7200, reason="")
    assert isinstance(bench.enter(event), Refused)
    assert isinstance(bench.enter(replace(wrong, at=bench.now)), Saved)
    snapshot = bench.latest()
    assert "overdue" not in rules_up(snapshot)
    assert snapshot.shift is not None
    assert snapshot.shift.started.at == START + timedelta(hours=2)
    assert bench.store.reader().compare_projections() == []


def test_a_clock_that_was_set_is_noticed_once() -> None:
    now, passed = [START], [0.0]
    keeper = Timekeeper(lambda: now[0], lambda: passed[0])
    now[0] += timedelta(minutes=5)
    found = keeper.set_since()
    assert found is not None
    assert found.by_s == 300
    keeper.settle()
    assert keeper.set_since() is None
    assert not keeper.moves(None)
    assert Timekeeper(lambda: now[0], None).set_since() is None


@pytest.mark.parametrize("jump_h", [-24, 9])
def test_a_replay_shows_what_was_shown_live(bench: ClockBench, jump_h: float) -> None:
    bench.tick_s = TICK_S
    chain = bench.run()
    bench.wait(8)
    bench.set_clock(hours=jump_h)
    bench.wait(2)
    bench.enter(NoteWritten(at=bench.now, by="RM", text="the clock was wrong"))
    for level in (44, 20, 52):
        bench.wait(8)
        bench.read(level)
        bench.wash()
    bench.wait(36)
    with bench.store.reader() as store:
        rows = store.rows(chain)
    session = parse(compose(chain, rows, "t"), "t.washshift")
    live = [
        (frozenset(flag.key for flag in event.raised), frozenset(event.cleared))
        for entry in session.entries
        if isinstance(event := entry.event, FlagsChanged) and (event.raised or event.cleared)
    ]
    assert any(("overdue" in rule) for raised, _ in live for _, rule in raised)
    player = Player(session, judged=Judged.TODAY)
    replayed = [
        (frozenset(flag.key for flag in change.raised), frozenset(change.cleared))
        for change in player.changes
        if change.raised or change.cleared
    ]
    assert replayed == live
    player.seek(1.0)
    shift = player.snapshot.shift
    assert shift is not None
    with bench.store.reader() as store:
        there = fold(chain, store.entries(chain))
    assert shift.tanks == there.tanks
    told = Player(session)
    told.seek(1.0)
    assert told.snapshot.shift == there
