"""A wait as a ring that fills."""

from PySide6.QtCore import QEvent, QRectF, QSize
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from washmon.gui.kit import theme

_SIDE_PX = 22
_STEPS = 60
"""So many times a ring is drawn anew while it fills."""


def draw_ring(painter: QPainter, box: QRectF, share: float) -> None:
    """Draw a ring, filled to ``share`` from the top clockwise, into the middle of ``box``."""
    shades = theme.current()
    side = min(box.width(), box.height())
    width = max(2.5, side / 6)
    ring = QRectF(0, 0, side - width, side - width)
    ring.moveCenter(box.center())
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(QColor(shades.hairline), width))
    painter.drawEllipse(ring)
    painter.setPen(QPen(QColor(shades.hand), width))
    painter.drawArc(ring, 90 * 16, -round(min(max(share, 0.0), 1.0) * 360 * 16))
    painter.restore()


class WaitRing(QWidget):
    """The ring alone; what is left is said in words beside it."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._share = 0.0
        self.setFixedSize(self.sizeHint())

    @property
    def share(self) -> float:
        """How much of the wait is over, from 0 to 1."""
        return self._share

    def show_share(self, share: float) -> None:
        """Fill it so far; does nothing where no eye would see it."""
        share = round(share * _STEPS) / _STEPS
        if share != self._share:
            self._share = share
            self.update()

    def sizeHint(self) -> QSize:
        """Return its square."""
        return QSize(theme.px(_SIDE_PX), theme.px(_SIDE_PX))

    def changeEvent(self, event: QEvent) -> None:
        """Grow with the type beside it."""
        super().changeEvent(event)
        if event.type() is QEvent.Type.FontChange:
            self.setFixedSize(self.sizeHint())

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw the ring."""
        draw_ring(QPainter(self), QRectF(self.rect()), self._share)
