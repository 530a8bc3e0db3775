"""A strip under a plot: how one more quantity would go, with its range and its limits."""

from collections.abc import Callable

from msgspec import Struct
from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from washmon.gui.kit import theme
from washmon.gui.kit.spoken import SpokenRole, speak_as
from washmon.gui.kit.theme import Size
from washmon.gui.kit.trend_view import DrawnFan

_HIGH_PX = 74
_LEFT_PX, _RIGHT_PX, _EDGE_PX = 40.0, 64.0, 6.0
_SPARE = 0.15
"""Of what is drawn, free above and below."""


class SmallFanView(Struct, frozen=True):
    """What is drawn; nothing where the fan is empty. ``words`` stand at its right end."""

    name: str = ""
    fan: tuple[DrawnFan, ...] = ()
    limits: tuple[float, float] = (0.0, 1.0)
    limit_words: tuple[str, str] = ("", "")
    words: str = ""

    @property
    def span(self) -> tuple[float, float]:
        """The lowest and the highest value that has room."""
        low = min(self.limits[0], *(one.low for one in self.fan))
        high = max(self.limits[1], *(one.high for one in self.fan))
        spare = _SPARE * max(high - low, 1e-9)
        return low - spare, high + spare


class SmallFan(QWidget):
    """Draws a :class:`SmallFanView`; hidden where there is nothing to draw."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.view = SmallFanView()
        speak_as(self, SpokenRole.Chart)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.hide()

    def show_view(self, view: SmallFanView) -> None:
        """Show another fan, or none."""
        self.view = view
        self.setVisible(bool(view.fan))
        self.setAccessibleName(view.name)
        self.setAccessibleDescription(view.words)
        self.update()

    def sizeHint(self) -> QSize:
        """Return a strip that grows with the type."""
        return QSize(200, theme.px(_HIGH_PX))

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw limits, range and middle, and what stands beside them."""
        del event
        if not self.view.fan:
            return
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        _draw(painter, QRectF(self.rect()), self.view)


def _draw(painter: QPainter, whole: QRectF, view: SmallFanView) -> None:
    shades, tiny = theme.current(), theme.font(Size.TINY, tabular=True)
    box = whole.adjusted(_LEFT_PX, _EDGE_PX, -_RIGHT_PX, -_EDGE_PX)
    low, high = view.span
    first, last = view.fan[0].x, view.fan[-1].x

    def at(x: float, value: float) -> QPointF:
        share = 0.5 if last == first else (x - first) / (last - first)
        up = (value - low) / (high - low)
        return QPointF(box.left() + share * box.width(), box.bottom() - up * box.height())

    top, bottom = at(first, view.limits[1]).y(), at(first, view.limits[0]).y()
    painter.fillRect(QRectF(box.left(), top, box.width(), bottom - top), QColor(shades.field))
    painter.setFont(tiny)
    painter.setPen(QColor(shades.soft_ink))
    rise = QFontMetricsF(tiny).ascent() / 2 - 1
    for y, words in zip((bottom, top), view.limit_words, strict=True):
        wide = QFontMetricsF(tiny).horizontalAdvance(words)
        painter.drawText(QPointF(box.left() - wide - 6, y + rise), words)
    _fan(painter, view, at)
    end = at(last, view.fan[-1].middle)
    painter.setPen(QColor(shades.ink))
    painter.drawText(QPointF(box.right() + 6, end.y() - 2), view.name)
    painter.drawText(QPointF(box.right() + 6, end.y() + 2 * rise + 2), view.words)


def _fan(painter: QPainter, view: SmallFanView, at: Callable[[float, float], QPointF]) -> None:
    shades, fan = theme.current(), view.fan
    if len(fan) == 1:
        painter.setPen(QPen(QColor(shades.hand), 2.4))
        painter.drawLine(at(fan[0].x, fan[0].low), at(fan[0].x, fan[0].high))
        painter.setBrush(QColor(shades.hand))
        painter.drawEllipse(at(fan[0].x, fan[0].middle), 3.5, 3.5)
        return
    around = [at(one.x, one.high) for one in fan] + [at(one.x, one.low) for one in reversed(fan)]
    painter.setPen(QPen(QColor(shades.hand), 1.4, Qt.PenStyle.DashLine))
    painter.setBrush(theme.with_alpha(shades.hand, 0.12))
    painter.drawPolygon(QPolygonF(around))
    painter.setPen(QPen(QColor(shades.hand), 2.4, Qt.PenStyle.DashLine))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawPolyline(QPolygonF([at(one.x, one.middle) for one in fan]))
