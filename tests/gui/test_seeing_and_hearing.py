"""What serves eyes and ears that differ: light or dark, stillness, the focus, words for the ear."""

import re
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QWidget

import washmon.gui
from tests.gui.stand import Stand, begin_shift
from washmon.gui import looks, what_if_asker
from washmon.gui.board import board as boards
from washmon.gui.board.board import SECOND_MS
from washmon.gui.kit import message_line, theme
from washmon.gui.kit.theme import BRIGHT, DARK, HIGH_CONTRAST, Theme
from washmon.line.events import ReadingTaken

FLASHES_A_SECOND = 3
"""WCAG 2.2, 2.3.1."""
pytestmark = pytest.mark.qt_log_ignore("This plugin does not support", extend=True)


@pytest.fixture
def said(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, bool]]:
    """What a screen reader is told, and whether at once."""
    said: list[tuple[str, bool]] = []

    def announce(_widget: QWidget, sentence: str, *, at_once: bool = False) -> None:
        if sentence:
            said.append((sentence, at_once))

    monkeypatch.setattr(boards, "announce", announce)
    for room in (message_line, message_line, what_if_asker):
        monkeypatch.setattr(room, "announce", announce)
    return said


@pytest.fixture
def stand(stand: Stand) -> Stand:
    """Before a window of a shift that has begun."""
    begin_shift(stand.path)
    stand.open()
    return stand


def enter(stand: Stand, fac_mg_l: float) -> None:
    seq = stand.shift.last_seq
    reading = ReadingTaken(at=stand.now, by="RM", tank=1, fac_mg_l=fac_mg_l, ph=7.0)
    stand.window.client.enter(reading, sure=True)
    stand.qtbot.waitUntil(lambda: stand.shift.last_seq > seq)


def test_a_new_first_step_is_announced_once_and_a_stop_at_once(
    stand: Stand, said: list[tuple[str, bool]]
) -> None:
    enter(stand, 31.0)
    stand.qtbot.waitUntil(lambda: any("hypochlorite" in words for words, _ in said))
    words, at_once = said[-1]
    assert words.startswith("First, tank 1 First dunk: ")
    assert not at_once
    count = len(said)
    stand.wait(0.1)
    assert len(said) == count
    enter(stand, 12.0)
    stand.qtbot.waitUntil(lambda: any(at_once for _, at_once in said))


def test_what_is_saved_and_what_is_refused_are_announced(
    stand: Stand, said: list[tuple[str, bool]]
) -> None:
    stand.board.message.say("Saved: note")
    stand.board.message.warn("Not saved: the disk is full.")
    assert said[-2:] == [("Saved: note", False), ("Not saved: the disk is full.", True)]


def test_what_is_wrong_with_a_field_and_what_would_come_are_announced(
    stand: Stand, said: list[tuple[str, bool]]
) -> None:
    stand.type(Qt.Key.Key_F1, "1", "9999", Qt.Key.Key_Return, Qt.Key.Key_Return, Qt.Key.Key_Return)
    stand.qtbot.waitUntil(lambda: any("not a possible" in words for words, _ in said))
    assert stand.entries.sheet.accessibleName() == "Reading"
    stand.type(Qt.Key.Key_Escape)
    stand.key(Qt.Key.Key_W, Qt.KeyboardModifier.AltModifier)
    stand.qtbot.waitUntil(lambda: any(words.startswith("It should read") for words, _ in said))
    asker = stand.board.sheets.what_if
    assert asker is not None
    assert asker.sheet.accessibleDescription() == asker.sheet.meaning.text()


def test_a_sheet_that_closes_leads_the_ear_straight_back_to_the_board(stand: Stand) -> None:
    heard: list[str] = []

    def hear(_before: QWidget | None, focus: QWidget | None) -> None:
        heard.append("" if focus is None else focus.accessibleName())

    stand.type(Qt.Key.Key_F1, "1")
    app = QApplication.instance()
    assert isinstance(app, QApplication)
    app.focusChanged.connect(hear)
    stand.type(Qt.Key.Key_Escape)
    app.focusChanged.disconnect(hear)
    assert set(heard) == {"Board"}


# --- light and dark


@pytest.mark.parametrize("system", [DARK, HIGH_CONTRAST, BRIGHT])
def test_without_a_choice_the_theme_is_that_of_the_system(
    stand: Stand, monkeypatch: pytest.MonkeyPatch, system: Theme
) -> None:
    assert stand.window.settings.theme is None
    monkeypatch.setattr(looks, "system_theme", lambda: system)
    stand.window.looks.follow()
    assert theme.current() is system


def test_a_theme_that_was_chosen_stays_whatever_the_system_does(
    stand: Stand, monkeypatch: pytest.MonkeyPatch
) -> None:
    lines = {line.text(): line for line in stand.window.menu.themes.actions()}
    assert lines["like the system"].isChecked()
    lines["dark"].trigger()
    monkeypatch.setattr(looks, "system_theme", lambda: BRIGHT)
    stand.window.looks.follow()
    assert theme.current() is DARK
    lines["like the system"].trigger()
    assert theme.current() is BRIGHT
    assert stand.window.settings.theme is None


def test_the_system_is_asked_for_dark_and_for_contrast(qapp: QApplication) -> None:
    hints = qapp.styleHints()
    assert hints.colorScheme() in (Qt.ColorScheme.Unknown, Qt.ColorScheme.Light)
    assert looks.system_theme() is BRIGHT


# --- what moves


def test_without_animation_nothing_moves_by_itself(stand: Stand, qapp: QApplication) -> None:
    stand.window.menu.still.setChecked(True)
    assert stand.window.settings.still
    assert "widget-animation-duration: 0" in qapp.styleSheet()
    assert not qapp.isEffectEnabled(Qt.UIEffect.UI_AnimateCombo)
    stand.window.menu.still.setChecked(False)
    assert "widget-animation-duration" not in qapp.styleSheet()


def test_nothing_flashes(qapp: QApplication) -> None:
    """No animation of our own; what is drawn by a clock changes once a second; a text cursor comes
    and goes less than three times a second."""
    package = Path(washmon.gui.__file__).parent
    moving = re.compile(r"Q(Property|Variant)Animation|QMovie|QTimeLine|QGraphicsOpacityEffect")
    found = [path.name for path in package.rglob("*.py") if moving.search(path.read_text("utf-8"))]
    assert found == []
    assert SECOND_MS >= 1000
    assert qapp.cursorFlashTime() >= 1000 / FLASHES_A_SECOND
