"""A sheet of card on the paper, its upper edge coloured where something is wrong."""

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from washmon.gui.kit import theme
from washmon.gui.kit.boxes import vbox
from washmon.gui.kit.state_mark import MarkState

_RADIUS_PX = 6.0
_EDGE_PX = 4.0


class Card(QWidget):
    """A rounded surface; add to ``body``. A calm card shows no colour."""

    def __init__(self, parent: QWidget | None = None, *, margin_px: int = 12) -> None:
        super().__init__(parent)
        self._look = MarkState.IN_LIMITS
        self.body = vbox(on=self, gap_px=6, margins_px=margin_px)

    @property
    def look(self) -> MarkState:
        """The state that the edge shows."""
        return self._look

    def show_look(self, look: MarkState) -> None:
        """Colour the upper edge; does nothing when it is the same."""
        if look is not self._look:
            self._look = look
            self.update()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw the surface, its hairline and its edge."""
        shades = theme.current()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        half = shades.line_px / 2
        box = QRectF(self.rect()).adjusted(half, half, -half, -half)
        shape = QPainterPath()
        shape.addRoundedRect(box, _RADIUS_PX, _RADIUS_PX)
        painter.fillPath(shape, QColor(shades.card))
        painter.setPen(QPen(QColor(shades.hairline), shades.line_px))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawPath(shape)
        colour = self._look.colour(shades)
        if colour:
            # All of the rounded outline's upper strip, so that the corners bend with it.
            strip = QPainterPath()
            strip.addRect(QRectF(0, 0, self.width(), _EDGE_PX))
            outer = QPainterPath()
            outer.addRoundedRect(QRectF(self.rect()), _RADIUS_PX, _RADIUS_PX)
            painter.fillPath(outer.intersected(strip), QColor(colour))
