"""What can be pressed: primary, secondary and quiet buttons, and toggles that form a choice.

The button that takes an entry in spite of a doubt: never where a finger rests already.
"""

from collections.abc import Callable
from enum import StrEnum

from PySide6.QtCore import QEvent, QSize, Qt, Signal, SignalInstance, Slot
from PySide6.QtGui import QFontMetrics, QKeySequence, QPainter, QPaintEvent, QShortcutEvent
from PySide6.QtWidgets import (
    QAbstractButton,
    QButtonGroup,
    QGridLayout,
    QPushButton,
    QSizePolicy,
    QStyle,
    QStyleOptionButton,
    QStylePainter,
    QWidget,
)

from washmon.gui.kit import theme
from washmon.gui.kit.boxes import FlowLayout
from washmon.gui.kit.spoken import SpokenRole, speak_as
from washmon.gui.kit.text import Weight, plain_tip
from washmon.gui.kit.theme import Size

TOUCH_PX = 44
_GAP_PX = 10
_SHORT_PX = 76
_OVER_PX = 18


class Rank(StrEnum):
    """How much a button asks to be pressed."""

    PRIMARY = "primary"
    SECONDARY = "secondary"
    QUIET = "quiet"
    KEY = "key"
    TOGGLE = "toggle"


class PressButton(QPushButton):
    """A button at least 44 px tall, its key named beside its word: "Reading  F1".

    ``key`` is shown; it is also bound as the shortcut unless ``bound`` is False (Enter and Esc
    belong to the sheet they stand on). ``key_first`` reads "1  First dunk". ``then`` is a slot that
    a press calls, or a signal that it emits.
    """

    def __init__(
        self,
        text: str,
        rank: Rank = Rank.SECONDARY,
        key: str = "",
        *,
        bound: bool = True,
        key_first: bool = False,
        parent: QWidget | None = None,
        then: Callable[..., object] | SignalInstance | None = None,
    ) -> None:
        super().__init__(text.replace("&", "&&"), parent)
        if then is not None:
            self.clicked.connect(then)
        self._label = text
        self._key_first = key_first
        self._key = key
        self.setProperty("rank", rank.value)
        self.setFont(theme.font(Size.BODY, Weight.DemiBold))
        self.setAutoDefault(False)
        self.setMinimumHeight(TOUCH_PX)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setAccessibleName(text)
        if key:
            self.setAccessibleDescription(key)
            if bound:
                self.setShortcut(QKeySequence(key))

    @property
    def label(self) -> str:
        """The word on the button, without its key."""
        return self._label

    def set_label(self, text: str) -> None:
        """Change the word, keep the key."""
        if text != self._label:
            shortcut = self.shortcut()
            self._label = text
            self.setText(text.replace("&", "&&"))
            self.setShortcut(shortcut)
            self.setAccessibleName(text)
            self.updateGeometry()

    def show_key(self, key: str) -> None:
        """Name another key beside the word, one that somebody else is bound to."""
        if key != self._key:
            self._key = key
            self.setAccessibleDescription(key)
            self.updateGeometry()
            self.update()

    def event(self, event: QEvent) -> bool:
        """Act on its key at once: Qt waits 100 ms, in which a fast hand's next keys go astray."""
        if isinstance(event, QShortcutEvent) and not event.isAmbiguous():
            self.click()
            return True
        return super().event(event)

    def _key_width(self) -> int:
        if not self._key:
            return 0
        return _GAP_PX + QFontMetrics(theme.font(Size.BODY)).horizontalAdvance(self._key)

    def sizeHint(self) -> QSize:
        """Leave room for word and key."""
        words = QFontMetrics(self.font()).horizontalAdvance(self._label)
        least = max(TOUCH_PX, self.minimumHeight(), QFontMetrics(self.font()).height() + _OVER_PX)
        return QSize(max(TOUCH_PX, words + self._key_width() + 36), least)

    def minimumSizeHint(self) -> QSize:
        """Return the room without much margin; only a word that follows its key may be cut."""
        hint = self.sizeHint()
        if self._key_first:
            return QSize(min(hint.width(), _SHORT_PX + self._key_width()), hint.height())
        return QSize(hint.width() - 20, hint.height())

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Let the style draw the box, then word and key in their two weights."""
        option = QStyleOptionButton()
        self.initStyleOption(option)
        option.text = ""
        painter = QStylePainter(self)
        painter.drawControl(QStyle.ControlElement.CE_PushButton, option)
        self._draw_words(painter)

    def _draw_words(self, painter: QPainter) -> None:
        painter.setPen(self._ink())
        metrics = QFontMetrics(self.font())
        room = self.width() - self._key_width() - 16
        words = metrics.elidedText(self._label, Qt.TextElideMode.ElideRight, room)
        width = metrics.horizontalAdvance(words)
        left = (self.width() - width - self._key_width()) // 2
        pieces = [(words, self.font(), width), (self._key, theme.font(Size.BODY), 0)]
        if self._key_first:
            before = self._key_width() - _GAP_PX
            pieces = [(self._key, theme.font(Size.BODY), before), pieces[0]]
        for text, font, advance in pieces:
            painter.setFont(font)
            row = self.rect().adjusted(left, 0, 0, 0)
            painter.drawText(row, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft, text)
            left += advance + _GAP_PX

    def _ink(self) -> str:
        shades = theme.current()
        rank = self.property("rank")
        if not self.isEnabled():
            return shades.soft_ink
        if rank == Rank.PRIMARY or self.isChecked() or self.isDown():
            return shades.on_hand
        return shades.ink if rank in (Rank.KEY, Rank.TOGGLE) else shades.hand


class ChoiceRow(QWidget):
    """Big toggles of which one is pressed; ``chosen`` tells the key of a new one."""

    chosen = Signal(str)

    def __init__(
        self,
        choices: tuple[tuple[str, str], ...],
        selected: str = "",
        parent: QWidget | None = None,
        *,
        keys: tuple[str, ...] = (),
        across: int = 0,
    ) -> None:
        """``choices`` are pairs of key and words; ``keys`` are shown before the words.

        More than ``across`` go into further lines, each as wide as the others; with 0 each is as
        wide as its words, and those that have no room go into further lines.
        """
        super().__init__(parent)
        speak_as(self, SpokenRole.Grouping)
        self._keys = tuple(key for key, _ in choices)
        self._group = QButtonGroup(self)
        self._group.setExclusive(True)
        lines = self._lay_out(across)
        for at, (_, words) in enumerate(choices):
            hint = keys[at] if at < len(keys) else ""
            button = PressButton(
                words, Rank.TOGGLE, hint, bound=False, key_first=bool(hint), parent=self
            )
            button.setToolTip(plain_tip(words))
            button.setCheckable(True)
            button.setFocusPolicy(Qt.FocusPolicy.NoFocus)
            button.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
            self._group.addButton(button, at)
            if isinstance(lines, QGridLayout):
                lines.addWidget(button, at // across, at % across)
            else:
                lines.addWidget(button)
        self._group.buttonToggled.connect(self._say_chosen)
        self.choose(selected)
        self._group.buttonClicked.connect(self._tell)

    def _lay_out(self, across: int) -> QGridLayout | FlowLayout:
        if not across:
            return FlowLayout(self)
        lines = QGridLayout(self)
        lines.setContentsMargins(0, 0, 0, 0)
        lines.setSpacing(6)
        for column in range(across):
            lines.setColumnStretch(column, 1)
        return lines

    @property
    def selected(self) -> str:
        """The key of the pressed toggle, empty when none is."""
        at = self._group.checkedId()
        return self._keys[at] if at >= 0 else ""

    def button(self, key: str) -> QAbstractButton:
        """The toggle of one key."""
        return self._group.button(self._keys.index(key))

    def choose(self, key: str) -> None:
        """Press the toggle of ``key`` without telling; an unknown key changes nothing."""
        if key in self._keys:
            self.button(key).setChecked(True)

    def step(self, by: int) -> None:
        """Move the choice along the row and tell it."""
        at = self._group.checkedId()
        to = 0 if at < 0 else min(max(at + by, 0), len(self._keys) - 1)
        if to != at:
            self._group.button(to).setChecked(True)
            self.chosen.emit(self._keys[to])

    def show_focus(self, *, on: bool) -> None:
        """Edge the toggles to show that the keyboard is here."""
        for button in self._group.buttons():
            button.setProperty("near", on)
            button.style().unpolish(button)
            button.style().polish(button)

    @Slot(QAbstractButton, bool)
    def _say_chosen(self, button: QAbstractButton, on: bool) -> None:  # noqa: FBT001 - Qt's signal
        """Let a screen reader know what is chosen: the keyboard stands on the row as a whole."""
        if on:
            self.setAccessibleDescription(button.accessibleName())

    @Slot(QAbstractButton)
    def _tell(self, _button: QAbstractButton) -> None:
        self.chosen.emit(self.selected)


KEY = "Ctrl+S"
"""Of every such button; no other key that goes on or saves does what it does."""


class AnywayButton(PressButton):
    """Stands apart from the button that was pressed last, and only while a doubt is asked.

    It takes a key of its own, or a step to it: Enter, and a second press at the same place, never
    reach it.
    """

    def __init__(self, text: str, parent: QWidget | None = None) -> None:
        super().__init__(text, Rank.SECONDARY, KEY, parent=parent)
        self.hide()
