"""The player: one code path with the live shift, and the same state however one gets there."""

import functools
from datetime import datetime, timedelta
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from tests.shed import CHAIN, START, a_setup
from tests.some import some
from tests.tools.make_demo_sessions import build
from washmon.forecast.look_ahead import Forecast
from washmon.line.events import (
    BatchWashed,
    Decision,
    DoseAdded,
    Event,
    HoldPlaced,
    HoldReleased,
    Method,
    NoteWritten,
    ReadingTaken,
    ShiftEnded,
    ShiftStarted,
    TankFilled,
)
from washmon.line.flag_events import FlagsChanged
from washmon.line.flags import Amount, StepKind
from washmon.line.journal import Entry, extend
from washmon.line.setup import Lot
from washmon.line.state import ShiftState
from washmon.planning.advice import Advice, advise
from washmon.planning.snapshot import Mode, Snapshot
from washmon.recorder import Recorder, Saved
from washmon.sessions import player as player_module
from washmon.sessions.file import Session, compose, parse
from washmon.sessions.player import Judged, Player
from washmon.store.store import Store

LONG_S = 30.0


def at(minutes: float) -> datetime:
    return START + timedelta(minutes=minutes)


STARTED = ShiftStarted(
    at=START, by="RM", setup=a_setup(), lots=(Lot(code="L-1", produce="baby chard"),)
)
STORY: tuple[Event, ...] = (
    TankFilled(at=at(1), by="RM", tank=1, volume_l=500.0),
    DoseAdded(at=at(2), by="RM", tank=1, product="bleach", amount=Amount(200.0, "mL")),
    ReadingTaken(at=at(8), by="RM", tank=1, fac_mg_l=50.0, fac_method=Method.KIT, ph=7.0),
    BatchWashed(at=at(12), by="RM", tanks=(1,), lot="L-1"),
    BatchWashed(at=at(20), by="RM", tanks=(1,), lot="L-1"),
    ReadingTaken(at=at(50), by="RM", tank=1, fac_mg_l=20.0, fac_method=Method.KIT, ph=7.0),
    ReadingTaken(at=at(95), by="RM", tank=1, fac_mg_l=48.0, fac_method=Method.KIT, ph=7.8),
    ShiftEnded(at=at(100), by="RM"),
)


def session_of(*happened: tuple[float, Event]) -> Session:
    """Return a session of events, each written down so many minutes after the start."""
    rows, last = [], None
    for minutes, event in ((0.0, STARTED), *happened):
        ((last, body),) = extend(CHAIN, last, [event], at(minutes))
        rows.append((last.seq, last.recorded_at, body, last.hash))
    return parse(compose(CHAIN, rows, "t"), "t.washshift")


@functools.cache
def a_session() -> Session:
    return session_of(*(((event.at - START).total_seconds() / 60, event) for event in STORY))


@functools.cache
def a_demo() -> Session:
    return parse(build("4-mistakes-and-holds"), "demo")


@functools.cache
def a_morning() -> Session:
    """The first third of the demo: enough to jump about in."""
    entries = a_demo().entries
    return replace(a_demo(), entries=entries[: len(entries) // 3], complete=False)


@functools.cache
def watched() -> Player:
    return Player(a_morning())


def rules_up(player: Player) -> list[str]:
    return [flag.rule for flag in player.snapshot.advice.flags]


def test_it_begins_with_the_start_of_the_shift_and_says_that_it_is_a_replay() -> None:
    player = Player(a_session())
    assert (player.position, player.time, player.at_end) == (0.0, START, False)
    snapshot = player.snapshot
    assert snapshot.mode is Mode.REPLAY
    assert (snapshot.now, snapshot.setup) == (START, a_setup())
    assert player.length == 100 * 60


def test_stepping_shows_what_the_rules_say_after_each_entry() -> None:
    player = Player(a_session())
    assert player.step_event()
    assert player.step_event()
    assert player.step_event()
    assert isinstance(player.entry.event, ReadingTaken)
    assert player.time == at(8)
    assert rules_up(player) == []


def test_what_is_overdue_comes_up_by_itself_between_entries() -> None:
    player = Player(a_session())
    player.seek(at(39))
    assert rules_up(player) == []
    assert player.snapshot.advice.tank(1).plan.now.kind is StepKind.CHECK
    player.advance(90)
    assert rules_up(player) == ["overdue"]
    assert player.time == at(40.5)
    assert isinstance(player.entry.event, BatchWashed)


def test_advancing_stops_at_the_end() -> None:
    player = Player(a_session())
    player.advance(1e9)
    assert player.at_end
    assert player.position == player.length
    assert player.snapshot.shift is not None
    assert player.snapshot.shift.ended is not None
    assert not player.step_event()
    player.advance(-5)
    assert player.position == player.length


def test_back_goes_to_the_newest_entry_and_then_to_the_one_before() -> None:
    player = Player(a_session())
    player.seek(at(13))
    player.back_event()
    assert player.time == at(12)
    player.back_event()
    assert player.time == at(8)
    for _ in range(3):
        assert player.back_event()
    assert not player.back_event()
    assert player.position == 0.0


def test_the_next_flag_is_where_one_comes_up() -> None:
    player = Player(a_session())
    up = []
    while player.next_flag():
        up.append((player.time, rules_up(player)))
    assert up == [
        (at(40), ["overdue"]),
        (at(50), ["chlorine-critical", "hold"]),
        (at(82), ["chlorine-critical", "hold", "overdue"]),
        (at(95), ["hold", "ph-high", "reading-jumps"]),
    ]
    assert player.previous_flag()
    assert player.time == at(82)


def test_a_fraction_and_a_moment_both_lead_there() -> None:
    player = Player(a_session())
    player.seek(0.5)
    assert player.time == at(50)
    player.seek(START - timedelta(hours=3))
    assert player.position == 0.0
    player.seek(at(1e5))
    assert player.at_end


def test_judged_today_what_was_said_when_it_was_recorded_is_left_out() -> None:
    invented = FlagsChanged(at=at(3), by="rules", upto=1, cleared=((1, "no such rule"),))
    session = session_of((1, STORY[0]), (3, invented), (4, ShiftEnded(at=at(4), by="RM")))
    player = Player(session, judged=Judged.TODAY)
    assert [type(played.event) for played in player.events] == [
        ShiftStarted,
        TankFilled,
        ShiftEnded,
    ]
    assert [key for change in player.changes for key in change.cleared] == []


def test_entries_keep_their_places_so_that_holds_and_corrections_still_mean_them() -> None:
    player = Player(a_demo())
    player.seek(1.0)
    shift = player.snapshot.shift
    assert shift is not None
    recorded = {entry.seq: entry for entry in a_demo().entries}
    for entry in shift.entries:
        if not isinstance(entry.event, FlagsChanged):
            assert recorded[entry.seq] == entry
    assert {hold.seq for hold in shift.holds} <= recorded.keys()
    assert shift.open_holds == ()


@settings(max_examples=8, deadline=None)
@given(st.lists(st.floats(0, 1), min_size=1, max_size=4))
def test_jumping_anywhere_shows_what_playing_there_step_by_step_shows(places: list[float]) -> None:
    for place in places:
        watched().seek(place)
    stepped = Player(a_morning())
    while stepped.position < watched().position:
        stepped.advance(min(600.0, watched().position - stepped.position))
    assert watched().snapshot == stepped.snapshot


@settings(max_examples=8, deadline=None)
@given(st.integers(0, 70), st.floats(0, 1))
def test_stepping_back_and_forth_leads_to_where_stepping_there_leads(
    steps: int, start: float
) -> None:
    player = watched()
    player.seek(start)
    while player.back_event():
        pass
    for _ in range(steps):
        player.step_event()
    stepped = Player(a_morning())
    for _ in range(steps):
        stepped.step_event()
    assert player.snapshot == stepped.snapshot
    if player.step_event():
        player.back_event()
        assert player.snapshot == stepped.snapshot


def test_checkpoints_are_only_a_short_cut(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(player_module, "CHECKPOINT_EVERY", 1)
    dense = Player(a_session())
    monkeypatch.setattr(player_module, "CHECKPOINT_EVERY", 10_000)
    sparse = Player(a_session())
    assert dense.changes == sparse.changes
    for place in (0.7, 0.1, 1.0, 0.4, 0.0):
        dense.seek(place)
        sparse.seek(place)
        assert dense.snapshot == sparse.snapshot


def test_jumping_back_looks_at_no_more_than_the_way_from_a_checkpoint(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    player = Player(a_session())
    player.seek(1.0)
    looks = 0

    def counted(shift: ShiftState, now: datetime, *, forecasts: dict[int, Forecast]) -> Advice:
        nonlocal looks
        looks += 1
        return advise(shift, now, forecasts=forecasts)

    monkeypatch.setattr(player_module, "advise", counted)
    player.seek(0.3)
    assert 0 < looks < player_module.CHECKPOINT_EVERY


def test_a_decision_days_after_the_end_does_not_stretch_the_replay() -> None:
    bad = ReadingTaken(at=at(9), by="RM", tank=1, fac_mg_l=5.0)
    hold = HoldPlaced(at=at(10), by="RM", tank=1, batches=(2,), reason="low")
    end = ShiftEnded(at=at(11), by="RM", holds_to="TK")
    later = HoldReleased(at=at(9000), by="TK", hold=4, decision=Decision.DISCARD, reason="waste")
    batch = BatchWashed(at=at(5), by="RM", tanks=(1,), lot="L-1")
    session = session_of((1, STORY[0]), (5, batch), (9, bad), (10, hold), (11, end), (9000, later))
    player = Player(session)
    assert player.length == 12 * 60
    player.seek(1.0)
    assert player.time == at(9000)
    assert player.snapshot.shift is not None
    assert player.snapshot.shift.open_holds == ()


def test_a_clock_that_was_set_back_does_not_turn_time_round() -> None:
    note = NoteWritten(at=at(3), by="RM", text="the clock was wrong")
    player = Player(session_of((10, STORY[0]), (4, note), (12, ShiftEnded(at=at(12), by="RM"))))
    offsets = [played.offset_s for played in player.events]
    assert offsets == sorted(offsets) == [0.0, 600.0, 600.0, 720.0]
    player.seek(at(10))
    player.back_event()
    assert player.entry.seq == 1


# -- one code path with the live shift ----------------------------------------------------------


class LiveShift:
    """A shift recorded live, with a clock that the test moves, and the file it becomes."""

    def __init__(self, path: Path) -> None:
        self.now = START
        self.snapshots: list[Snapshot] = []
        store = Store.open(path)
        self.recorder = Recorder(
            store, self.snapshots.append, clock=lambda: self.now, tick_s=3600, ahead_s=0
        )
        self.recorder.start()

    def run(self) -> Session:
        answer = self.recorder.enter(STARTED).result(LONG_S)
        assert isinstance(answer, Saved)
        for event in STORY:
            while self.now + timedelta(seconds=10) < event.at:
                self.now += timedelta(seconds=10)
                self.recorder.look_again().result(LONG_S)
            self.now = event.at
            assert isinstance(self.recorder.enter(event, sure=True).result(LONG_S), Saved)
        rows = self.recorder.read(lambda store: store.rows(answer.chain)).result(LONG_S)
        self.recorder.close()
        return parse(compose(answer.chain, rows, "live"), "live.washshift")


def flags_by_entry(entries: tuple[Entry, ...]) -> list[tuple[int, list[object], list[object]]]:
    """Return what was raised and cleared after each entry that somebody made, in order."""
    told: list[tuple[int, list[object], list[object]]] = []
    for entry in entries:
        if isinstance(entry.event, FlagsChanged):
            told[-1][1].extend((flag.key, flag.level, flag.since) for flag in entry.event.raised)
            told[-1][2].extend(entry.event.cleared)
        else:
            told.append((entry.seq, [], []))
    return [
        (seq, sorted(raised, key=str), sorted(cleared, key=str)) for seq, raised, cleared in told
    ]


def test_a_live_shift_and_its_replay_raise_and_clear_the_same_flags(tmp_path: Path) -> None:
    session = LiveShift(tmp_path / "live.db").run()
    player = Player(session, judged=Judged.TODAY)
    player.seek(1.0)
    shift = player.snapshot.shift
    assert shift is not None
    recorded = flags_by_entry(session.entries)
    assert flags_by_entry(shift.entries) == recorded
    assert sum(len(raised) for _, raised, _ in recorded) >= 4


def test_every_demo_raises_and_clears_in_replay_what_it_did_live() -> None:
    player = Player(a_demo(), judged=Judged.TODAY)
    player.seek(1.0)
    assert player.snapshot.shift is not None
    assert flags_by_entry(player.snapshot.shift.entries) == flags_by_entry(a_demo().entries)


def test_time_never_goes_backwards_while_it_plays() -> None:
    player = watched()
    player.seek(0.0)
    times = [player.time]
    while not player.at_end:
        player.advance(37.0)
        times.append(player.time)
    assert all(before < after for before, after in some(pairwise(times)))


# -- what past shifts tell -------------------------------------------------------------------------


def a_washing_day(levels: tuple[float, ...]) -> Session:
    """A shift in which free chlorine falls, check by check, four batches apart."""
    happened: list[tuple[float, Event]] = [
        (0, TankFilled(at=at(0), by="RM", tank=1, volume_l=500)),
        (1, DoseAdded(at=at(1), by="RM", tank=1, product="bleach", amount=Amount(200, "mL"))),
    ]
    minute = 10.0
    for level in levels:
        reading = ReadingTaken(
            at=at(minute), by="RM", tank=1, fac_mg_l=level, fac_method=Method.KIT, ph=7.0
        )
        happened.append((minute, reading))
        for _ in range(4):
            minute += 3
            batch = BatchWashed(at=at(minute), by="RM", tanks=(1,), lot="L-1", weight_kg=12.0)
            happened.append((minute, batch))
        minute += 1
    return session_of(*happened)


def test_a_replay_looks_ahead_from_what_the_shifts_before_told() -> None:
    past = [("before", a_washing_day((50.0, 30.0, 12.0, 4.0)).entries)] * 3
    begins = a_washing_day((50.0,))
    usual, taught = Player(begins), Player(begins, past)
    lasts = []
    for player in (usual, taught):
        player.seek(0.99)
        lasts.append(player.snapshot.forecasts[1].until_low.batches)
    assert lasts[1].mid < 0.7 * lasts[0].mid  # they were dirtier than is usual
    assert (lasts[1].high - lasts[1].low) < (lasts[0].high - lasts[0].low)
    assert taught.untaught is None


def test_past_shifts_that_nobody_can_follow_are_told_of_and_the_replay_goes_on() -> None:
    begins = a_washing_day((50.0,))
    player = Player(begins, [("torn", begins.entries[3:])])
    assert player.untaught is not None
    usual = Player(begins)
    for one in (player, usual):
        one.seek(0.99)
    assert player.snapshot.forecasts == usual.snapshot.forecasts
