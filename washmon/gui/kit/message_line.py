"""The quiet line that says what was saved and offers to correct it."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QSizePolicy, QWidget

from washmon.gui.kit.boxes import hbox
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.spoken import announce
from washmon.gui.kit.state_mark import Look, StateMark
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size


class MessageLine(QWidget):
    """One sentence, with a mark when it is bad news, and at most one thing to do about it."""

    acted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.mark = StateMark(Look.STOP, 18, self)
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
        self.mark.show_look(Look.WATCH if tone is Tone.WATCH else Look.STOP)
        self.mark.setVisible(tone is not Tone.PLAIN)
        self.action.set_label(action)
        self.action.setVisible(bool(action))
        announce(self, text, at_once=tone is not Tone.PLAIN)
