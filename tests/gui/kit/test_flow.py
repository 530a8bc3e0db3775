"""A row breaks into further lines where it is narrow, and cuts no word."""

import pytest
from PySide6.QtWidgets import QLabel, QSizePolicy, QWidget
from pytestqt.qtbot import QtBot

from washmon.gui.kit.boxes import FlowLayout
from washmon.gui.kit.buttons import ChoiceRow

GAP_PX = 6


def box(parent: QWidget, width: int, *, least: int | None = None, grows: bool = False) -> QWidget:
    made = QLabel("", parent)
    made.setMinimumWidth(width if least is None else least)
    made.setFixedHeight(20)
    policy = QSizePolicy.Policy.Expanding if grows else QSizePolicy.Policy.Fixed
    made.setSizePolicy(policy, QSizePolicy.Policy.Fixed)
    return made


def lay_out(
    qtbot: QtBot, width: int, *widths: int, grows: int | None = None
) -> tuple[QWidget, list[QWidget]]:
    row = QWidget()
    qtbot.addWidget(row)
    flow = FlowLayout(row, gap_px=GAP_PX)
    boxes = [box(row, each, grows=at == grows) for at, each in enumerate(widths)]
    for one in boxes:
        flow.addWidget(one)
    row.resize(width, max(row.heightForWidth(width), 20))
    row.show()
    return row, boxes


def places(boxes: list[QWidget]) -> list[tuple[int, int, int]]:
    return [(one.x(), one.y(), one.width()) for one in boxes]


def test_what_has_room_stands_side_by_side(qtbot: QtBot) -> None:
    _row, boxes = lay_out(qtbot, 300, 100, 80, 60)
    assert places(boxes) == [(0, 0, 100), (106, 0, 80), (192, 0, 60)]


def test_what_has_no_room_goes_into_the_next_line_and_the_row_is_taller(qtbot: QtBot) -> None:
    row, boxes = lay_out(qtbot, 190, 100, 80, 60)
    assert places(boxes) == [(0, 0, 100), (106, 0, 80), (0, 20 + GAP_PX, 60)]
    assert row.heightForWidth(190) == 2 * 20 + GAP_PX
    assert row.heightForWidth(70) == 3 * 20 + 2 * GAP_PX


def test_what_expands_takes_what_is_left_of_its_line(qtbot: QtBot) -> None:
    _row, boxes = lay_out(qtbot, 300, 100, 80, grows=1)
    assert places(boxes) == [(0, 0, 100), (106, 0, 194)]


def test_what_is_hidden_takes_no_room(qtbot: QtBot) -> None:
    row, (first, second) = lay_out(qtbot, 300, 100, 80)
    first.hide()
    qtbot.waitUntil(lambda: second.x() == 0)
    assert row.width() == 300


@pytest.mark.parametrize("width", [1000, 400, 240, 130])
def test_a_row_of_choices_cuts_no_word(qtbot: QtBot, width: int) -> None:
    words = ("First dunk", "Second dunk", "Long flume", "Polish flume", "Hand-sort tub")
    row = ChoiceRow(tuple((word, word) for word in words))
    qtbot.addWidget(row)
    row.resize(width, row.heightForWidth(width))
    row.show()
    for word in words:
        button = row.button(word)
        assert button.width() >= button.minimumSizeHint().width()
        assert row.rect().contains(button.geometry())
    assert row.heightForWidth(1000) < row.heightForWidth(240)
