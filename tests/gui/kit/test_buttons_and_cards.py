"""Buttons, choices, cards, the message line and the question."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLineEdit, QVBoxLayout, QWidget
from pytestqt.qtbot import QtBot

from washmon.gui.kit import theme
from washmon.gui.kit.buttons import TOUCH_PX, ChoiceRow, PressButton, Rank
from washmon.gui.kit.card import Card
from washmon.gui.kit.confirm import ask
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.state_mark import MarkState
from washmon.gui.kit.text import Tone


@pytest.fixture
def room(qtbot: QtBot) -> QWidget:
    window = QWidget()
    window.resize(800, 600)
    QVBoxLayout(window).addWidget(QLineEdit(window))
    qtbot.addWidget(window)
    window.show()
    qtbot.waitExposed(window)
    return window


def test_a_button_is_large_enough_to_touch_and_its_key_presses_it(
    qtbot: QtBot, room: QWidget
) -> None:
    button = PressButton("Reading", Rank.PRIMARY, "F1", parent=room)
    button.show()
    assert button.sizeHint().height() >= TOUCH_PX
    room.activateWindow()
    with qtbot.waitSignal(button.clicked):
        QTest.keyClick(room, Qt.Key.Key_F1)


def test_a_button_keeps_its_key_when_its_word_changes(qtbot: QtBot) -> None:
    button = PressButton("Batch", key="F2")
    qtbot.addWidget(button)
    button.set_label("Batch & lot")
    assert (button.label, button.shortcut().toString()) == ("Batch & lot", "F2")
    assert button.accessibleName() == "Batch & lot"


def test_of_a_row_of_choices_one_is_pressed(qtbot: QtBot) -> None:
    row = ChoiceRow((("strip", "Strip"), ("kit", "Kit"), ("meter", "Meter")), "kit")
    qtbot.addWidget(row)
    assert row.selected == "kit"
    with qtbot.waitSignal(row.chosen) as told:
        QTest.mouseClick(row.button("meter"), Qt.MouseButton.LeftButton)
    assert told.args == ["meter"]
    row.step(-1)
    row.step(-1)
    row.step(-1)
    assert row.selected == "strip"
    row.choose("smell")
    assert row.selected == "strip"


def test_only_a_card_in_trouble_has_a_coloured_edge(qtbot: QtBot) -> None:
    card = Card()
    qtbot.addWidget(card)
    card.resize(200, 100)

    def edge() -> str:
        return card.grab().toImage().pixelColor(100, 2).name().upper()

    assert edge() == theme.BRIGHT.card
    card.show_look(MarkState.ACT)
    assert edge() == theme.BRIGHT.act


def test_the_message_line_offers_to_correct_what_was_saved(qtbot: QtBot) -> None:
    line = MessageLine()
    qtbot.addWidget(line)
    line.say("Saved: tank 1, 48 ppm, pH 7.1", "Correct")
    assert line.mark.isHidden()
    with qtbot.waitSignal(line.acted):
        QTest.mouseClick(line.action, Qt.MouseButton.LeftButton)
    line.warn("Not saved: the disk is full.")
    assert not line.mark.isHidden()
    assert line.action.isHidden()
    assert line.words.tone is Tone.STOP
    line.clear()
    assert line.words.text() == ""


@pytest.mark.parametrize(
    ("keys", "answer"),
    [
        ((Qt.Key.Key_Return,), False),
        ((Qt.Key.Key_Escape,), False),
        ((Qt.Key.Key_Tab, Qt.Key.Key_Return), True),
        ((Qt.Key.Key_Tab, Qt.Key.Key_Tab, Qt.Key.Key_Enter), False),
    ],
)
def test_a_question_is_answered_by_keyboard_and_gives_the_focus_back(
    qtbot: QtBot, room: QWidget, keys: tuple[Qt.Key, ...], *, answer: bool
) -> None:
    line = room.findChild(QLineEdit)
    assert line is not None
    room.activateWindow()
    line.setFocus()
    qtbot.waitUntil(line.hasFocus)
    question = ask(room, "End the shift?", "End it", "Go on")
    with qtbot.waitSignal(question.answered) as told:
        for key in keys:
            QTest.keyClick(room.focusWidget(), key)
    assert told.args == [answer]
    assert line.hasFocus()


def test_a_question_keeps_shortcuts_from_acting_behind_it(qtbot: QtBot, room: QWidget) -> None:
    button = PressButton("Reading", Rank.PRIMARY, "F1", parent=room)
    button.show()
    room.activateWindow()
    question = ask(room, "End the shift?", "End it", "Go on")
    with qtbot.assertNotEmitted(button.clicked):
        QTest.keyClick(room.focusWidget(), Qt.Key.Key_F1)
    with qtbot.waitSignal(question.answered):
        QTest.keyClick(room.focusWidget(), Qt.Key.Key_Escape)
    with qtbot.waitSignal(button.clicked):
        QTest.keyClick(room, Qt.Key.Key_F1)


def test_a_question_covers_its_window_also_when_that_grows(qtbot: QtBot, room: QWidget) -> None:
    question = ask(room, "Release the hold?", "Release", "Keep", "12 crates of lot B")
    room.resize(1000, 700)
    qtbot.waitUntil(lambda: question.size() == room.size())
    with qtbot.waitSignal(question.answered, check_params_cb=lambda yes: yes is True):
        QTest.mouseClick(question.yes, Qt.MouseButton.LeftButton)
