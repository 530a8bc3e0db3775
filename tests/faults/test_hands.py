"""Random hands on the window for a few seconds; ``python -m tests.faults.hands`` plays longer."""

from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from tests.faults.hands import Hands, Held

SECONDS = 6.0
pytestmark = pytest.mark.qt_log_ignore("This plugin does not support", extend=True)


def test_whatever_random_hands_do_nothing_is_uncaught(qtbot: QtBot, tmp_path: Path) -> None:
    del qtbot
    seen: list[Held] = []
    hands = Hands(tmp_path, seed=20261129)
    hands.play(SECONDS, seen.append)
    hands.close()
    assert hands.did.total() > 0
    assert hands.faults == []
    assert dict(hands.warnings) == {}
    assert seen
