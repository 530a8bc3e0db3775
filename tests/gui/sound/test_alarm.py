"""What is due to be heard, and when, reckoned from snapshots alone."""

from datetime import datetime, timedelta

import pytest

from tests.shed import START
from washmon.gui.sound.alarm import EVERY, RISE_DB, Alarm, Cue, Sound
from washmon.line.flags import Condition, Flag, Level, Step, StepKind
from washmon.line.message import Message
from washmon.line.plan import Plan
from washmon.planning.advice import Advice, TankAdvice
from washmon.planning.snapshot import Mode, Snapshot

SAY = Message("say")


def flag(level: Level = Level.STOP, rule: str = "chlorine-critical", tank: int = 1) -> Flag:
    return Flag(tank=tank, rule=rule, level=level, title=SAY, why=SAY, since=START)


OVERDUE = flag(Level.ACT, "overdue")


def snapshot(
    *flags: Flag, now: datetime = START, mode: Mode = Mode.LIVE, wait: datetime | None = None
) -> Snapshot:
    step = Step(kind=StepKind.LOOK if wait is None else StepKind.WAIT, say=SAY)
    tank = TankAdvice(
        tank=1, condition=Condition.STOP, plan=Plan(tank=1, now=step, wait_until=wait)
    )
    return Snapshot(now=now, mode=mode, advice=Advice(tanks=(tank,), flags=flags))


def heard(alarm: Alarm, until: timedelta, start: datetime = START) -> list[tuple[int, Cue]]:
    """Look at the clock each second; return what sounds after how many seconds."""
    seconds = range(int(until.total_seconds()) + 1)
    cues = ((at, alarm.due(start + timedelta(seconds=at))) for at in seconds)
    return [(at, cue) for at, cue in cues if cue is not None]


def test_what_nobody_answers_is_heard_again_and_rises_to_the_volume_that_was_chosen() -> None:
    alarm = Alarm()
    alarm.look(snapshot(OVERDUE))
    told = heard(alarm, EVERY * 5)
    assert [at for at, _ in told] == [round(EVERY.total_seconds() * n) for n in range(6)]
    gains = [cue.gain_db for _, cue in told]
    assert gains == [*RISE_DB, RISE_DB[-1], RISE_DB[-1]]
    assert gains == sorted(gains)
    assert gains[-1] == 0
    assert {cue.sound for _, cue in told} == {Sound.OVERDUE}
    assert alarm.rings


def test_once_hushed_the_same_is_not_heard_again_but_what_is_new_is() -> None:
    alarm = Alarm()
    alarm.look(snapshot(OVERDUE))
    assert heard(alarm, timedelta(seconds=1))
    alarm.hush()
    assert not alarm.rings
    later = START + timedelta(minutes=3)
    alarm.look(snapshot(OVERDUE, now=later))
    assert heard(alarm, EVERY * 2, later) == []
    alarm.look(snapshot(OVERDUE, flag(tank=2), now=later))
    assert heard(alarm, timedelta(0), later) == [(0, Cue(Sound.STOP, RISE_DB[0]))]


def test_a_stop_outrings_what_is_overdue_and_both_end_with_their_reason() -> None:
    alarm = Alarm()
    alarm.look(snapshot(OVERDUE, flag()))
    assert heard(alarm, EVERY)[-1][1].sound is Sound.STOP
    alarm.look(snapshot(OVERDUE))
    assert heard(alarm, EVERY, START + EVERY)[-1][1].sound is Sound.OVERDUE
    alarm.look(snapshot())
    assert not alarm.rings
    assert not alarm.is_pending
    assert heard(alarm, EVERY * 3, START + EVERY * 3) == []


@pytest.mark.parametrize("level", [Level.WATCH, Level.ACT])
def test_what_does_not_stop_and_is_not_long_overdue_is_for_the_eye_alone(level: Level) -> None:
    alarm = Alarm()
    alarm.look(snapshot(flag(level, "chlorine-low"), flag(Level.WATCH, "overdue")))
    assert heard(alarm, EVERY * 2) == []


def test_a_flag_that_becomes_a_stop_is_heard() -> None:
    alarm = Alarm()
    alarm.look(snapshot(flag(Level.WATCH)))
    assert heard(alarm, EVERY) == []
    alarm.look(snapshot(flag(Level.STOP)))
    assert heard(alarm, timedelta(0)) == [(0, Cue(Sound.STOP, RISE_DB[0]))]


@pytest.mark.parametrize("mode", [Mode.REPLAY, Mode.READ_ONLY])
def test_a_shift_that_is_not_recorded_here_is_silent(mode: Mode) -> None:
    alarm = Alarm()
    alarm.look(snapshot(flag(), mode=mode, wait=START + timedelta(seconds=5)))
    assert heard(alarm, EVERY * 2) == []
    assert not alarm.is_pending


# --- waits


def test_the_end_of_a_wait_is_heard_once() -> None:
    alarm = Alarm()
    alarm.look(snapshot(wait=START + timedelta(seconds=5)))
    assert heard(alarm, timedelta(minutes=1)) == [(5, Cue(Sound.WAIT_OVER, 0.0))]
    assert not alarm.rings


def test_the_end_of_a_wait_is_heard_too_where_the_next_step_came_just_before_the_look() -> None:
    alarm, over = Alarm(), START + timedelta(seconds=5)
    alarm.look(snapshot(wait=over))
    alarm.look(snapshot(now=over))
    assert heard(alarm, timedelta(0), over) == [(0, Cue(Sound.WAIT_OVER, 0.0))]


def test_a_wait_that_is_given_up_before_its_end_is_not_heard() -> None:
    alarm = Alarm()
    alarm.look(snapshot(wait=START + timedelta(seconds=5)))
    alarm.look(snapshot(now=START + timedelta(seconds=2)))
    assert heard(alarm, timedelta(minutes=1)) == []
