"""A hairline between two parts of a card."""

from PySide6.QtGui import QColor, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from washmon.gui.kit import theme


class Hairline(QWidget):
    """As wide as there is room, as thick as the theme's lines."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setFixedHeight(2)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the line."""
        del event
        shades = theme.current()
        QPainter(self).fillRect(0, 0, self.width(), shades.line_px, QColor(shades.hairline))
