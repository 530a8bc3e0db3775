"""The bench at which entry sheets are tested."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from tests.gui.entry.bench import Bench
from washmon.line.events import ReadingTaken, TankFilled


@pytest.fixture
def bench(qtbot: QtBot, tmp_path: Path) -> Iterator[Bench]:
    """A shift with water in both tanks, measured ten minutes ago."""
    made = Bench(qtbot, tmp_path)
    made.begin()
    for tank in (1, 2):
        made.tell(TankFilled(at=made.now, by="RM", tank=tank, volume_l=500.0))
    made.wait(10)
    for tank in (1, 2):
        made.tell(ReadingTaken(at=made.now, by="RM", tank=tank, fac_mg_l=50.0, ph=7.0))
    made.wait(10)
    yield made
    made.close()
