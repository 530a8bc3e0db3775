"""On every page, at the sizes that sheds have, no word is cut, covered or out of reach.

All sizes, themes and counts of tanks: ``python -m tests.tools.picture_pages``.
"""

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QWidget
from pytestqt.qtbot import QtBot

from tests import gallery, looks
from tests.shed import START
from washmon.gui.kit.buttons import PressButton
from washmon.gui.kit.text import Text
from washmon.gui.main_window import MainWindow

LONG = 10
PLAIN = Qt.TextFormat.PlainText
TITLE_PX = 34
"""What the title of a window takes of the screen."""
SMALLEST_PX = (910, 512)
"""What a screen of 1366x768 has at 150 %."""
SHORT = ("board", "why", "round", "sheet reading", "sheet batch", "sheet note", "question")
"""Where the number of tanks counts."""

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support", extend=True)


@pytest.fixture(params=[4, 8])
def window(request: pytest.FixtureRequest, qtbot: QtBot, tmp_path: Path) -> Iterator[MainWindow]:
    """A shift of so many tanks that runs."""
    made = gallery.open_window(tmp_path, request.param, START)
    qtbot.addWidget(made)
    yield made
    made.close()


def test_no_word_is_cut_covered_or_off_the_window(window: MainWindow) -> None:
    width, height = SMALLEST_PX
    window.resize(width, height - TITLE_PX)
    snapshot = window.snapshot
    assert snapshot is not None
    assert snapshot.setup is not None
    found = {}
    for page in gallery.PAGES if len(snapshot.setup.tanks) == 4 else SHORT:
        gallery.show(window, page)
        found[page] = looks.faults(window)
        for _ in range(LONG) if found[page] else ():  # what a thread reads comes later
            gallery.settle(0.2)
            found[page] = looks.faults(window)
    assert {page: faults for page, faults in found.items() if faults} == {}


def test_what_is_cut_covered_off_or_too_small_is_found(qtbot: QtBot) -> None:
    page = QWidget()
    qtbot.addWidget(page)
    page.resize(300, 200)
    cut, off = QLabel("Stop and hold", page), QLabel("Act now", page)
    cut.setTextFormat(PLAIN)
    low = Text("Add 92 mL hypochlorite, stir", wrapped=True, parent=page)
    over, small = Text("Watch", parent=page), PressButton("Why?", parent=page)
    cut.setGeometry(0, 0, 30, 30)
    off.setGeometry(280, 0, 80, 20)
    low.setGeometry(0, 40, 100, 16)
    over.setGeometry(10, 44, 80, 30)
    small.setMinimumHeight(20)
    small.setGeometry(0, 150, 70, 20)
    page.show()
    told = " | ".join(looks.faults(page))
    for words in ("too narrow", "off by", "too low", "over each other", "smaller than a finger"):
        assert words in told
