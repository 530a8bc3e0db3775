"""What no world can be, and what each key takes: said once, in a sentence beside the key."""

import math
from datetime import time
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from tests.some import some
from washmon.line.message import say
from washmon.sessions.practice.checking import scenario_faults
from washmon.sessions.practice.keys import key_of, scenario_keys
from washmon.sessions.practice.parameters import Dirtiness, PracticeError
from washmon.sessions.practice.scenario import Colleague, Happening, Scenario
from washmon.sessions.practice.scenario_files import parse_scenario, scenario_text, scenarios
from washmon.units import UnitSystem

START = replace(scenarios()[1][0], version=3)


def with_value(path: str, value: Any) -> Scenario:
    """Return a scenario with one other value; in a list, that of its first."""
    head, _, name = path.partition(".")
    if not name:
        return replace(START, **{head: value})
    if head == "happens[]":
        first, *rest = START.happens
        return replace(START, happens=(replace(first, **{name: value}), *rest))
    part = Colleague(batches=1) if head == "before" else getattr(START, head)
    return replace(START, **{head: replace(part, **{name: value})})


RANGED = [one for one in scenario_keys() if one.high is not None]


def test_the_program_s_own_scenarios_have_nothing_to_mend() -> None:
    for scenario, _ in scenarios():
        assert scenario_faults(scenario) == []


@pytest.mark.parametrize("path", [one.path for one in RANGED])
def test_a_number_out_of_its_range_is_refused_by_editor_and_file_alike(path: str) -> None:
    key = key_of(path)
    assert key.low is not None
    assert key.high is not None
    whole = key.path.endswith(("seed", "level", "tanks", "batches", "_fill"))
    for value in (key.low - 1, key.high + 1):
        draft = with_value(path, int(value) if whole else value)
        found = {one.path.replace(".0.", "[]."): one.message for one in scenario_faults(draft)}
        assert path in found
        assert say(found[path], UnitSystem.US)
        with pytest.raises(PracticeError):
            scenario_text(draft)


@pytest.mark.parametrize("path", [one.path for one in RANGED if not one.low_is_out])
def test_both_ends_of_a_range_are_taken(path: str) -> None:
    key = key_of(path)
    for value in (key.low, key.high):
        assert value is not None
        said = [
            say(one.message, UnitSystem.METRIC) for one in scenario_faults(with_value(path, value))
        ]
        assert not any(one.startswith("This lies between") for one in said)


def test_every_key_that_a_person_fills_in_has_a_caption_and_each_number_a_unit() -> None:
    told = [one for one in scenario_keys() if one.path not in {"format", "version"}]
    assert all(one.caption for one in some(told))
    assert all(one.kind is not None for one in some(RANGED))


IMPOSSIBLE = {
    "the first batch after the end": (
        replace(START, pace=replace(START.pace, minutes=20.0)),
        "pace.first_batch",
        "before the first batch comes",
    ),
    "a colleague who washes to the end": (
        replace(START, before=Colleague(batches=80)),
        "before.batches",
        "nothing would be left",
    ),
    # 10 ** (10 - 14) mol/L of hydroxide are 0.1 meq/L, 5 mg/L as CaCO3 (50.04 mg/meq).
    "water of pH 10 without alkalinity": (
        replace(START, tap=replace(START.tap, ph=10.0, alkalinity_mg_l=4.0)),
        "tap.alkalinity_mg_l",
        "has an alkalinity of 6\xa0ppm at least",
    ),
    "a tank renewed within a minute": (
        replace(
            START,
            line=replace(START.line, commodity="mixed", tanks=1),
            world=replace(START.world, makeup_l_min=40.0),
        ),
        "world.makeup_l_min",
        "renewed within a minute",
    ),
    "a question without answers": (
        replace(START, asks=("Why does it fall? | Soil",)),
        "asks",
        "Write a question and two to four answers",
    ),
    "a question with the same answer twice": (
        replace(START, asks=("Why does it fall? | Soil | Sun | Soil",)),
        "asks",
        "Two answers are the same",
    ),
    "nothing that happens": (
        replace(START, happens=(Happening(at=time(10)),)),
        "happens.0.say",
        "Nothing happens here",
    ),
    "an event after the end": (
        replace(START, happens=(Happening(at=time(3), say="Night"),)),
        "happens.0.at",
        "outside of the shift",
    ),
}


@pytest.mark.parametrize("what", IMPOSSIBLE)
def test_an_impossible_world_is_refused_beside_its_key(what: str) -> None:
    draft, path, words = IMPOSSIBLE[what]
    said = {one.path: say(one.message, UnitSystem.METRIC) for one in scenario_faults(draft)}
    assert words in said[path]
    with pytest.raises(PracticeError):
        scenario_text(draft)


def test_old_files_load_whatever_later_versions_refuse() -> None:
    text = scenarios()[0][1].replace("first_batch = 30", "first_batch = 130")
    assert parse_scenario(text).pace.first_batch == 130
    with pytest.raises(PracticeError, match=r"pace\.first_batch"):
        parse_scenario(text.replace("version = 1", "version = 3"))


words = st.text(st.characters(codec="utf-8"), min_size=1, max_size=60).filter(str.strip)


@settings(max_examples=30)
@given(
    title=words,
    hints=st.lists(words, max_size=4),
    say_it=words,
    share=st.floats(0.05, 1.5),
    minute=st.integers(0, 159),
)
def test_what_is_written_is_read_again(
    title: str, hints: list[str], say_it: str, share: float, minute: int
) -> None:
    at = (START.pace.begins.hour * 60 + START.pace.begins.minute + minute) % (24 * 60)
    event = Happening(at=time(at // 60, at % 60), say=say_it, strip_share=share)
    draft = replace(START, title=title, hints=tuple(hints), happens=(event,))
    try:
        read = parse_scenario(scenario_text(draft))
    except PracticeError:  # nothing is left of the words once hidden signs are taken out
        return
    assert read.happens[0].strip_share == share
    assert read.happens[0].at == event.at
    assert len(read.hints) == len(hints)
    again = parse_scenario(scenario_text(read))
    assert again == read


def test_an_unreadable_number_is_the_editor_s_to_tell() -> None:
    assert scenario_faults(with_value("tap.ph", math.nan)) == []
    assert scenario_faults(with_value("world.dirtiness", Dirtiness.MUDDY)) == []
