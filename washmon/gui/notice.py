"""The line above a room: takes no room while it has nothing to say."""

from PySide6.QtWidgets import QWidget

from washmon.gui.kit.message_line import MessageLine


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
