"""Lines that say one thing: what was saved, what is wrong with a field, what waits."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QSizePolicy, QWidget

from washmon.gui.kit.boxes import hbox
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.spoken import announce
from washmon.gui.kit.state_mark import MarkState, StateMark
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size


class MessageLine(QWidget):
    """One sentence, with a mark when it is bad news, and at most one thing to do about it."""

    acted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.mark = StateMark(MarkState.STOP, 18, self)
        self.words = Text("", Size.BODY, wrapped=True, parent=self)
        self.words.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self.action = PressButton("", Rank.QUIET, parent=self, then=self.acted)
        hbox(
            (self.mark, 0, Qt.AlignmentFlag.AlignVCenter),
            (self.words, 1),
            self.action,
            on=self,
            gap_px=8,
        )
        self.clear()

    def say(self, text: str, action: str = "") -> None:
        """Say something quiet; ``action`` is the word on the button beside it."""
        self._show(text, Tone.PLAIN, action)

    def warn(self, text: str, action: str = "") -> None:
        """Say that something was not done, with a mark and in the stop colour."""
        self._show(text, Tone.STOP, action)

    def doubt(self, text: str) -> None:
        """Ask about something unlikely, with the mark of a watch."""
        self._show(text, Tone.WATCH, "")

    def clear(self) -> None:
        """Say nothing."""
        self._show("", Tone.PLAIN, "")

    def _show(self, text: str, tone: Tone, action: str) -> None:
        self.words.setText(text)
        self.words.set_tone(tone)
        self.mark.show_look(MarkState.WATCH if tone is Tone.WATCH else MarkState.STOP)
        self.mark.setVisible(tone is not Tone.PLAIN)
        self.action.set_label(action)
        self.action.setVisible(bool(action))
        announce(self, text, at_once=tone is not Tone.PLAIN)


class FaultLine(QWidget):
    """Takes no room until there is something to say."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.words = Text("", Size.SMALL, tone=Tone.STOP, wrapped=True, parent=self)
        hbox(
            (StateMark(MarkState.STOP, 14, self), 0, Qt.AlignmentFlag.AlignTop),
            (self.words, 1),
            on=self,
            gap_px=5,
        )
        self.hide()

    @property
    def text(self) -> str:
        """What is said."""
        return self.words.text()

    def say(self, sentence: str) -> None:
        """Say a sentence; an empty one hides the line."""
        if sentence != self.text:
            self.words.setText(sentence)
            self.setVisible(bool(sentence))
            announce(self, sentence)


def mark_fault(field: QWidget, *, at_fault: bool) -> None:
    """Give a field the edge of a fault, or its own again."""
    if bool(field.property("fault")) != at_fault:
        field.setProperty("fault", at_fault)
        field.style().unpolish(field)
        field.style().polish(field)


class CalmLine(QWidget):
    """Hidden while nothing waits; a mark stands before it where it is time."""

    pressed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.mark = StateMark(MarkState.WATCH, 18, self)
        self.button = PressButton("", Rank.QUIET, parent=self, then=self.pressed)
        hbox(self.mark, self.button, on=self, gap_px=2)
        self.hide()

    def say(self, words: str, look: MarkState | None = None) -> None:
        """Show words, and a mark where there is one; nothing hides the line."""
        self.setVisible(bool(words))
        self.mark.setVisible(look is not None)
        self.mark.show_look(look or MarkState.WATCH)
        self.button.set_label(words)


class Notice(MessageLine):
    """A message line that is only there while it speaks."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setContentsMargins(12, 4, 12, 4)

    def say(self, text: str, action: str = "") -> None:
        """Say something quiet."""
        super().say(text, action)
        self.show()

    def warn(self, text: str, action: str = "") -> None:
        """Say that something was not done."""
        super().warn(text, action)
        self.show()

    def clear(self) -> None:
        """Say nothing, and step aside."""
        super().clear()
        self.hide()
