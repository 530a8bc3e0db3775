"""Whatever has the keyboard shows it, in each theme (WCAG 2.2, 2.4.7)."""

from collections.abc import Callable

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QImage
from PySide6.QtWidgets import (
    QApplication,
    QCheckBox,
    QComboBox,
    QDateEdit,
    QLineEdit,
    QListWidget,
    QPlainTextEdit,
    QRadioButton,
    QSlider,
    QTabBar,
    QTableWidget,
    QVBoxLayout,
    QWidget,
)
from pytestqt.qtbot import QtBot

from washmon.gui.board.agenda_strip import TurnChip
from washmon.gui.board.panel_views import TurnView
from washmon.gui.board.state_card import StateCard
from washmon.gui.kit import theme
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.form_fields import ChoiceField
from washmon.gui.kit.state_mark import MarkState
from washmon.gui.kit.theme import THEMES, Theme

LEAST_PX = 60
"""So many pixels change when the focus comes: an outline, not a dot."""


def toggle() -> QWidget:
    button = PressButton("Kit", Rank.TOGGLE)
    button.setCheckable(True)
    button.setChecked(True)
    return button


def tabs() -> QWidget:
    bar = QTabBar()
    bar.addTab("Readings")
    bar.addTab("Batches")
    return bar


def table() -> QWidget:
    made = QTableWidget(2, 2)
    made.setMinimumSize(200, 100)
    return made


def items() -> QWidget:
    made = QListWidget()
    made.setObjectName("roster")
    made.addItems(["First dunk", "Second dunk"])
    return made


WIDGETS: dict[str, Callable[[], QWidget]] = {
    **{f"button {rank}": lambda rank=rank: PressButton("Save", rank) for rank in Rank},  # type: ignore[misc]
    "pressed toggle": toggle,
    "choices": lambda: ChoiceField("by", "By", (("kit", "Kit"), ("strip", "Strip"))).row,
    "text": QLineEdit,
    "long text": QPlainTextEdit,
    "list that drops down": QComboBox,
    "day": QDateEdit,
    "tick": lambda: QCheckBox("Clean"),
    "answer": lambda: QRadioButton("By weight"),
    "list": items,
    "table": table,
    "tabs": tabs,
    "slider": lambda: QSlider(Qt.Orientation.Horizontal),
    "tank": StateCard,
    "turn": lambda: TurnChip(TurnView(1, MarkState.ACT, "1 First dunk", "dose", "now")),
}


@pytest.mark.parametrize("shades", THEMES.values(), ids=THEMES)
@pytest.mark.parametrize("make", WIDGETS.values(), ids=WIDGETS)
def test_what_has_the_keyboard_looks_different(
    themed_app: QApplication, qtbot: QtBot, make: Callable[[], QWidget], shades: Theme
) -> None:
    theme.apply(themed_app, shades)
    themed_app.setCursorFlashTime(0)
    window = QWidget()
    qtbot.addWidget(window)
    other, one = QLineEdit(window), make()
    kept = one.parentWidget()
    column = QVBoxLayout(window)
    for widget in (other, kept or one):
        column.addWidget(widget)
    window.show()
    window.activateWindow()
    qtbot.waitUntil(window.isActiveWindow)
    other.setFocus()
    before = picture(one)
    one.setFocus(Qt.FocusReason.TabFocusReason)
    assert one.hasFocus()
    after = picture(one)
    themed_app.setCursorFlashTime(1000)
    assert before.size() == after.size()
    assert changed_px(before, after) >= LEAST_PX


def picture(widget: QWidget) -> QImage:
    QApplication.processEvents()
    return widget.grab().toImage().convertToFormat(QImage.Format.Format_RGB32)


def changed_px(before: QImage, after: QImage) -> int:
    return sum(
        before.pixel(x, y) != after.pixel(x, y)
        for x in range(before.width())
        for y in range(before.height())
    )
