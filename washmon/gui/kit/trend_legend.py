"""The few shapes of a trend that need a word, named under it."""

from enum import Enum

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.theme import Size
from washmon.gui.kit.trend_view import TrendView

_SHAPE_PX = 12.0
_GAP_PX = 14.0


class LegendEntry(Enum):
    """What the legend can name, the weightiest first."""

    DOSE = "dose"
    ACID = "acid"
    CHANGE = "water change"
    RANGE = "range"
    EARLIER = "earlier"
    SUPPOSED = "supposed"
    FAN = "fan"

    @property
    def word(self) -> str:
        """The name in the user's language."""
        return {
            LegendEntry.DOSE: tr("dose"),
            LegendEntry.ACID: tr("acid"),
            LegendEntry.CHANGE: tr("water change"),
            LegendEntry.RANGE: tr("range of a strip"),
            LegendEntry.EARLIER: tr("earlier fill"),
            LegendEntry.SUPPOSED: tr("if you do this"),
            LegendEntry.FAN: tr("likely from here"),
        }[self]


def entries_of(view: TrendView) -> tuple[LegendEntry, ...]:
    """Return what a trend must name."""
    present = {
        LegendEntry.DOSE: bool(view.doses),
        LegendEntry.ACID: bool(view.acids),
        LegendEntry.CHANGE: bool(view.changes),
        LegendEntry.RANGE: any(point.low is not None for point in view.points()),
        LegendEntry.EARLIER: bool(view.earlier),
        LegendEntry.SUPPOSED: bool(view.supposed),
        LegendEntry.FAN: bool(view.fan),
    }
    return tuple(entry for entry, there in present.items() if there)


class Legend(QWidget):
    """Names only what is on the plot; what has no room is left out, the lightest first."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._entries: tuple[LegendEntry, ...] = ()
        self.setFont(theme.font(Size.TINY))
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.setVisible(False)

    @property
    def entries(self) -> tuple[LegendEntry, ...]:
        """What is named."""
        return self._entries

    def name(self, entries: tuple[LegendEntry, ...]) -> None:
        """Name these and no others."""
        if entries != self._entries:
            self._entries = entries
            self.setAccessibleName(", ".join(entry.word for entry in entries))
            self.update()

    def sizeHint(self) -> QSize:
        """Return one line of small type."""
        return QSize(120, round(QFontMetricsF(self.font()).height()) + 2)

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw shape and word of each entry that has room."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        metrics = QFontMetricsF(self.font())
        base = (self.height() + metrics.ascent() - metrics.descent()) / 2
        x = 0.0
        for entry in self._entries:
            side = _SHAPE_PX * theme.scale()
            width = side + 4 + metrics.horizontalAdvance(entry.word)
            if x + width > self.width():
                break
            box = QRectF(x, (self.height() - side) / 2, side, side)
            _draw_shape(painter, box, entry)
            painter.setPen(QColor(theme.current().soft_ink))
            painter.drawText(QPointF(x + side + 4, base), entry.word)
            x += width + _GAP_PX


def _draw_shape(painter: QPainter, box: QRectF, entry: LegendEntry) -> None:
    shades = theme.current()
    painter.save()
    painter.translate(box.center())
    painter.scale(theme.scale(), theme.scale())
    box = QRectF(-_SHAPE_PX / 2, -_SHAPE_PX / 2, _SHAPE_PX, _SHAPE_PX)
    middle = box.center()
    painter.setPen(Qt.PenStyle.NoPen)
    if entry is LegendEntry.DOSE:
        painter.setBrush(QColor(shades.hand))
        corners = [QPointF(0, -5), QPointF(5, 5), QPointF(-5, 5)]
        painter.drawPolygon(QPolygonF([middle + corner for corner in corners]))
    elif entry is LegendEntry.ACID:
        painter.fillRect(QRectF(middle.x() - 4, middle.y() - 4, 8, 8), QColor(shades.hand))
    elif entry is LegendEntry.CHANGE:
        painter.setPen(QPen(QColor(shades.soft_ink), 1.4, Qt.PenStyle.DotLine))
        painter.drawLine(QPointF(middle.x(), box.top()), QPointF(middle.x(), box.bottom()))
    elif entry is LegendEntry.RANGE:
        bar = QRectF(middle.x() - 2.5, box.top(), 5, box.height())
        painter.fillRect(bar, theme.with_alpha(shades.ink, 0.26))
        painter.setBrush(QColor(shades.ink))
        painter.drawEllipse(middle, 2.6, 2.6)
    elif entry is LegendEntry.EARLIER:
        painter.setPen(QPen(QColor(shades.quiet), 1.2))
        painter.drawLine(QPointF(box.left(), middle.y()), QPointF(box.right(), middle.y()))
        painter.setBrush(QColor(shades.quiet))
        painter.drawEllipse(middle, 2.2, 2.2)
    elif entry is LegendEntry.SUPPOSED:
        painter.fillRect(box.adjusted(0, 2, 0, -2), theme.with_alpha(shades.hand, 0.14))
        painter.setPen(QPen(QColor(shades.hand), 1.8, Qt.PenStyle.DashLine))
        painter.drawLine(QPointF(box.left(), middle.y()), QPointF(box.right(), middle.y()))
    else:
        painter.fillRect(box.adjusted(0, 2, 0, -2), theme.with_alpha(shades.forecast, 0.26))
        painter.setPen(QPen(QColor(shades.forecast), 1.6))
        painter.drawLine(QPointF(box.left(), middle.y()), QPointF(box.right(), middle.y()))
    painter.restore()
