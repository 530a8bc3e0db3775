"""The demo sessions: what the Board shows in each, told in the words of a shed."""

import json
import math
from datetime import datetime, timedelta
from typing import Any

import pytest

from tests.tools.demo_stories import STORIES
from tests.tools.make_demo_sessions import build
from washmon import data
from washmon.line.events import (
    AcidAdded,
    Corrected,
    DoseAdded,
    HandedOver,
    HoldReleased,
    ShiftEnded,
    TankFilled,
)
from washmon.line.flag_events import FlagsChanged
from washmon.line.fold import fold
from washmon.line.validate import faults
from washmon.rules.in_question import questioned
from washmon.sessions.file import Session, read
from washmon.sessions.player import Judged, Player


def session(name: str) -> Session:
    return read(next(path for path in data.demo_sessions() if path.stem == name))


def flags_of(name: str) -> list[str]:
    """Return what came up, as "07:29 tank 1 chlorine-low act"."""
    return [
        f"{change.at:%H:%M} tank {flag.tank} {flag.rule} {flag.level}"
        for change in Player(session(name)).changes
        for flag in change.raised
    ]


def test_the_files_are_those_that_the_stories_tell() -> None:
    assert [path.stem for path in data.demo_sessions()] == sorted(STORIES)


@pytest.mark.parametrize("name", sorted(STORIES))
def test_a_story_told_again_gives_the_same_file(name: str) -> None:
    path = next(path for path in data.demo_sessions() if path.stem == name)
    again = f"{name} is not what its story tells: run python -m tests.tools.make_demo_sessions"
    kept, told = (body.decode().splitlines() for body in (path.read_bytes(), build(name)))
    assert len(kept) == len(told), again
    for one, other in zip(kept, told, strict=True):
        assert alike(json.loads(one), json.loads(other)), f"{again}: {one} is not {other}"


def alike(one: Any, other: Any) -> bool:
    """Tell whether two pieces of a file are the same but for the last digits of a float.

    Another processor adds in another order; hashes follow from each digit.
    """
    if isinstance(one, float) and isinstance(other, float):
        return math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-12)
    if isinstance(one, dict) and isinstance(other, dict):
        keys = one.keys() - {"hash", "head", "seal"}
        return one.keys() == other.keys() and all(alike(one[key], other[key]) for key in keys)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(alike, one, other))
    return type(one) is type(other) and one == other


@pytest.mark.parametrize("name", sorted(STORIES))
def test_a_demo_is_a_whole_shift_on_a_sound_line_with_a_note_for_whoever_teaches(name: str) -> None:
    shift = session(name)
    people = [entry for entry in shift.entries if not isinstance(entry.event, FlagsChanged)]
    assert 40 <= len(people) <= 150
    lasted = shift.entries[-1].recorded_at - shift.entries[0].recorded_at
    assert timedelta(hours=3, minutes=45) <= lasted <= timedelta(hours=7)
    assert any(isinstance(entry.event, ShiftEnded) for entry in shift.entries)
    assert faults(shift.setup) == []
    assert "Ask:" in shift.header.teaching_note
    assert "invented" in shift.setup.location.lower()


@pytest.mark.parametrize("name", sorted(STORIES))
def test_judged_today_a_demo_shows_the_flags_that_were_recorded(name: str) -> None:
    shift = session(name)
    recorded: dict[datetime, tuple[set[object], set[object]]] = {}
    for entry in shift.entries:  # live, what goes by the forecast is journaled a moment later
        if isinstance(entry.event, FlagsChanged):
            raised, cleared = recorded.setdefault(entry.recorded_at, (set(), set()))
            raised |= {flag.key for flag in entry.event.raised}
            cleared |= set(entry.event.cleared)
    assert {
        change.at: ({flag.key for flag in change.raised}, set(change.cleared))
        for change in Player(shift, judged=Judged.TODAY).changes
        if change.raised or change.cleared
    } == {at: keys for at, keys in recorded.items() if any(keys)}


@pytest.mark.parametrize("name", sorted(STORIES))
def test_no_story_adds_acid_and_hypochlorite_at_once_unless_it_teaches_why_not(name: str) -> None:
    added = [
        entry.event
        for entry in session(name).entries
        if isinstance(entry.event, DoseAdded | AcidAdded)
    ]
    doubted = [event for event in added if any("chlorine gas" in doubt for doubt in event.doubts)]
    assert len(doubted) == (1 if name == "4-mistakes-and-holds" else 0)


def test_on_a_clean_leaf_shift_that_follows_the_plan_no_flag_comes_up() -> None:
    assert flags_of("1-clean-leaf-shift") == []


def test_the_first_dunk_of_the_clean_leaf_shift_goes_on_in_a_second_fill() -> None:
    shift = session("1-clean-leaf-shift")
    tank = fold(shift.header.chain, shift.entries).tank(1)
    assert [fill.swapped is not None for fill in tank.fills] == [False, True]
    assert tank.fill is not None
    assert tank.fill.at - tank.fill.begun.event.at > timedelta(minutes=15)
    assert tuple(questioned(tank)) == ()


MUDDY_FLAGS = [
    "07:38 tank 1 ph-high watch",
    "08:01 tank 1 ph-high watch",
    "08:17 tank 1 cloudy act",
    "08:23 tank 1 ph-high watch",
    "09:02 tank 1 ph-high watch",
    "09:18 tank 1 cloudy act",
    "09:24 tank 1 ph-high watch",
    "09:51 tank 1 ph-high watch",
    "09:57 tank 2 overdue watch",
    "10:07 tank 1 ph-high watch",
    "10:22 tank 1 ph-high watch",
    "10:29 tank 1 ph-high watch",
    "11:21 tank 1 ph-high watch",
]


def test_a_muddy_flume_is_changed_twice_for_its_mud_and_once_because_doses_do_not_hold() -> None:
    assert flags_of("2-muddy-root-flume") == MUDDY_FLAGS
    changes = [
        f"{entry.event.at:%H:%M} tank {entry.event.tank}"
        for entry in session("2-muddy-root-flume").entries
        if isinstance(entry.event, TankFilled)
    ]
    assert changes == [
        "07:10 tank 1",
        "07:10 tank 2",
        "08:17 tank 1",
        "09:19 tank 1",
        "10:23 tank 1",
        "10:24 tank 2",
    ]


def test_alkaline_well_water_begins_over_its_ph_and_is_kept_within_it() -> None:
    assert flags_of("3-alkaline-well") == [
        "06:51 tank 1 ph-high act",
        "06:51 tank 2 ph-high act",
        "08:42 tank 1 water-too-cold act",
        "08:42 tank 2 water-too-cold act",
    ]


MISTAKES_FLAGS = [
    "07:01 tank 1 overdue watch",
    "07:01 tank 2 overdue watch",
    "07:16 tank 1 overdue act",
    "07:16 tank 2 overdue act",
    "07:26 tank 1 chlorine-critical stop",
    "07:26 tank 1 hold stop",
    "07:54 tank 1 overdue watch",
    "07:54 tank 2 overdue watch",
    "07:55 tank 1 chlorine-critical stop",
    "07:55 tank 1 hold stop",
    "08:07 tank 1 label-by-dose stop",
    "08:13 tank 1 chlorine-label stop",
    "08:13 tank 1 ph-high watch",
    "08:25 tank 1 ph-high watch",
    "08:56 tank 1 overdue watch",
    "08:56 tank 2 overdue watch",
    "09:20 tank 1 overdue watch",
    "09:20 tank 2 overdue watch",
    "09:32 tank 1 ph-high watch",
    "09:47 tank 1 overdue watch",
    "09:47 tank 2 overdue watch",
    "09:52 tank 2 batches act",
    "10:02 tank 1 overdue act",
    "10:02 tank 2 overdue act",
    "10:13 tank 1 check-now act",
    "10:48 tank 1 chlorine-critical stop",
    "10:48 tank 1 hold stop",
]


def test_a_bad_day_of_missed_checks_stops_the_bench_five_times_and_leaves_no_hold_open() -> None:
    assert flags_of("4-mistakes-and-holds") == MISTAKES_FLAGS
    events = [entry.event for entry in session("4-mistakes-and-holds").entries]
    assert [event.decision for event in events if isinstance(event, HoldReleased)] == [
        "divert",
        "discard",
    ]
    assert [event.reason for event in events if isinstance(event, Corrected)] == [
        "Typed 5.2; the kit showed 52."
    ]
    assert [event.to for event in events if isinstance(event, HandedOver)] == ["JO"]
