"""The pictures of a debrief: the true water against what was measured, with what a person did.

Drawn by hand with Qt's painter, so that the same picture stands on the screen and on paper.
"""

import math

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.theme import Size, Theme
from washmon.gui.practice.chart_views import ChartView, Shade

_LEFT, _RIGHT, _TOP, _FOOT = 40.0, 74.0, 20.0, 34.0
_HEIGHT_PX, _SMALL_PX = 236, 150
_STEPS = (0.2, 0.5, 1, 2, 5, 10, 20, 25, 50, 100, 200, 500, 1000)
_PICKED = {Shade.TARGET: "target", Shade.CRITICAL: "critical", Shade.LIMIT: "soft_ink"}


def height_px(view: ChartView) -> int:
    """Return how high a picture is drawn."""
    return _SMALL_PX if view.scale.small else _HEIGHT_PX


class AttemptChart(QWidget):
    """Shows a :class:`ChartView`."""

    def __init__(self, view: ChartView, person: UserContext, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.view, self._person = view, person
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName(
            tr("True and measured {what} of {tank}", what=view.scale.what, tank=view.title)
        )

    def sizeHint(self) -> QSize:
        """Return room enough to tell a dose from a reading."""
        return QSize(600, height_px(self.view))

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw the picture."""
        draw_chart(QPainter(self), QRectF(self.rect()), self.view, self._person, theme.current())


def draw_chart(
    painter: QPainter, box: QRectF, view: ChartView, person: UserContext, shades: Theme
) -> None:
    """Draw a picture into a box of any painter; one unit is a pixel at 96 dots an inch."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    _Drawing(painter, box, view, person, shades).draw()
    painter.restore()


class _Drawing:
    """One picture on its way to the paper."""

    def __init__(
        self, painter: QPainter, box: QRectF, view: ChartView, person: UserContext, shades: Theme
    ) -> None:
        self._p, self._box, self._v, self._who, self._s = painter, box, view, person, shades
        self._plot = box.adjusted(_LEFT, _TOP, -_RIGHT, -_FOOT)
        self._tiny = theme.font(Size.TINY, tabular=True)

    def draw(self) -> None:
        p, shades, plot = self._p, self._s, self._plot
        scale = self._v.scale
        low, high = scale.band
        band = QRectF(QPointF(plot.left(), self._y(high)), QPointF(plot.right(), self._y(low)))
        p.fillRect(band, QColor(shades.field))
        for level, words, shade in scale.lines:
            colour = getattr(shades, _PICKED[shade])
            self._limit(level, words, colour, dashed=shade is Shade.TARGET)
        self._axes()
        self._batches()
        self._changes()
        self._course()
        self._known()
        self._readings()
        self._additions()
        p.setFont(theme.font(Size.SMALL))
        p.setPen(QColor(shades.ink))
        words = tr("{tank}, {what}", tank=self._v.title, what=self._what())
        p.drawText(QPointF(self._box.left() + 4, self._box.top() + 14), words)
        if not self._v.scale.small:
            self._legend()

    def _what(self) -> str:
        scale = self._v.scale
        unit = self._who.show(0.0, scale.kind).split()[1:]
        return f"{scale.what} ({unit[-1]})" if unit else scale.what

    def _x(self, minutes: float) -> float:
        return self._plot.left() + self._plot.width() * minutes / self._v.minutes

    def _y(self, level: float) -> float:
        scale = self._v.scale
        share = (level - scale.base) / (scale.top - scale.base)
        return self._plot.bottom() - self._plot.height() * min(max(share, 0.0), 1.0)

    def _limit(self, level: float, words: str, colour: str, *, dashed: bool = False) -> None:
        pen = QPen(QColor(colour), 1.0, Qt.PenStyle.DashLine if dashed else Qt.PenStyle.SolidLine)
        self._p.setPen(pen)
        here = self._y(level)
        self._p.drawLine(QPointF(self._plot.left(), here), QPointF(self._plot.right(), here))
        self._p.setFont(self._tiny)
        self._p.drawText(QPointF(self._plot.right() + 5, here + 4), words)

    def _axes(self) -> None:
        p, plot, shades = self._p, self._plot, self._s
        p.setFont(self._tiny)
        metrics = QFontMetricsF(self._tiny)
        scale, most = self._v.scale, 3 if self._v.scale.small else 6
        step = next((s for s in _STEPS if (scale.top - scale.base) / s <= most), _STEPS[-1])
        level = math.ceil(scale.base / step) * step
        while level <= scale.top:
            p.setPen(QColor(shades.soft_ink))
            words = f"{level:.4g}"
            wide = metrics.horizontalAdvance(words)
            p.drawText(QPointF(plot.left() - wide - 6, self._y(level) + 4), words)
            level += step
        p.setPen(QPen(QColor(shades.hairline), 1.0))
        p.drawLine(plot.bottomLeft(), plot.bottomRight())
        for minute, words in self._v.hours:
            here = self._x(minute)
            p.setPen(QPen(QColor(shades.hairline), 1.0))
            p.drawLine(QPointF(here, plot.bottom()), QPointF(here, plot.bottom() + 4))
            p.setPen(QColor(shades.soft_ink))
            wide = metrics.horizontalAdvance(words)
            p.drawText(QPointF(here - wide / 2, plot.bottom() + 16), words)

    def _batches(self) -> None:
        for minute, low in self._v.batches:
            shade = self._s.stop if low else self._s.quiet
            self._p.setPen(QPen(QColor(shade), 2.0 if low else 1.0))
            here, high = self._x(minute), 9.0 if low else 5.0
            foot = self._plot.bottom() - 1
            self._p.drawLine(QPointF(here, foot), QPointF(here, foot - high))

    def _changes(self) -> None:
        self._p.setPen(QPen(QColor(self._s.soft_ink), 1.0, Qt.PenStyle.DotLine))
        for minute in self._v.changes:
            here = self._x(minute)
            self._p.drawLine(QPointF(here, self._plot.top()), QPointF(here, self._plot.bottom()))

    def _course(self) -> None:
        self._p.setPen(QPen(QColor(self._s.forecast), 2.0))
        self._p.setBrush(Qt.BrushStyle.NoBrush)
        points = [QPointF(self._x(minute), self._y(level)) for minute, level in self._v.true]
        self._p.drawPolyline(QPolygonF(points))

    def _known(self) -> None:
        """Draw each reading as long as it told of the water."""
        self._p.setPen(QPen(QColor(self._s.ink), 1.5, Qt.PenStyle.DashLine))
        for since, until, value in self._v.known:
            here = self._y(value)
            self._p.drawLine(QPointF(self._x(since), here), QPointF(self._x(until), here))

    def _readings(self) -> None:
        self._p.setPen(QPen(QColor(self._s.card), 1.0))
        self._p.setBrush(QColor(self._s.ink))
        for minute, level in self._v.measured:
            self._p.drawEllipse(QPointF(self._x(minute), self._y(level)), 4.0, 4.0)

    def _additions(self) -> None:
        self._p.setPen(Qt.PenStyle.NoPen)
        for minute in self._v.doses:
            self._triangle(QPointF(self._x(minute), self._plot.top() + 5))
        for minute in self._v.acids:
            self._square(QPointF(self._x(minute), self._plot.top() + 17))
        for minute in self._v.holds:
            self._diamond(QPointF(self._x(minute), self._plot.top() + 29))

    def _triangle(self, at: QPointF) -> None:
        self._p.setBrush(QColor(self._s.hand))
        corners = (QPointF(0, -5), QPointF(5, 4), QPointF(-5, 4))
        self._p.drawPolygon(QPolygonF([at + corner for corner in corners]))

    def _square(self, at: QPointF) -> None:
        self._p.setBrush(QColor(self._s.act))
        self._p.drawRect(QRectF(at.x() - 4, at.y() - 4, 8, 8))

    def _diamond(self, at: QPointF) -> None:
        self._p.setBrush(QColor(self._s.stop))
        corners = (QPointF(0, -5), QPointF(5, 0), QPointF(0, 5), QPointF(-5, 0))
        self._p.drawPolygon(QPolygonF([at + corner for corner in corners]))

    def _legend(self) -> None:
        """Name line, dots and shapes in the foot."""
        at = QPointF(self._plot.left(), self._box.bottom() - 7)
        metrics = QFontMetricsF(self._tiny)
        for mark, words in (
            ("true", tr("true")),
            ("read", tr("measured, and how long it told")),
            ("dose", tr("dose")),
            ("acid", tr("acid")),
            ("hold", tr("hold")),
            ("water", tr("fresh water")),
            ("low", tr("batch under critical")),
        ):
            self._mark(mark, at + QPointF(6, -4))
            self._p.setFont(self._tiny)
            self._p.setPen(QColor(self._s.soft_ink))
            self._p.drawText(at + QPointF(16, 0), words)
            at += QPointF(16 + metrics.horizontalAdvance(words) + 16, 0)

    def _mark(self, mark: str, at: QPointF) -> None:
        p = self._p
        p.setPen(Qt.PenStyle.NoPen)
        match mark:
            case "dose":
                self._triangle(at)
            case "acid":
                self._square(at)
            case "hold":
                self._diamond(at)
            case "read":
                p.setBrush(QColor(self._s.ink))
                p.drawEllipse(at, 4.0, 4.0)
                p.setPen(QPen(QColor(self._s.ink), 1.5, Qt.PenStyle.DashLine))
                p.drawLine(at, at + QPointF(8, 0))
            case "true":
                p.setPen(QPen(QColor(self._s.forecast), 2.0))
                p.drawLine(at - QPointF(6, 0), at + QPointF(6, 0))
            case "water":
                p.setPen(QPen(QColor(self._s.soft_ink), 1.0, Qt.PenStyle.DotLine))
                p.drawLine(at - QPointF(0, 6), at + QPointF(0, 5))
            case "low":
                p.setPen(QPen(QColor(self._s.stop), 2.0))
                p.drawLine(at - QPointF(0, 5), at + QPointF(0, 4))
