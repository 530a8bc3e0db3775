"""By touch alone: a keyboard on the screen that covers nothing, and two fingers on a plot."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, QPointF, QRect, Qt
from PySide6.QtGui import QColor, QPointingDevice
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit, QWidget
from pytestqt.qtbot import QtBot

from tests import gallery
from tests.gui.stand import Stand, begin_shift
from washmon.gui.action_bar import Action
from washmon.gui.kit import theme
from washmon.gui.kit.letter_keys import ACCENTED, GAP_PX, ROWS, LetterKeys
from washmon.gui.main_window import MainWindow
from washmon.gui.rooms import Room
from washmon.gui.touch_typing import takes_letters
from washmon.line.events import NoteWritten

SMALLEST_PX = (910, 478)
TOUCH_PX = 44
pytestmark = pytest.mark.qt_log_ignore("This plugin does not support", extend=True)


@pytest.fixture(scope="session")
def screen() -> QPointingDevice:
    """A screen that feels fingers."""
    return QTest.createTouchDevice()


@pytest.fixture
def stand(qtbot: QtBot, tmp_path: Path) -> Iterator[Stand]:
    made = Stand(qtbot, tmp_path)
    begin_shift(made.path)
    made.open().resize(*SMALLEST_PX)
    QApplication.processEvents()
    yield made
    made.leave()


def tap(window: MainWindow, widget: QWidget, screen: QPointingDevice) -> None:
    """Touch the middle of what is in sight, and let go."""
    QApplication.processEvents()
    at = widget.mapTo(window, widget.rect().center())
    assert window.rect().contains(at), widget
    hit = window.childAt(at)
    assert hit is widget or (hit is not None and widget.isAncestorOf(hit)), (widget, hit)
    QTest.touchEvent(window, screen, False).press(0, at, window).commit()
    QTest.touchEvent(window, screen, False).release(0, at, window).commit()
    QApplication.processEvents()


def keys_of(window: MainWindow) -> LetterKeys:
    return window.letters.keys


def test_a_note_is_written_and_saved_by_touch_alone(stand: Stand, screen: QPointingDevice) -> None:
    window, keys = stand.window, keys_of(stand.window)
    assert not keys.isVisible()
    stand.board.bar.buttons[Action.NOTE].setVisible(True)  # in the menu where there is no room
    QApplication.processEvents()
    tap(window, stand.board.bar.buttons[Action.NOTE], screen)
    field = stand.entries.sheet.field("text").input
    stand.qtbot.waitUntil(field.hasFocus)
    tap(window, field, screen)
    stand.qtbot.waitUntil(keys.isVisible)
    assert keys.field is field
    for sign in ("shift", *"lot", " ", *"7xx", "erase", "erase", "-", "a"):
        tap(window, keys.keys[sign], screen)
    assert stand.entries.sheet.field("text").text == "Lot 7-a"
    assert field.hasFocus()
    tap(window, keys.keys["done"], screen)
    assert not keys.isVisible()
    with stand.saving():
        tap(window, stand.entries.sheet.save, screen)
    (note,) = [event for event in stand.events if isinstance(event, NoteWritten)]
    assert note.text == "Lot 7-a"


def test_the_keys_are_as_large_as_a_finger_and_stand_apart(stand: Stand) -> None:
    keys = keys_of(stand.window)
    keys.open_for(stand.board)
    QApplication.processEvents()
    places = [key.geometry() for key in keys.keys.values()]
    assert min(min(one.width(), one.height()) for one in places) >= TOUCH_PX
    assert len(places) == 45
    for one in places:
        assert keys.rect().contains(one)
    assert stand.window.rect().contains(keys.geometry())
    near = GAP_PX - 1
    for at, one in enumerate(places):
        around = one.adjusted(-near, -near, near, near)
        assert not any(around.intersects(other) for other in places[at + 1 :])


def test_letters_with_accents_are_typed_by_touch_alone(
    stand: Stand, screen: QPointingDevice
) -> None:
    window, keys = stand.window, keys_of(stand.window)
    stand.type(Qt.Key.Key_F7)
    field = stand.entries.sheet.field("text").input
    stand.qtbot.waitUntil(field.hasFocus)
    tap(window, field, screen)
    stand.qtbot.waitUntil(keys.isVisible)
    for sign in ("shift", *"mu", "accents", "y", *"oz", " "):  # the page goes after one letter
        tap(window, keys.keys[sign], screen)
    assert stand.entries.sheet.field("text").text == "Muñoz"
    assert not keys.keys["accents"].isChecked()
    tap(window, keys.keys["accents"], screen)
    assert keys.keys["u"].label == "ü"
    shades, seen = theme.current(), keys.keys["accents"].grab().toImage()
    drawn = {seen.pixelColor(x, seen.height() // 2).name() for x in range(seen.width())}
    assert {QColor(one).name() for one in (shades.hand, shades.on_hand)} <= drawn  # its word
    tap(window, keys.keys["shift"], screen)
    assert keys.keys["u"].label == "Ü"
    tap(window, keys.keys["u"], screen)
    assert stand.entries.sheet.field("text").text == "Muñoz Ü"
    assert keys.keys["u"].label == "u"


def test_spanish_french_and_german_can_be_written() -> None:
    asked = "áéíóúüñ¿¡àâæçèêëîïôœùûÿäöß"
    assert set(asked) <= set(ACCENTED.values())
    plain = {sign for row in ROWS for sign in row}
    assert set(ACCENTED) <= plain
    assert plain >= set("abcdefghijklmnopqrstuvwxyz0123456789")


@pytest.mark.parametrize("top", range(0, SMALLEST_PX[1] - TOUCH_PX + 1, 31))
def test_wherever_a_field_stands_the_keys_leave_it_in_sight(qtbot: QtBot, top: int) -> None:
    window = QWidget()
    qtbot.addWidget(window)
    window.resize(*SMALLEST_PX)
    field = QLineEdit(window)
    field.setGeometry(40, top, 300, TOUCH_PX)
    keys = LetterKeys(window)
    window.show()
    keys.open_for(field)
    assert not keys.geometry().intersects(field.geometry())
    assert window.rect().contains(keys.geometry())


@pytest.mark.parametrize("page", ["sheet note", "sheet hold", "logbook", "pins"])
def test_on_real_pages_they_cover_no_field_that_is_typed_into(stand: Stand, page: str) -> None:
    window, keys = stand.window, keys_of(stand.window)
    gallery.show(window, page)
    fields = [one for one in window.findChildren(QLineEdit) if one.isVisible()]
    fields = [one for one in fields if takes_letters(one) and one.isEnabled()]
    assert fields
    for field in fields:
        keys.open_for(field)
        place = QRect(field.mapTo(window, QPoint(0, 0)), field.size())
        assert not keys.geometry().intersects(place)
    keys.shut()


def test_a_mouse_and_a_field_for_a_number_bring_no_keys(
    stand: Stand, screen: QPointingDevice
) -> None:
    window, keys = stand.window, keys_of(stand.window)
    window.go(Room.LOGBOOK)
    words = window.rooms.page(Room.LOGBOOK).list.filters.words.editor
    stand.click(words)
    assert words.hasFocus()
    assert not keys.isVisible()
    window.go_home()
    tap(window, stand.board.bar.buttons[Action.READING], screen)
    stand.type("1")
    field = next(iter(stand.entries.sheet.grid.fields.values())).input
    assert field.hasFocus()
    assert not takes_letters(field)
    assert not keys.isVisible()


def test_where_it_is_set_the_keys_come_for_every_field_and_go_with_it(stand: Stand) -> None:
    window, keys = stand.window, keys_of(stand.window)
    window.menu.letters.setChecked(True)
    window.go(Room.LOGBOOK)
    words = window.rooms.page(Room.LOGBOOK).list.filters.words.editor
    words.setFocus()
    assert keys.field is words
    window.rooms.page(Room.LOGBOOK).list.table.setFocus()
    assert not keys.isVisible()
    assert window.settings.letters


def test_two_fingers_zoom_and_move_a_plot(stand: Stand, screen: QPointingDevice) -> None:
    window = stand.window
    window.resize(1366, 734)
    QApplication.processEvents()
    trend = stand.panel(1).trend.trend
    assert trend is not None
    plot = trend.plot
    (left, right), _ = plot.box.viewRange()
    middle = plot.viewport().mapTo(window, plot.viewport().rect().center())

    def fingers(*across: int) -> None:
        for step, (one, other) in enumerate(zip(across[::2], across[1::2], strict=True)):
            touch = QTest.touchEvent(window, screen, False)
            for number, x in ((0, one), (1, other)):
                at = middle + QPoint(x, 0)
                if step == 0:
                    touch.press(number, at, window)
                else:
                    touch.move(number, at, window)
            touch.commit()
        touch = QTest.touchEvent(window, screen, False)
        touch.release(0, middle + QPoint(across[-2], 0), window)
        touch.release(1, middle + QPoint(across[-1], 0), window)
        touch.commit()
        QApplication.processEvents()

    fingers(-20, 20, -40, 40, -60, 60, -80, 80)
    (near_left, near_right), _ = plot.box.viewRange()
    assert near_right - near_left < (right - left) / 2
    plot.move_by(QPointF(30, 0))
    (moved, _), _ = plot.box.viewRange()
    assert moved < near_left
