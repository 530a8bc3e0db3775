"""The sentence under a field that says what is wrong with it, with a mark beside it."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget

from washmon.gui.kit.boxes import hbox
from washmon.gui.kit.spoken import announce
from washmon.gui.kit.state_mark import Look, StateMark
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size


class FaultLine(QWidget):
    """Takes no room until there is something to say."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.words = Text("", Size.SMALL, tone=Tone.STOP, wrapped=True, parent=self)
        hbox(
            (StateMark(Look.STOP, 14, self), 0, Qt.AlignmentFlag.AlignTop),
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
