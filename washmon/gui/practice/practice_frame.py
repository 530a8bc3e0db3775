"""The striped frame around every screen of practice, with the word on top."""

from PySide6.QtCore import QPointF, QRect, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen, QPolygonF, QRegion
from PySide6.QtWidgets import QVBoxLayout, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.text import Weight
from washmon.gui.kit.theme import Size

EDGE_PX, TOP_PX = 8, 24
_STRIPE_PX = 14


class PracticeFrame(QWidget):
    """Holds a page; add it to ``inside``."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.inside = QVBoxLayout(self)
        self.inside.setSpacing(0)
        self._framed = False
        self.set_framed(framed=True)

    def hasHeightForWidth(self) -> bool:
        """Return that it does not: what has no room on a page scrolls by itself."""
        return False

    @property
    def framed(self) -> bool:
        """Whether the stripes are there."""
        return self._framed

    def set_framed(self, *, framed: bool) -> None:
        """Put the stripes there, or take them away where a page shows no practice."""
        self._framed = framed
        margins = (EDGE_PX, TOP_PX, EDGE_PX, EDGE_PX) if framed else (0, 0, 0, 0)
        self.inside.setContentsMargins(*margins)
        self.setAccessibleName(tr("Practice") if framed else "")
        self.update()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw stripes and the word."""
        if not self._framed:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        hole = self.rect().adjusted(EDGE_PX, TOP_PX, -EDGE_PX, -EDGE_PX)
        painter.setClipRegion(QRegion(self.rect()) - QRegion(hole))
        draw_stripes(painter, self.rect())
        draw_word(painter, QRect(0, 0, self.width(), TOP_PX))


def draw_stripes(painter: QPainter, box: QRect) -> None:
    """Fill a box with the stripes of practice."""
    shades = theme.current()
    painter.fillRect(box, QColor(shades.watch))
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(QColor(shades.on_watch))
    height = box.height()
    at = box.left() - height
    while at < box.right():
        painter.drawPolygon(
            QPolygonF(
                (
                    QPointF(at, box.bottom() + 1),
                    QPointF(at + height, box.top()),
                    QPointF(at + height + _STRIPE_PX, box.top()),
                    QPointF(at + _STRIPE_PX, box.bottom() + 1),
                )
            )
        )
        at += 2 * _STRIPE_PX


def draw_word(painter: QPainter, box: QRect) -> None:
    """Write the word into the middle of a striped box, on a calm ground."""
    shades = theme.current()
    painter.setFont(theme.font(Size.SMALL, Weight.DemiBold))
    words = tr("Practice: a simulated shift, no record")
    width = painter.fontMetrics().horizontalAdvance(words) + 36
    plate = QRect(box.center().x() - width // 2, box.top(), width, box.height())
    painter.fillRect(plate, QColor(shades.watch))
    painter.setPen(QPen(QColor(shades.on_watch)))
    painter.drawText(plate, Qt.AlignmentFlag.AlignCenter, words)
