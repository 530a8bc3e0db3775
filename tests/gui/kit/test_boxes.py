"""Boxes said in one piece: parts, shares, free pixels, gaps and margins."""

from PySide6.QtCore import QMargins, Qt
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from washmon.gui.kit.boxes import STRETCH, Stretch, add, hbox, vbox


def test_parts_come_in_order_with_their_shares_and_places(qtbot: QtBot) -> None:
    holder = QWidget()
    qtbot.addWidget(holder)
    one, two, three = QWidget(), QWidget(), QWidget()
    inner = hbox(two, gap_px=3)
    box = vbox(one, 8, (inner, 2), STRETCH, on=holder, gap_px=5, margins_px=(1, 2, 3, 4))
    add(box, Stretch(0), (three, 4, Qt.AlignmentFlag.AlignRight))
    items = [item for at in range(box.count()) if (item := box.itemAt(at)) is not None]
    assert len(items) == 6
    assert [item.widget() for item in items] == [one, None, None, None, None, three]
    assert [item.layout() for item in items] == [None, None, inner, None, None, None]
    assert [box.stretch(at) for at in range(box.count())] == [0, 0, 2, 1, 0, 4]
    assert items[1].minimumSize().height() == 8
    assert items[5].alignment() == Qt.AlignmentFlag.AlignRight
    assert (holder.layout(), box.spacing(), inner.spacing()) == (box, 5, 3)
    assert box.contentsMargins() == QMargins(1, 2, 3, 4)
    assert {widget.parentWidget() for widget in (one, two, three)} == {holder}


def test_a_box_without_a_gap_keeps_the_distance_of_the_box_around(qtbot: QtBot) -> None:
    holder = QWidget()
    qtbot.addWidget(holder)
    inner = vbox(QWidget(), margins_px=7)
    hbox(inner, on=holder, gap_px=13)
    assert inner.spacing() == 13
    assert inner.contentsMargins() == QMargins(7, 7, 7, 7)
