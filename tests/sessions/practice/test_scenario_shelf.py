"""The shelf of scenarios: what is kept outlives the program, what can't be used is told."""

from pathlib import Path

import pytest
from msgspec.structs import replace

from tests.some import some
from washmon.sessions.practice.parameters import PracticeError
from washmon.sessions.practice.scenario_files import (
    MOST_BYTES,
    parse_scenario,
    scenario_text,
    scenarios,
)
from washmon.sessions.practice.shelf import ScenarioShelf, Verdicts

TEXT = scenarios()[0][1].replace("First fill by the book", "Our own first fill")


def test_own_scenarios_stand_after_the_program_s_and_outlive_it(tmp_path: Path) -> None:
    shelf = ScenarioShelf(tmp_path / "shelf")
    built_in = len(shelf.read())
    assert built_in == len(scenarios())
    for _ in range(2):
        shelf.keep(TEXT)
    again = ScenarioShelf(tmp_path / "shelf").read()
    assert len(again) == built_in + 1
    assert again[-1].text == TEXT
    assert again[-1].is_own
    assert not any(one.is_own for one in some(again[:-1]))


def test_without_a_folder_a_scenario_is_lent() -> None:
    shelf = ScenarioShelf()
    kept = shelf.keep(TEXT)
    assert shelf.read()[-1] == kept
    shelf.remove(kept)
    assert kept not in shelf.read()


def test_a_copy_is_a_scenario_of_its_own_and_the_program_s_stay(tmp_path: Path) -> None:
    shelf = ScenarioShelf(tmp_path)
    for one in shelf.read():
        copied = shelf.copy(one, f"{one.scenario.title}, a copy")
        kept = replace(copied.scenario, title=one.scenario.title, version=one.scenario.version)
        assert kept == one.scenario
        with pytest.raises(PracticeError, match="it stays"):
            shelf.remove(one)


def test_what_is_changed_takes_the_place_of_what_it_was(tmp_path: Path) -> None:
    shelf = ScenarioShelf(tmp_path)
    before = shelf.keep(TEXT)
    shelf.keep(TEXT.replace("minutes = 120", "minutes = 90"), instead_of=before)
    own = [one for one in shelf.read() if one.is_own]
    assert [one.scenario.pace.minutes for one in own] == [90.0]
    shelf.keep(own[0].text, instead_of=own[0])
    assert len([one for one in shelf.read() if one.is_own]) == 1


@pytest.mark.parametrize(
    ("body", "said"),
    [
        (b"format = ", "cannot be read"),
        (b"\xff\xfe\x00", "cannot be read"),
        (b"x" * (MOST_BYTES + 1), "too long"),
        (TEXT.replace("version = 1", "version = 99").encode(), "later version"),
        (TEXT.replace("tanks = 2", "tanks = 5").encode(), "ask for no more"),
        (TEXT.replace("minutes = 120", "minutes = 1e9").encode(), "has a mistake"),
        (TEXT.replace("seed = 101", "seed = 101\ncommand = 'x'").encode(), "has a mistake"),
    ],
)
def test_a_file_that_cannot_be_used_is_told_in_one_sentence_and_left_alone(
    tmp_path: Path, body: bytes, said: str
) -> None:
    file = tmp_path / "strange.toml"
    file.write_bytes(body)
    shelf = ScenarioShelf(tmp_path)
    assert len(shelf.read()) == len(scenarios())
    (sentence,) = shelf.unusable
    assert said in sentence
    assert "strange.toml" in sentence
    assert file.read_bytes() == body
    with pytest.raises(PracticeError, match=said):
        shelf.bring_in(file)


def test_signs_that_turn_or_break_text_are_never_shown() -> None:
    hostile = TEXT.replace(
        'title = "Our own first fill"',
        r'title = "\u202Eevil\u0000\u0007 <img src=x onerror=alert(1)> \u2066fill"',
    )
    scenario = parse_scenario(hostile)
    assert scenario.title == "evil <img src=x onerror=alert(1)> fill"
    assert parse_scenario(scenario_text(scenario)) == scenario


def test_a_disk_that_refuses_is_told(tmp_path: Path) -> None:
    blocked = tmp_path / "blocked"
    blocked.write_text("no folder")
    with pytest.raises(PracticeError, match="could not be kept"):
        ScenarioShelf(blocked / "shelf").keep(TEXT)


def test_verdicts_are_remembered_for_this_program_alone(tmp_path: Path) -> None:
    file = tmp_path / "tried.json"
    first = Verdicts(file)
    assert first.find(TEXT) is None
    first.put(TEXT, 83.5)
    assert Verdicts(file).find(TEXT) == 83.5
    other = file.read_text().replace('"program": "', '"program": "0.0.0-')
    file.write_text(other)
    assert Verdicts(file).find(TEXT) is None
    for nonsense in ("", "[]", '{"program": 3}', "\0", '{"scores": {"a": []}}'):
        file.write_text(nonsense)
        assert Verdicts(file).find(TEXT) is None
