"""A scanner is told from a hand by its pace, and rubbish is nobody's."""

import pytest
from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QKeyEvent
from pytestqt.qtbot import QtBot

from washmon.gui.kit.key_burst import BURST_S, KeyBurst


class Typist:
    """Presses keys at a pace, and hears what was made of them."""

    def __init__(self) -> None:
        self.now = 100.0
        self.keys = KeyBurst(clock=lambda: self.now)
        self.heard: list[tuple[str, str]] = []
        self.keys.pressed.connect(lambda sign: self.heard.append(("pressed", sign)))
        self.keys.scanned.connect(lambda signs: self.heard.append(("scanned", signs)))

    def type(self, text: str, *, apart_s: float, enter: bool = False, held: bool = False) -> None:
        for sign in text:
            self.now += apart_s
            self._send(Qt.Key.Key_unknown, sign, held=held)
        if enter:
            self.now += apart_s
            self._send(Qt.Key.Key_Return, "\r")

    def _send(self, key: Qt.Key, sign: str, *, held: bool = False) -> None:
        none = Qt.KeyboardModifier.NoModifier
        self.keys.take(QKeyEvent(QEvent.Type.KeyPress, key, none, sign, held))


@pytest.fixture
def typist(qtbot: QtBot) -> Typist:
    del qtbot
    return Typist()


def test_a_sign_that_comes_alone_is_a_hand(typist: Typist, qtbot: QtBot) -> None:
    typist.type(" ", apart_s=1.0)
    qtbot.waitUntil(lambda: typist.heard == [("pressed", " ")])


def test_a_burst_that_ends_with_enter_is_a_scan_and_no_sign_of_it_is_pressed(
    typist: Typist, qtbot: QtBot
) -> None:
    typist.type("LOT 7", apart_s=BURST_S / 2, enter=True)
    assert typist.heard == [("scanned", "LOT 7")]
    qtbot.wait(round(BURST_S * 3000))
    assert typist.heard == [("scanned", "LOT 7")]


@pytest.mark.parametrize("text", ["  ", "a b", "\t x"])
def test_a_burst_without_enter_is_nobodys(typist: Typist, qtbot: QtBot, text: str) -> None:
    typist.type(text, apart_s=BURST_S / 2)
    qtbot.wait(round(BURST_S * 3000))
    assert typist.heard == []


def test_a_key_that_is_held_down_says_nothing_more(typist: Typist, qtbot: QtBot) -> None:
    typist.type(" ", apart_s=1.0)
    typist.type(" " * 20, apart_s=BURST_S * 1.5, held=True)
    qtbot.wait(round(BURST_S * 3000))
    assert typist.heard.count(("pressed", " ")) <= 1


def test_two_signs_and_enter_are_too_few_for_a_code(typist: Typist, qtbot: QtBot) -> None:
    typist.type("  ", apart_s=BURST_S / 2, enter=True)
    qtbot.wait(round(BURST_S * 3000))
    assert typist.heard == []
