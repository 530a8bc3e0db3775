"""The replay without a window: one JSON object, or a few lines of text, for each happening."""

import functools
from pathlib import Path
from typing import Any

import msgspec
import pytest
from hypothesis import given, settings
from msgspec.structs import replace

from tests.shed import START, a_setup
from tests.some import some
from tests.strategies import events
from tests.tools.demo_stories import STORIES
from washmon import data
from washmon.line.events import Corrected, DoseAdded, Event, NoteWritten, ReadingTaken
from washmon.line.flag_events import Acknowledged, FlagsChanged
from washmon.line.flags import Amount
from washmon.line.message import say
from washmon.sessions.file import Session, read
from washmon.sessions.headless import lines
from washmon.sessions.player import Judged, Player
from washmon.sessions.telling import tell
from washmon.units import UnitSystem

RELEASED = Path(__file__).parent / "released" / "4-mistakes-and-holds.washshift"
REMINDER = "check-after-adding"


@functools.cache
def session(name: str) -> Session:
    return read(next(path for path in data.demo_sessions() if path.stem == name))


def told(name: str) -> list[dict[str, Any]]:
    return [msgspec.json.decode(line) for line in lines(session(name), as_json=True)]


def in_taste(event: Event, taste: UnitSystem) -> str:
    return tell(event, a_setup()).said(lambda message: say(message, taste))


@pytest.mark.parametrize("name", sorted(STORIES))
def test_every_entry_that_somebody_made_has_its_line_in_order(name: str) -> None:
    made = [e for e in session(name).entries if not isinstance(e.event, FlagsChanged)]
    shown = [one for one in told(name) if one["seq"] is not None]
    assert [one["seq"] for one in shown] == [entry.seq for entry in made]
    assert [one["by"] for one in shown] == [entry.event.by for entry in made]
    assert all(one.keys() == shown[0].keys() for one in some(shown))


def test_a_line_holds_the_flags_and_next_steps_after_it() -> None:
    high = next(one for one in told("3-alkaline-well") if one["flags"])
    assert high["event"] == "reading taken"
    assert high["summary"].startswith("Reading tank 1 Dump tank: 136\N{NO-BREAK SPACE}ppm, pH 8.3")
    (flag,) = high["flags"]
    assert (flag["tank"], flag["rule"], flag["level"]) == (1, "ph-high", "act")
    assert flag["title"] == "pH is high"
    assert flag["step"].startswith("Add 4")
    steps = {step["tank"]: step for step in high["steps"]}
    assert steps[1]["step"] == flag["step"]
    assert steps[1]["condition"] == "act"
    assert steps[2]["condition"] == "unknown"


def test_what_only_time_brought_has_a_line_of_its_own_without_a_place() -> None:
    alone = [one for one in told("4-mistakes-and-holds") if one["seq"] is None]
    assert {one["event"] for one in alone} == {"flags changed"}
    assert {one["by"] for one in alone} == {"rules"}
    assert alone[0]["summary"] == (
        "Plan: tank 1 Wash tub now, Measure free chlorine and pH now, nothing is washed meanwhile"
    )
    assert all(one["summary"].startswith(("Plan: ", "Came up: ", "Over: ")) for one in some(alone))


@pytest.mark.parametrize("judged", Judged)
def test_an_old_session_is_told_as_then_and_as_today(judged: Judged) -> None:
    whole = read(RELEASED)
    part = replace(whole, entries=whole.entries[:30], complete=False)
    shown = [msgspec.json.decode(one) for one in lines(part, as_json=True, judged=judged)]
    reminded = [one for one in shown for flag in one["flags"] if flag["rule"] == REMINDER]
    # It was a flag with a step of its own then; today the plan counts the mixing down.
    assert bool(reminded) is (judged is Judged.THEN)
    recorded = {
        flag.step.say.text.split()[0]
        for entry in part.entries
        if isinstance(entry.event, FlagsChanged)
        for flag in entry.event.raised
        if flag.step is not None
    }
    told_then = {flag["step"].split()[0] for one in shown for flag in one["flags"] if flag["step"]}
    assert (told_then == recorded) is (judged is Judged.THEN)


def test_lines_of_json_are_one_line_each() -> None:
    assert all(
        "\n" not in line for line in some(lines(session("2-muddy-root-flume"), as_json=True))
    )


def test_the_text_reads_like_a_diary() -> None:
    text = list(lines(session("4-mistakes-and-holds"), as_json=False))
    assert text[0].startswith("06:30:00    #0 RM    Shift on Wash bench started")
    assert any("stop: tank 1, hold what was washed." in line for line in text)
    assert not any("{" in line for line in text)


def test_the_last_line_says_what_the_player_says_at_the_end() -> None:
    player = Player(session("3-alkaline-well"))
    player.seek(1.0)
    assert told("3-alkaline-well")[-1]["flags"] == list(player.snapshot.advice.flags) == []


@settings(max_examples=100)
@given(events())
def test_every_kind_of_event_can_be_told_in_either_taste(event: Event) -> None:
    for taste in UnitSystem:
        assert in_taste(event, taste).strip()


def test_sentences_name_tank_product_and_what_was_entered() -> None:
    dose = DoseAdded(
        at=START, by="RM", tank=1, product="bleach", amount=Amount(60.0, "mL"), as_entered="60 mL"
    )
    wrong = Corrected(at=START, by="RM", entry=7, reason="typed wrong", instead=dose)
    gone = Corrected(at=START, by="RM", entry=7, reason="typed twice")
    cases: dict[str, Event] = {
        "Dose tank 1 First dunk: 60 mL hypochlorite": dose,
        "Correction of entry 7: Dose tank 1 First dunk: 60 mL hypochlorite, typed wrong": wrong,
        "Correction of entry 7: it never happened, typed twice": gone,
        "Note: 5 {empty} crates": NoteWritten(at=START, by="RM", text="5 {empty} crates"),
        "Reading tank 2 Second dunk: 12\N{NO-BREAK SPACE}NTU": ReadingTaken(
            at=START, by="RM", tank=2, turbidity_ntu=12.0
        ),
    }
    assert {in_taste(event, UnitSystem.METRIC): event for event in cases.values()} == cases


def test_a_rule_is_told_by_its_title() -> None:
    seen = Acknowledged(at=START, by="RM", tank=2, rule="chlorine-low")
    assert in_taste(seen, UnitSystem.METRIC) == "Flag on tank 2 Second dunk seen: re-dose"
    gone = FlagsChanged(at=START, by="rules", upto=3, cleared=((2, "chlorine-low"),))
    assert in_taste(gone, UnitSystem.METRIC) == "Cleared: re-dose on tank 2 Second dunk"
