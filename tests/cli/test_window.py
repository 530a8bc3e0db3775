"""The start of the window from a shell: without a screen, and from its opening to its close."""

import signal
import time
from pathlib import Path

import pytest

from tests.cli.program import run, start
from washmon.store.store import Store


@pytest.mark.parametrize(
    "screen",
    [
        {},
        {"DISPLAY": ""},
        {"DISPLAY": ":987"},
        {"DISPLAY": "127.0.0.1:987.0"},
        {"DISPLAY": "nonsense"},
    ],
)
def test_without_a_display_one_sentence_says_so(tmp_path: Path, screen: dict[str, str]) -> None:
    database = tmp_path / "shed.db"
    ended = run(tmp_path, "--database", str(database), **screen)
    assert ended.returncode == 2
    assert ended.stdout == ""
    assert ended.stderr.startswith("washmon: there is no display to open a window on")
    assert ended.stderr.count("\n") == 1
    assert not database.exists()


def test_a_replay_without_a_display_says_so_too(tmp_path: Path) -> None:
    session = next((Path(__file__).parents[2] / "demo_sessions").iterdir())
    ended = run(tmp_path, "replay", str(session))
    assert (ended.returncode, ended.stdout) == (2, "")
    assert ended.stderr.count("\n") == 1


@pytest.mark.parametrize("asked", [signal.SIGTERM, signal.SIGINT])
def test_a_window_that_is_asked_to_close_closes_its_database(
    tmp_path: Path, asked: signal.Signals
) -> None:
    database = tmp_path / "shed.db"
    with start(tmp_path, "--database", str(database), QT_QPA_PLATFORM="offscreen") as program:
        wait_for(database)
        program.send_signal(asked)
        out, err = program.communicate(timeout=60)
    assert (program.returncode, out, err) == (0, "", "")
    with Store.open(database) as store:
        assert store.verify() == []


def wait_for(file: Path) -> None:
    """Wait until the other process has made a file."""
    deadline = time.monotonic() + 60
    while not file.exists():
        assert time.monotonic() < deadline, file
        time.sleep(0.02)
