"""A bar of time: within limits, outside of them, not known."""

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QBrush, QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.logbook.logbook_words import percent
from washmon.reports.summary import TimeShares

_HEIGHT_PX = 10


class ShareBar(QWidget):
    """Three patterns as well as three colours: solid, dense, hatched."""

    def __init__(self, shares: TimeShares, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._shares = shares
        self.setFixedHeight(_HEIGHT_PX)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        words = tr(
            "{within} of the time within limits, {outside} outside, {unknown} not known",
            within=percent(shares.within),
            outside=percent(shares.outside),
            unknown=percent(shares.unknown),
        )
        self.setAccessibleName(words)
        self.setToolTip(words)

    def sizeHint(self) -> QSize:
        """Ask for a width that shows a few percent."""
        return QSize(120, _HEIGHT_PX)

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw the three parts side by side."""
        shades = theme.current()
        painter = QPainter(self)
        room = QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5)
        hatched = QBrush(QColor(shades.border), Qt.BrushStyle.BDiagPattern)
        parts = (
            (self._shares.within, QBrush(QColor(shades.band_edge))),
            (self._shares.outside, QBrush(QColor(shades.act))),
            (self._shares.unknown, hatched),
        )
        painter.fillRect(room, QColor(shades.card))
        left = room.left()
        for share, brush in parts:
            width = room.width() * share
            painter.fillRect(QRectF(left, room.top(), width, room.height()), brush)
            left += width
        painter.setPen(QPen(QColor(shades.border), 1))
        painter.drawRect(room)
