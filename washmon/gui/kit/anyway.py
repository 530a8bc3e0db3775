"""The button that takes an entry in spite of a doubt: never where a finger rests already."""

from PySide6.QtWidgets import QWidget

from washmon.gui.kit.buttons import PressButton, Rank

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
