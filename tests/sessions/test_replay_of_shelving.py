"""What is shelved in a replay: the same as in the shift, by the clock of the replay."""

import json
from datetime import timedelta

import pytest

from tests.shed import START, Shed, a_setup, a_tank
from washmon.line.flag_events import FlagUnshelved
from washmon.line.journal import encode
from washmon.line.state import ShiftState
from washmon.sessions.file import Session, compose, parse
from washmon.sessions.headless import lines
from washmon.sessions.player import Player


@pytest.fixture
def shed() -> Shed:
    """A shift that is low at minute 10; shelved at 12 for 20 min, and once more at 40."""
    shed = Shed(a_setup(a_tank(1, "Only")))
    shed.fill()
    shed.wait(10).read(fac=30, ph=7.0)
    shed.look()
    shed.wait(2).shelve(minutes=20)
    shed.look()
    shed.wait(28).shelve(minutes=10)
    shed.look()
    shed.wait(3)
    shed.tell(FlagUnshelved(at=shed.now, by="TK", tank=1, rule="chlorine-low"))
    shed.look()
    shed.wait(7).read(fac=50, ph=7.0)
    shed.look()
    return shed


def session_of(shift: ShiftState) -> Session:
    rows = [(one.seq, one.recorded_at, encode(one.event), one.hash) for one in shift.entries]
    return parse(compose(shift.chain, rows, "t"), "t.washshift")


@pytest.mark.parametrize(
    ("minute", "shelved"),
    [(11.0, False), (12.5, True), (31.9, True), (32.0, False), (41.0, True), (43.5, False)],
)
def test_at_each_moment_the_replay_shelves_what_was_shelved(
    shed: Shed, minute: float, *, shelved: bool
) -> None:
    player = Player(session_of(shed.shift))
    player.seek(player.position_of(START + timedelta(minutes=minute)) / player.length)
    advice = player.snapshot.advice
    assert ([flag.rule for flag in advice.shelved] == ["chlorine-low"]) is shelved
    assert ("chlorine-low" in {flag.rule for flag in advice.flags}) is not shelved


def test_nothing_comes_up_or_goes_because_of_shelving(shed: Shed) -> None:
    about = [
        ([flag.rule for flag in change.raised], [rule for _, rule in change.cleared])
        for change in Player(session_of(shed.shift)).changes
        if "chlorine-low" in {flag.rule for flag in change.raised} | {r for _, r in change.cleared}
    ]
    assert ["chlorine-low" in raised for raised, _ in about] == [True, False]


def test_without_a_window_it_is_told_with_until_who_and_why(shed: Shed) -> None:
    session = session_of(shed.shift)
    told = [json.loads(line) for line in lines(session, as_json=True)]
    by_event = {one["event"]: one for one in told}
    (aside,) = by_event["flag shelved"]["shelved"]
    assert (aside["tank"], aside["rule"], aside["by"]) == (1, "chlorine-low", "RM")
    assert aside["until"] == "2026-05-07T07:50:00-04:00"
    assert "re-dose" in by_event["flag shelved"]["summary"]
    assert by_event["flag unshelved"]["shelved"] == []
    text = list(lines(session, as_json=False))
    assert any(
        line.strip() == "shelved: tank 1, re-dose, until 07:32 (RM: a kit is being fetched)."
        for line in text
    )
