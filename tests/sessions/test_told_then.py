"""A replay as told then: flags and plans are the journal's own, of old journals and of new ones."""

from datetime import datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from tests.shed import CHAIN, START, a_setup, in_a_line
from washmon import data
from washmon.line.events import BatchWashed, Event, ReadingTaken, ShiftStarted, TankFilled
from washmon.line.flag_events import FlagsChanged
from washmon.line.flags import Condition, Flag, Level, Step, StepKind
from washmon.line.fold import fold
from washmon.line.journal import extend
from washmon.line.message import Message, say
from washmon.line.plan import Due, Plan
from washmon.line.setup import Lot
from washmon.line.state import ShiftState
from washmon.planning.plan_words import CHANGE, calm_step, change_step
from washmon.sessions import player as player_module
from washmon.sessions.file import Session, compose, parse, read
from washmon.sessions.player import SETTLES_S, Judged, Player
from washmon.sessions.telling import happened, tell
from washmon.units import UnitSystem

RELEASED = sorted((Path(__file__).parent / "released").glob("*.washshift"))
SESSIONS = [*RELEASED, *data.demo_sessions()]
NAMES = [f"{path.parent.name}-{path.stem}" for path in SESSIONS]


def at(minutes: float) -> datetime:
    return START + timedelta(minutes=minutes)


def a_session(*happened: tuple[float, Event]) -> Session:
    """Return a session of events, each written down so many minutes after the start."""
    started = ShiftStarted(
        at=START, by="RM", setup=a_setup(), lots=(Lot(code="L-1", produce="baby chard"),)
    )
    rows, last = [], None
    for minutes, event in ((0.0, started), *happened):
        ((last, body),) = extend(CHAIN, last, [event], at(minutes))
        rows.append((last.seq, last.recorded_at, body, last.hash))
    return parse(compose(CHAIN, rows, "t"), "t.washshift")


def a_flag(rule: str, level: Level, kind: StepKind | None = None) -> Flag:
    step = None if kind is None else Step(kind=kind, say=Message(f"As told: {kind}"))
    title, why = Message("a title"), Message("a reason")
    return Flag(tank=1, rule=rule, level=level, title=title, why=why, since=START, step=step)


def told(minutes: float, *flags: Flag, plans: tuple[Plan, ...] = ()) -> tuple[float, Event]:
    return minutes, FlagsChanged(at=at(minutes), by="rules", upto=1, raised=flags, plans=plans)


FILLED = (1.0, TankFilled(at=at(1), by="RM", tank=1, volume_l=500.0))
READ = (8.0, ReadingTaken(at=at(8), by="RM", tank=1, fac_mg_l=50.0, ph=7.0))


def folded(session: Session, until: datetime) -> ShiftState:
    """Return the shift as its journal was at a moment."""
    entries = tuple(entry for entry in session.entries if entry.recorded_at <= until)
    return fold(session.header.chain, entries)


@pytest.mark.parametrize("path", SESSIONS, ids=NAMES)
def test_flags_are_at_each_moment_those_that_the_journal_holds(path: Path) -> None:
    session = read(path)
    player = Player(session)
    assert player.judged is Judged.THEN
    recorded = [one.event for one in session.entries if isinstance(one.event, FlagsChanged)]
    raised = [flag for event in recorded for flag in event.raised]
    assert [flag for change in player.changes for flag in change.raised] == raised
    for place in range(1, 20):
        player.seek(place / 20)
        snapshot = player.snapshot
        up = (*snapshot.advice.flags, *snapshot.advice.shelved)
        journal = folded(session, snapshot.now)
        assert {flag.key: flag for flag in up} == {
            record.flag.key: record.flag for record in journal.open_flags
        }
        assert snapshot.shift is not None
        assert snapshot.shift.plans == journal.plans


@pytest.mark.parametrize("path", RELEASED, ids=lambda path: path.stem)
def test_of_an_old_journal_the_step_of_the_most_urgent_flag_is_the_plan(path: Path) -> None:
    player = Player(read(path))
    seen = 0
    while player.next_flag():
        for one in player.snapshot.advice.tanks:
            if not one.flags:
                assert one.plan.now.kind is StepKind.LOOK
                continue
            worst = max(flag.level.rank for flag in one.flags)
            steps = [flag.step for flag in one.flags if flag.level.rank == worst]
            assert one.plan.now in steps
            assert one.plan.feed is (one.condition is not Condition.STOP)
            seen += 1
    assert seen >= 10


@pytest.mark.parametrize("path", data.demo_sessions(), ids=lambda path: path.stem)
def test_of_a_new_journal_the_plan_is_the_one_that_was_journaled(path: Path) -> None:
    session = read(path)
    player = Player(session)
    kinds = set()
    for place in range(1, 40):
        player.seek(place / 40)
        journal = folded(session, player.time)
        for one in player.snapshot.advice.tanks:
            plan = journal.plans.get(one.tank)
            if plan is None or journal.tank(one.tank).fill is None:
                continue
            assert one.plan.now.kind is plan.now.kind
            assert (one.plan.feed, one.plan.answers) == (plan.feed, plan.answers)
            if plan.now.kind is not StepKind.LOOK:
                assert one.plan == plan
            kinds.add(plan.now.kind)
    assert len(kinds) >= 2


@pytest.mark.parametrize("path", RELEASED, ids=lambda path: path.stem)
def test_an_old_session_is_judged_today_by_the_planner(path: Path) -> None:
    whole = read(path)
    part = replace(whole, entries=whole.entries[:25], complete=False)
    then, today = Player(part), Player(part, judged=Judged.TODAY)
    assert (then.judged, today.judged) == (Judged.THEN, Judged.TODAY)
    assert then.length == today.length
    then.seek(1.0)
    today.seek(1.0)
    recorded = {entry.seq for entry in part.entries if isinstance(entry.event, FlagsChanged)}
    for player, holds in ((then, True), (today, False)):
        shift = player.snapshot.shift
        assert shift is not None
        there = {entry.seq for entry in shift.entries}
        assert recorded & there == (recorded if holds else set())
    steps = [flag.step for flag in today.snapshot.advice.flags]
    assert steps == [None] * len(steps)


def test_nothing_is_asked_of_the_rules_of_today(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_args: object, **_more: object) -> None:
        raise AssertionError("the rules were asked")

    monkeypatch.setattr(player_module, "advise", broken)
    session = a_session(FILLED, told(2, a_flag("chlorine-low", Level.ACT, StepKind.DOSE)), READ)
    player = Player(session)
    player.seek(1.0)
    (flag,) = player.snapshot.advice.flags
    assert flag.rule == "chlorine-low"
    assert player.snapshot.advice.tank(1).condition is Condition.ACT


def test_a_session_in_which_nothing_was_told_is_judged_today() -> None:
    player = Player(a_session(FILLED, READ), judged=Judged.THEN)
    assert (player.was_told, player.judged) == (False, Judged.TODAY)


def test_the_most_protective_step_of_the_most_urgent_flags_was_the_one_to_do() -> None:
    flags = (
        a_flag("chlorine-low", Level.ACT, StepKind.DOSE),
        a_flag("chlorine-critical", Level.STOP, StepKind.DOSE),
        a_flag("hold", Level.STOP, StepKind.HOLD),
    )
    player = Player(a_session(FILLED, READ, told(8, *flags)))
    player.seek(1.0)
    plan = player.snapshot.advice.tank(1).plan
    assert (plan.now.kind, plan.answers, plan.feed) == (StepKind.HOLD, ("hold",), False)


def test_what_was_told_a_moment_after_an_entry_is_shown_with_the_entry() -> None:
    later = 8 + (SETTLES_S - 1) / 60
    flag = a_flag("check-now", Level.WATCH, StepKind.CHECK)
    player = Player(a_session(FILLED, READ, told(later, flag)))
    while player.step_event():
        pass
    assert player.time == at(8)
    assert [one.rule for one in player.snapshot.advice.flags] == ["check-now"]
    assert [change.at for change in player.changes] == [at(8)]


CALM = Plan(tank=1, now=calm_step(Due(batches=6)), due=Due(batches=6))


def a_batch(minutes: float) -> tuple[float, Event]:
    return minutes, BatchWashed(at=at(minutes), by="RM", tanks=(1,), lot="L-1")


def test_batches_count_down_in_a_calm_plan_until_something_is_entered_of_the_water() -> None:
    again = ReadingTaken(at=at(20), by="RM", tank=1, fac_mg_l=48.0, ph=7.0)
    session = a_session(FILLED, READ, told(8, plans=(CALM,)), a_batch(12), a_batch(16), (20, again))
    player = Player(session)
    said = []
    for minutes in (8, 12, 16, 20):
        player.seek(at(minutes))
        said.append(say(player.snapshot.advice.tank(1).plan.now.say, UnitSystem.METRIC))
    assert said == [
        "Nothing to do. Check within 6 batches",
        "Nothing to do. Check within 5 batches",
        "Nothing to do. Check within 4 batches",
        "Nothing to do",
    ]


def test_a_plan_that_time_brought_is_news() -> None:
    check = Plan(tank=1, now=Step(kind=StepKind.CHECK, say=Message("Measure now")), feed=False)
    change = Plan(tank=1, now=change_step(swap=False), answers=("hours",))
    player = Player(a_session(FILLED, READ, told(20, plans=(check,)), told(40, plans=(change,))))
    said = []
    while player.step():
        if player.news.entry is None:
            told_of = tell(happened(player.news), a_setup())
            said.append(told_of.said(lambda message: say(message, UnitSystem.METRIC)))
    assert said == [
        "Plan: tank 1 First dunk now, Measure now, nothing is washed meanwhile",
        f"Plan: tank 1 First dunk now, {CHANGE}",
    ]


@settings(max_examples=20, deadline=None)
@given(st.sampled_from(SESSIONS[::3]), st.lists(st.floats(0, 1), min_size=1, max_size=4))
def test_jumping_shows_what_playing_there_shows(path: Path, places: list[float]) -> None:
    jumping = _player(path)
    for place in places:
        jumping.seek(place)
    there = jumping.position
    stepped = _player(path)
    jumped = jumping.snapshot
    stepped.seek(0.0)
    while stepped.position < there:
        stepped.advance(min(600.0, there - stepped.position))
    assert stepped.snapshot == jumped


_PLAYERS: dict[Path, Player] = {}


def _player(path: Path) -> Player:
    if path not in _PLAYERS:
        _PLAYERS[path] = Player(read(path))
    return _PLAYERS[path]


def test_the_record_says_the_plan_beside_the_flags_and_alone() -> None:
    check = Plan(tank=1, now=Step(kind=StepKind.CHECK, say=Message("Measure now")), feed=False)
    alone = FlagsChanged(at=START, by="rules", upto=1, plans=(check, CALM))
    both = FlagsChanged(at=START, by="rules", upto=1, cleared=((1, "overdue"),), plans=(CALM,))
    assert [in_a_line(one, a_setup()) for one in (alone, both)] == [
        (
            "Plan: tank 1 now, Measure now, nothing is washed meanwhile, "
            "tank 1 now, Nothing to do. Check within 6 batches"
        ),
        "Flags: tank 1 cleared overdue, tank 1 now, Nothing to do. Check within 6 batches",
    ]
