"""``washmon replay``: each demo session as text and as JSON, and what is no session."""

import functools
import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from tests.cli.program import run as run_program
from tests.some import some
from washmon import data
from washmon.cli.commands import app
from washmon.sessions.file import read
from washmon.sessions.practice.scenario_files import read_scenario

SESSIONS = {path.stem: path for path in data.demo_sessions()}

RELEASED = Path(__file__).parents[1] / "sessions" / "released" / "4-mistakes-and-holds.washshift"


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(app, ["replay", *(str(word) for word in words)])


@functools.cache
def told(name: str, *options: str) -> str:
    ended = run(SESSIONS[name], *options)
    assert ended.exit_code == 0, ended.output
    assert ended.stderr == ""
    return ended.stdout


@pytest.mark.parametrize("name", SESSIONS)
def test_a_session_is_told_entry_by_entry_in_json(name: str) -> None:
    lines = [json.loads(line) for line in told(name, "--headless", "--json").splitlines()]
    session = read(SESSIONS[name])
    # Entry for entry as they lie in the file, but for what the rules wrote then: they speak anew.
    by_people = [entry.seq for entry in session.entries if entry.event.by != "rules"]
    assert [line["seq"] for line in lines if line["seq"] in by_people] == by_people
    assert lines[0]["event"] == "shift started"
    assert lines[-1]["event"] == "shift ended"
    assert all({"at", "by", "summary", "flags", "steps"} <= set(line) for line in some(lines))
    tanks = {tank.number for tank in session.setup.tanks}
    assert all({step["tank"] for step in line["steps"]} == tanks for line in some(lines))
    levels = {flag["level"] for line in lines for flag in line["flags"]}
    assert ("stop" in levels) is (name == "4-mistakes-and-holds")


def test_an_old_session_is_told_as_then_or_with_today_as_judged_today(tmp_path: Path) -> None:
    whole = RELEASED.read_bytes().splitlines(keepends=True)
    file = tmp_path / "part.washshift"
    file.write_bytes(b"".join(whole[:30]))
    words = ("--json", "--salvage")
    rules = {}
    for today in ((), ("--today",)):
        ended = run(file, *words, *today)
        assert ended.exit_code == 0, ended.output
        shown = [json.loads(line) for line in ended.stdout.splitlines()]
        rules[today] = {flag["rule"] for line in shown for flag in line["flags"]}
    assert "check-after-adding" in rules[()]  # a flag of its own then; today the plan waits
    assert "check-after-adding" not in rules[("--today",)]


@pytest.mark.parametrize("name", SESSIONS)
def test_the_text_of_a_session_says_what_its_json_says(name: str) -> None:
    text = told(name, "--headless")
    for line in some(told(name, "--headless", "--json").splitlines()):
        one = json.loads(line)
        assert one["summary"] in text
        assert [flag for flag in one["flags"] if flag["title"] not in text] == []


def test_a_replay_in_text_needs_no_display_and_writes_utf_8_into_a_pipe(tmp_path: Path) -> None:
    name = "4-mistakes-and-holds"
    words = ("replay", str(SESSIONS[name]), "--headless", "--json")
    # As a pipe is by default on Windows.
    ended = run_program(tmp_path, *words, PYTHONIOENCODING="cp1252")
    assert (ended.returncode, ended.stderr) == (0, "")
    assert ended.stdout == told(name, "--headless", "--json")
    assert not ended.stdout.isascii()


def cut(whole: bytes) -> bytes:
    return whole[: len(whole) // 2]


def of_a_later_version(whole: bytes) -> bytes:
    return whole.replace(b'"version":1', b'"version":9', 1)


def altered(whole: bytes) -> bytes:
    return re.sub(rb'"ph":(\d)', lambda found: b'"ph":%d' % (13 - int(found[1])), whole, count=1)


@pytest.mark.parametrize(
    ("spoil", "sentence"),
    [
        (cut, "is cut off after"),
        (of_a_later_version, "was made by a later version of washmon: update this one"),
        (altered, "was changed after it was written"),
        (lambda _: b"\x00\xff" * 500, "is not a session file of washmon"),
        (lambda _: b"", "is empty: get the session file again"),
    ],
)
def test_what_is_no_sound_session_is_refused_in_one_sentence(
    tmp_path: Path, spoil: Callable[[bytes], bytes], sentence: str
) -> None:
    file = tmp_path / "shift.washshift"
    file.write_bytes(spoil(SESSIONS["1-clean-leaf-shift"].read_bytes()))
    for words in (["--headless"], ["--json"], []):
        ended = run(file, *words)
        assert (ended.exit_code, ended.stdout) == (2, "")
        assert sentence in ended.stderr
        assert ended.stderr.startswith("washmon: ")
        assert ended.stderr.count("\n") == 1


def test_the_sound_entries_of_a_damaged_session_are_told_if_asked_for(tmp_path: Path) -> None:
    whole = SESSIONS["1-clean-leaf-shift"].read_bytes()
    file = tmp_path / "shift.washshift"
    file.write_bytes(cut(whole))
    ended = run(file, "--headless", "--json", "--salvage")
    assert ended.exit_code == 0
    assert told("1-clean-leaf-shift", "--headless", "--json").startswith(ended.stdout)
    sound = file.read_bytes().count(b"\n") - 1  # the first line is the header
    assert sound - 3 <= json.loads(ended.stdout.splitlines()[-1])["seq"] < sound


def test_a_session_that_is_not_there_is_said(tmp_path: Path) -> None:
    ended = run(tmp_path / "gone.washshift", "--json")
    assert ended.exit_code == 2
    assert "gone.washshift can't be read" in ended.stderr


def test_a_scenario_is_made_from_a_session_file_once(tmp_path: Path) -> None:
    target = tmp_path / "mine.toml"
    words = ["scenario", str(SESSIONS["4-mistakes-and-holds"]), str(target)]
    made = CliRunner().invoke(app, words)
    assert made.exit_code == 0, made.output
    assert re.search(r"the good strategy reaches \d+ of 100 points", made.stdout)
    assert read_scenario(target)[0].line.commodity == "mixed"
    again = CliRunner().invoke(app, words)
    assert again.exit_code == 2
    assert "exists" in again.stderr
