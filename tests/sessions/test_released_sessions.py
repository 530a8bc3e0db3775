"""Session files of earlier programs open, verify and replay as they did, with their own numbers."""

from pathlib import Path

import pytest

from washmon.line.fold import fold
from washmon.line.validate import faults
from washmon.sessions.file import read
from washmon.sessions.player import Player

RELEASED = sorted((Path(__file__).parent / "released").glob("*.washshift"))
TARGETS = {
    "1-clean-leaf-shift": [50, 50, 10],
    "2-muddy-root-flume": [75, 2],
    "3-alkaline-well": [100, 100, 2],
    "4-mistakes-and-holds": [50, 50, 10],
}
"""Targets that these shifts ran with; templates and demo shifts of today have other ones."""


def test_each_demo_shift_is_kept_as_it_was_released() -> None:
    assert [path.stem for path in RELEASED] == sorted(TARGETS)


@pytest.mark.parametrize("path", RELEASED, ids=lambda path: path.stem)
def test_a_session_file_of_an_earlier_program_opens_with_its_own_line(path: Path) -> None:
    session = read(path)  # checks each hash, and the file as a whole
    assert [tank.chlorine.target_mg_l for tank in session.setup.tanks] == TARGETS[path.stem]
    assert faults(session.setup) == []
    assert fold(session.header.chain, session.entries).ended is not None


@pytest.mark.parametrize("path", RELEASED, ids=lambda path: path.stem)
def test_a_session_file_of_an_earlier_program_replays_to_its_end(path: Path) -> None:
    player = Player(read(path))
    assert player.changes
    player.seek_position(player.length)
    assert player.at_end
