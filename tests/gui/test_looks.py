"""On every page, on the smallest screen, no word is cut or out of reach, and none goes unsaid.

All sizes, themes and counts of tanks: ``python -m tests.tools.picture_pages``.
"""

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QLineEdit, QVBoxLayout, QWidget
from pytestqt.qtbot import QtBot

from tests import ears, gallery, looks
from tests.shed import START
from washmon.gui.kit.buttons import PressButton
from washmon.gui.kit.spoken import SpokenRole, speak_as
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


def test_no_word_is_cut_and_no_widget_is_without_name_role_and_state(window: MainWindow) -> None:
    """In sight: nothing cut, covered or off the window. In hearing: WCAG 2.2, 4.1.2, by Qt's
    accessibility; with a real screen reader it was not tried."""
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
        found[page] += ears.faults(window)
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


def test_what_says_too_little_is_found(qtbot: QtBot) -> None:
    page = QWidget()
    qtbot.addWidget(page)
    page.resize(300, 200)
    column = QVBoxLayout(page)
    field, drawn = QLineEdit(page), QWidget(page)
    drawn.setFocusPolicy(Qt.FocusPolicy.TabFocus)
    drawn.setMinimumSize(40, 40)
    for one in (field, drawn, PressButton("Why?", parent=page)):
        column.addWidget(one)
    page.show()
    assert ears.faults(page) == [
        "no name: QLineEdit in QWidget (EditableText)",
        "takes the keyboard and has no name: QWidget in QWidget (Client)",
        "takes the keyboard and has no role: QWidget in QWidget '' (Client)",
    ]
    field.setAccessibleName("Lot")
    speak_as(drawn, SpokenRole.Button, "Tank 1")
    assert [one for one in ears.faults(page) if "QLineEdit" in one] == []
    assert drawn.accessibleName() == "Tank 1"
