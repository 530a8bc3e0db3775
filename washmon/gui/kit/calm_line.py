"""One calm line that says that something waits, and opens it."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from washmon.gui.kit.boxes import hbox
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.state_mark import Look, StateMark


class CalmLine(QWidget):
    """Hidden while nothing waits; a mark stands before it where it is time."""

    pressed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.mark = StateMark(Look.WATCH, 18, self)
        self.button = PressButton("", Rank.QUIET, parent=self, then=self.pressed)
        hbox(self.mark, self.button, on=self, gap_px=2)
        self.hide()

    def say(self, words: str, look: Look | None = None) -> None:
        """Show words, and a mark where there is one; nothing hides the line."""
        self.setVisible(bool(words))
        self.mark.setVisible(look is not None)
        self.mark.show_look(look or Look.WATCH)
        self.button.set_label(words)
