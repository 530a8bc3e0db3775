"""A caution in one paragraph, its signal word in bold."""

from html import escape

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QWidget

from washmon.gui.board.cautions import CautionText
from washmon.gui.kit.text import Text
from washmon.gui.kit.theme import Size


class CautionLine(Text):
    """Signal word and text; hidden where there is nothing to beware of."""

    def __init__(self, caution: CautionText | None = None, parent: QWidget | None = None) -> None:
        super().__init__("", Size.SMALL, wrapped=True, parent=parent)
        self.setTextFormat(Qt.TextFormat.RichText)
        self._caution: CautionText | None = None
        if caution is None:
            self.hide()
        else:
            self._say(caution)

    @property
    def caution(self) -> CautionText | None:
        """What is shown."""
        return self._caution

    def show_caution(self, caution: CautionText | None) -> None:
        """Show a caution or none; does nothing when it is the same."""
        if caution == self._caution:
            return
        self._caution = caution
        self.setVisible(caution is not None)
        if caution is not None:
            self._say(caution)

    def _say(self, caution: CautionText) -> None:
        self._caution = caution
        self.setText(f"<b>{escape(caution.word)}</b>&nbsp; {escape(caution.text)}")
        self.setAccessibleName(f"{caution.word}: {caution.text}")
