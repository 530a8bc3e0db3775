"""A label with a size of type and a tone, and one that shortens itself where it is narrow."""

from enum import StrEnum
from html import escape

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QFont, QPainter, QPaintEvent
from PySide6.QtWidgets import QLabel, QWidget

from washmon.gui.kit import theme
from washmon.gui.kit.theme import Size

Weight = QFont.Weight
_DIGITS_AIR = 1.5
"""Of the height of a digit: that of the room it stands in."""


class Tone(StrEnum):
    """What a text's colour says; the style sheet gives each its shade."""

    PLAIN = "plain"
    SOFT = "soft"
    HAND = "hand"
    WATCH = "watch"
    ACT = "act"
    STOP = "stop"


def plain_tip(text: str) -> str:
    """Return what a tip shows as this very text: Qt would draw mark-up, and load its pictures."""
    return f"<span>{escape(text)}</span>" if "<" in text else text


class Text(QLabel):
    """Plain text: nothing in it is read as mark-up.

    ``wrapped`` breaks into lines; ``tabular`` keeps digits in place while a number changes.
    """

    def __init__(  # a label is all these things at once
        self,
        text: str = "",
        size: Size = Size.BODY,
        *,
        bold: bool = False,
        tone: Tone = Tone.PLAIN,
        wrapped: bool = False,
        tabular: bool = False,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(text, parent)
        self.setTextFormat(Qt.TextFormat.PlainText)
        heavy = Weight.Bold if size is Size.HUGE else Weight.DemiBold  # read at two metres
        weight = heavy if bold else Weight.Normal
        self.setFont(theme.font(size, weight, tabular=tabular))
        self.setWordWrap(wrapped)
        self.setProperty("tone", tone.value)

    @property
    def tone(self) -> Tone:
        """What the colour says now."""
        return Tone(self.property("tone"))

    def set_tone(self, tone: Tone) -> None:
        """Change the tone; does nothing when it is the same."""
        if tone is not self.tone:
            self.setProperty("tone", tone.value)
            self.style().unpolish(self)
            self.style().polish(self)


class Digits(Text):
    """A number alone: without the room that letters take over and under digits."""

    def sizeHint(self) -> QSize:
        """Return room for digits, with a little air."""
        return QSize(super().sizeHint().width(), self.minimumSizeHint().height())

    def minimumSizeHint(self) -> QSize:
        """Return the same: a number is never cut."""
        height = round(self.fontMetrics().capHeight() * _DIGITS_AIR)
        return QSize(super().minimumSizeHint().width(), height)


class ShortText(Text):
    """One line that ends in an ellipsis where the room is too small; the tip has all of it."""

    def setText(self, text: str) -> None:
        """Show ``text``, whole in the tip."""
        super().setText(text)
        self.setToolTip(plain_tip(text))

    def minimumSizeHint(self) -> QSize:
        """Allow any width that still shows a few letters."""
        return QSize(
            self.fontMetrics().horizontalAdvance("mm…"), super().minimumSizeHint().height()
        )

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw as much as there is room for."""
        painter = QPainter(self)
        room = self.contentsRect()
        metrics = self.fontMetrics()
        shown = metrics.elidedText(self.text(), Qt.TextElideMode.ElideRight, room.width())
        flags = self.alignment() | Qt.AlignmentFlag.AlignVCenter
        self.style().drawItemText(
            painter, room, int(flags), self.palette(), True, shown, self.foregroundRole()
        )
