"""A whole shift on the Board by keys alone, and the same by touch alone, through the real window.

No mouse, no hover, and by touch no letter: what is needed is pressed or taken from what is offered.
"""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QPointingDevice
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from tests.gui.stand import Key, Stand, begin_shift
from washmon.gui.action_bar import Action
from washmon.gui.kit.buttons import ChoiceRow
from washmon.gui.kit.entry_sheet import EntrySheet
from washmon.gui.kit.letter_keys import LetterKeys
from washmon.gui.shift.end import ShiftEnd
from washmon.line.events import (
    BatchWashed,
    Corrected,
    Decision,
    DoseAdded,
    Event,
    HoldPlaced,
    HoldReleased,
    NoteWritten,
    ReadingTaken,
)
from washmon.line.flags import StepKind
from washmon.store.store import Store


class Keys:
    """Whoever has a keyboard and nothing else."""

    def __init__(self, stand: Stand) -> None:
        self.stand = stand

    def act(self, action: Action) -> None:
        keys = {
            Action.READING: Key.Key_F1,
            Action.BATCH: Key.Key_F2,
            Action.DOSE: Key.Key_F3,
            Action.HOLD: Key.Key_F6,
            Action.AGAIN: Key.Key_Plus,
            Action.NOTE: Key.Key_F7,
            Action.UNDO: Key.Key_F8,
            Action.END: Key.Key_F10,
        }
        if action is Action.DECIDE:
            self.stand.key(Key.Key_F6, Qt.KeyboardModifier.ShiftModifier)
        else:
            self.stand.type(keys[action])

    def answer(self, tank: int) -> None:
        """Answer the first step of the line, which must be this tank's."""
        assert self.stand.board.board.first == tank
        self.stand.type(Key.Key_Space)

    def choose(self, row: QWidget, key: str) -> None:
        assert isinstance(row, ChoiceRow)
        self.stand.type(str(row._keys.index(key) + 1))

    def number(self, text: str) -> None:
        self.stand.write(text)

    def next(self, sheet: EntrySheet) -> None:
        del sheet
        self.stand.type(Key.Key_Return)

    def offer(self, sheet: EntrySheet, key: str, at: int) -> None:
        assert sheet._current is sheet.field(key)
        self.stand.key(Qt.Key(Key.Key_1 + at), Qt.KeyboardModifier.AltModifier)

    def save(self, sheet: EntrySheet) -> None:
        del sheet
        self.stand.key(Key.Key_Return, Qt.KeyboardModifier.ControlModifier)

    def anyway(self, sheet: EntrySheet) -> None:
        del sheet
        self.stand.key(Key.Key_S, Qt.KeyboardModifier.ControlModifier)

    def end(self, page: ShiftEnd) -> None:
        del page
        self.stand.key(Key.Key_Return, Qt.KeyboardModifier.ControlModifier)


class Touch:
    """Whoever has a finger and nothing else."""

    def __init__(self, stand: Stand) -> None:
        self.stand = stand
        self.device: QPointingDevice = QTest.createTouchDevice()

    def tap(self, widget: QWidget) -> None:
        self.stand.qtbot.waitUntil(widget.isVisible)
        self.stand._into_sight(widget)
        assert widget.isEnabled(), widget
        window = widget.window()
        middle = widget.rect().center()
        hit = window.childAt(widget.mapTo(window, middle))
        if hit is not None and isinstance(keys := hit.parentWidget(), LetterKeys):
            done = keys.keys["done"]  # they lie over what is wanted now
            self.tap_at(window, done.mapTo(window, done.rect().center()))
            hit = window.childAt(widget.mapTo(window, middle))
        assert hit is widget or (hit is not None and widget.isAncestorOf(hit)), (widget, hit)
        self.tap_at(window, widget.mapTo(window, middle))

    def tap_at(self, window: QWidget, place: QPoint) -> None:
        QTest.touchEvent(window, self.device).press(0, place, window).commit()
        QTest.touchEvent(window, self.device).release(0, place, window).commit()
        QApplication.processEvents()

    def act(self, action: Action) -> None:
        bar = self.stand.board.bar
        button = bar.buttons[action]
        if button.isVisible():
            self.tap(button)
            return
        self.tap(bar.more)
        menu = self.stand.window.menu
        self.stand.qtbot.waitUntil(menu.isVisible)
        words = bar.actions_[action].text()
        line = next(one for one in menu.actions() if one.text().split("\t")[0] == words)
        self.tap_at(menu, menu.actionGeometry(line).center())
        if self.stand.window.isVisible():
            self.stand.to_front(self.stand.window)

    def answer(self, tank: int) -> None:
        self.tap(self.stand.panel(tank).state.plan.answer)

    def choose(self, row: QWidget, key: str) -> None:
        assert isinstance(row, ChoiceRow)
        self.tap(row.button(key))

    def number(self, text: str) -> None:
        sheet = self.stand.entries.sheet
        for sign in text:
            self.tap(sheet.pad.key(sign))

    def next(self, sheet: EntrySheet) -> None:
        self.tap(sheet.pad.key("next"))

    def offer(self, sheet: EntrySheet, key: str, at: int) -> None:
        self.tap(sheet.field(key).input)
        self.tap(sheet.offers.buttons[at])

    def save(self, sheet: EntrySheet) -> None:
        self.tap(sheet.save)

    def anyway(self, sheet: EntrySheet) -> None:
        self.tap(sheet.anyway)

    def end(self, page: ShiftEnd) -> None:
        self.tap(page.end)


Hand = Keys | Touch


@pytest.fixture
def stand(qtbot: QtBot, tmp_path: Path) -> Iterator[Stand]:
    made = Stand(qtbot, tmp_path)
    begin_shift(made.path)
    made.now += timedelta(minutes=2)
    made.open()
    yield made
    made.leave()


def saved(stand: Stand, hand: Hand, sheet: EntrySheet, kind: type[Event]) -> Event:
    """Save what stands in a sheet, through a doubt if there is one; return the entry."""
    before = len(stand.shift.entries)
    if sheet.isVisible():
        hand.save(sheet)
    stand.qtbot.waitUntil(lambda: sheet.doubted or not sheet.isVisible())
    if sheet.doubted:
        hand.anyway(sheet)
    stand.qtbot.waitUntil(lambda: len(stand.shift.entries) > before and not sheet.isVisible())
    entry = stand.last().event
    assert isinstance(entry, kind), entry
    stand.board.board._changed.clear()  # as after a second
    return entry


def read(stand: Stand, hand: Hand, tank: int, level: str, ph: str = "7.0") -> None:
    hand.act(Action.READING)
    sheet = stand.entries.sheet
    stand.qtbot.waitUntil(sheet.isVisible)
    assert sheet.tanks is not None
    hand.choose(sheet.tanks, str(tank))
    hand.number(level)
    hand.next(sheet)
    hand.number(ph)
    entry = saved(stand, hand, sheet, ReadingTaken)
    assert isinstance(entry, ReadingTaken)
    assert (entry.tank, entry.fac_mg_l, entry.ph) == (tank, float(level), float(ph))


def do_as_told(stand: Stand, hand: Hand, tank: int, kind: StepKind, event: type[Event]) -> Event:
    stand.wait_for_step(tank, kind)
    stand.board.board._changed.clear()
    hand.answer(tank)
    stand.qtbot.waitUntil(stand.entries.sheet.isVisible)
    return saved(stand, hand, stand.entries.sheet, event)


# A menu asks to be raised and for the keyboard, which the offscreen platform has no way to grant.
@pytest.mark.qt_log_ignore("This plugin does not support", extend=True)
@pytest.mark.parametrize("means", [Keys, Touch])
def test_a_whole_shift(stand: Stand, means: type[Hand]) -> None:
    hand = means(stand)
    dose_and_wash(stand, hand)
    hold_and_dose_again(stand, hand)
    decide(stand, hand)
    note_and_take_it_back(stand, hand)
    hand.act(Action.END)
    hand.end(stand.page(ShiftEnd))
    stand.qtbot.waitUntil(lambda: stand.shift.ended is not None)
    stand.leave()
    with Store.open(stand.path) as store:
        assert store.verify() == []


def batches(stand: Stand) -> int:
    return sum(isinstance(one, BatchWashed) for one in stand.events)


def dose_and_wash(stand: Stand, hand: Hand) -> None:
    sheet = stand.entries.sheet
    read(stand, hand, 1, "31")
    do_as_told(stand, hand, 1, StepKind.DOSE, DoseAdded)
    stand.wait(6)
    read(stand, hand, 1, "55")
    hand.act(Action.BATCH)
    stand.qtbot.waitUntil(sheet.isVisible)
    saved(stand, hand, sheet, BatchWashed)
    stand.wait(2)
    stand.board._batch_at = float("-inf")  # as after two seconds
    hand.act(Action.AGAIN)
    stand.qtbot.waitUntil(lambda: batches(stand) == 3 or sheet.doubted)
    if sheet.doubted:
        saved(stand, hand, sheet, BatchWashed)
    assert batches(stand) == 3


def hold_and_dose_again(stand: Stand, hand: Hand) -> None:
    sheet = stand.entries.sheet
    stand.wait(1)
    read(stand, hand, 1, "20")
    for action, kind in ((Action.HOLD, HoldPlaced), (Action.DOSE, DoseAdded)):
        hand.act(action)
        stand.qtbot.waitUntil(sheet.isVisible)
        assert sheet.tanks is not None
        hand.choose(sheet.tanks, "1")
        if action is Action.DOSE:
            hand.number("130")
        entry = saved(stand, hand, sheet, kind)
        assert not isinstance(entry, HoldPlaced) or len(entry.batches) == 2
    stand.wait(6)
    read(stand, hand, 1, "52")


def decide(stand: Stand, hand: Hand) -> None:
    """Every part of the decision is taken from what is offered."""
    sheet = stand.entries.sheet
    hand.act(Action.DECIDE)
    stand.qtbot.waitUntil(sheet.isVisible)
    hand.choose(sheet.field("decision").input, Decision.DISCARD)
    if isinstance(hand, Keys):
        stand.type(Key.Key_Return, Key.Key_Return)  # what was found stands there
    for key in ("reason", "water", "prevention"):
        hand.offer(sheet, key, 0)
        if isinstance(hand, Keys) and key != "prevention":
            stand.type(Key.Key_Return)
    entry = saved(stand, hand, sheet, HoldReleased)
    assert isinstance(entry, HoldReleased)
    assert "thrown away" in entry.reason
    assert "130 mL" in entry.water
    assert entry.doubts == ()


def note_and_take_it_back(stand: Stand, hand: Hand) -> None:
    sheet = stand.entries.sheet
    hand.act(Action.NOTE)
    stand.qtbot.waitUntil(sheet.isVisible)
    hand.offer(sheet, "text", 2)
    entry = saved(stand, hand, sheet, NoteWritten)
    assert isinstance(entry, NoteWritten)
    assert entry.text == "water cloudy"
    hand.act(Action.UNDO)
    undoing = stand.board.sheets.undoing
    assert undoing is not None
    stand.qtbot.waitUntil(undoing.sheet.isVisible)
    saved(stand, hand, undoing.sheet, Corrected)


def test_two_fingers_at_once_open_one_sheet_and_save_nothing(stand: Stand) -> None:
    touch, before = Touch(stand), len(stand.events)
    bar, window = stand.board.bar, stand.window
    places = [
        one.mapTo(window, one.rect().center())
        for one in (bar.buttons[Action.AGAIN], bar.buttons[Action.READING])
    ]
    down = QTest.touchEvent(window, touch.device)
    down.press(0, places[1], window).press(1, places[0], window).commit()
    up = QTest.touchEvent(window, touch.device)
    up.release(0, places[1], window).release(1, places[0], window).commit()
    stand.qtbot.waitUntil(stand.entries.sheet.isVisible)
    assert stand.entries.sheet.tanks is not None  # a reading's, of a tank to be chosen
    assert len(stand.events) == before
