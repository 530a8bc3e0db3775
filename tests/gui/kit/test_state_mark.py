"""Shapes that differ without colour, each with its word."""

import pytest
from PySide6.QtCore import QRectF
from PySide6.QtGui import QImage, QPainter
from pytestqt.qtbot import QtBot

from tests.some import some
from washmon.gui.kit.state_mark import MarkState, StateBadge, StateMark, draw_mark


def outline(look: MarkState, scale: int) -> frozenset[tuple[int, int]]:
    """The pixels that a shape of 22 px touches, 4 px into a picture of 30, at a device scale."""
    picture = QImage(30 * scale, 30 * scale, QImage.Format.Format_ARGB32_Premultiplied)
    picture.setDevicePixelRatio(scale)
    picture.fill(0)
    painter = QPainter(picture)
    draw_mark(painter, QRectF(4, 4, 22, 22), look)
    painter.end()
    return frozenset(
        (x, y)
        for x in range(picture.width())
        for y in range(picture.height())
        if picture.pixelColor(x, y).alphaF() > 0.5
    )


@pytest.mark.parametrize("scale", [1, 2])
def test_each_state_has_a_shape_of_its_own_without_colour(scale: int) -> None:
    shapes = [outline(look, scale) for look in MarkState]
    assert all(some(shapes))
    for at, one in enumerate(shapes):
        for other in shapes[at + 1 :]:
            assert len(one ^ other) / len(one | other) > 0.15


def test_a_shape_stays_within_its_square() -> None:
    for look in MarkState:
        assert all(4 <= x < 26 and 4 <= y < 26 for x, y in some(outline(look, 1)))


def test_a_mark_tells_a_screen_reader_its_word(qtbot: QtBot) -> None:
    mark = StateMark(MarkState.WATCH)
    qtbot.addWidget(mark)
    assert mark.accessibleName() == "Watch"
    mark.show_look(MarkState.STOP)
    assert (mark.look, mark.accessibleName()) == (MarkState.STOP, "Stop and hold")


def test_a_badge_shows_shape_and_word_together(qtbot: QtBot) -> None:
    badge = StateBadge()
    qtbot.addWidget(badge)
    assert badge.word.text() == "Not known"
    badge.show_look(MarkState.IN_LIMITS)
    assert (badge.word.text(), badge.mark.look) == ("In limits", MarkState.IN_LIMITS)
