"""One plot of a control chart: points in order of time, held against levels.

One plot of stacked bars, with a key beside it in the order in which they are stacked.
"""

from itertools import groupby

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen, QPolygonF

from washmon.gui.kit.control_view import Bar, BarPanel, ControlPanel, ControlPoint
from washmon.gui.kit.plot_frame import PlotFrame, x_of, y_of
from washmon.gui.kit.theme import Theme


def place_of(panel: ControlPanel, box: QRectF, at: int) -> QPointF | None:
    """Return where the value with this number stands; None where nothing was measured."""
    y = panel.points[at].y
    return None if y is None else QPointF(x_of(panel, box, at), y_of(panel, box, y))


class ControlPlot(PlotFrame[ControlPanel]):
    """A point that breaks a rule is a diamond with the rule's key over it."""

    def draw(self) -> None:
        """Draw the frame, then levels, then points."""
        self.draw_frame()
        self._levels()
        self._points()

    def _levels(self) -> None:
        box = self.box
        taken: list[float] = []
        for level in sorted(self.panel.levels, key=lambda one: -one.y):
            y = self.y(level.y)
            style = Qt.PenStyle.DashLine if level.dashed else Qt.PenStyle.SolidLine
            colour = self.shades.target if level.dashed else self.shades.border
            self.painter.setPen(QPen(QColor(colour), 1.4, style))
            self.painter.drawLine(QPointF(box.left(), y), QPointF(box.right(), y))
            self.painter.setPen(QColor(self.shades.ink))
            beside = max([y + 4, *(one + 14 for one in taken)])
            self.painter.drawText(QPointF(box.right() + 8, beside), level.words)
            taken.append(beside)

    def _points(self) -> None:
        places = [place_of(self.panel, self.box, at) for at in range(len(self.panel.points))]
        self.painter.setPen(QPen(QColor(self.shades.quiet), 1.2))
        for there, run in groupby(places, lambda place: place is not None):
            if there:
                self.painter.drawPolyline(QPolygonF([place for place in run if place is not None]))
        for place, point in zip(places, self.panel.points, strict=True):
            if place is not None:
                self._point(place, point)

    def _point(self, place: QPointF, point: ControlPoint) -> None:
        painter, shades = self.painter, self.shades
        filled = QColor(shades.card if point.hollow else shades.ink)
        if not point.rules:
            painter.setPen(QPen(QColor(shades.ink), 1.4))
            painter.setBrush(filled)
            painter.drawEllipse(place, 3.2, 3.2)
            return
        size = 7.0
        corners = [(0.0, -size), (size, 0.0), (0.0, size), (-size, 0.0)]
        painter.setPen(QPen(QColor(shades.card), 1))
        painter.setBrush(QColor(shades.act))
        painter.drawPolygon(QPolygonF([place + QPointF(x, y) for x, y in corners]))
        painter.setPen(QColor(shades.act_ink))
        key = ", ".join(point.rules)
        width = self.metrics.horizontalAdvance(key)
        above = place.y() - 11 > self.box.top()
        painter.drawText(QPointF(place.x() - width / 2, place.y() + (-11 if above else 20)), key)


_WIDEST_PX = 56.0
_SHARE = 0.7
"""Of the room of a bar that it takes up."""
_KEY_PX = 18.0
_SWATCH_PX = 11.0
_NAME_PX = 118.0
"""Room for a name beside the plot."""


def bar_at(panel: BarPanel, box: QRectF, place: QPointF) -> Bar | None:
    """Return the bar in whose room a place lies."""
    if not panel.bars or not box.contains(place):
        return None
    at = int((place.x() - box.left()) / box.width() * len(panel.bars))
    return panel.bars[min(at, len(panel.bars) - 1)]


def bar_fills(shades: Theme) -> tuple[str, ...]:
    """Return the colours of the parts of a stack, from the bottom up; none says a state."""
    return (
        shades.hand,
        shades.band,
        shades.forecast,
        shades.hand_soft,
        shades.quiet,
        shades.card,
    )


class BarPlot(PlotFrame[BarPanel]):
    """Neighbours in a stack differ in lightness and have an edge: told apart in grey, too."""

    def __init__(self, painter: QPainter, panel: BarPanel, box: QRectF) -> None:
        super().__init__(painter, panel, box)
        self._fills = bar_fills(self.shades)

    def draw(self) -> None:
        """Draw the frame, the bars and their key."""
        self.draw_frame()
        for at, bar in enumerate(self.panel.bars):
            self._bar(at, bar)
        self._key()

    def _fill(self, part: int) -> QColor:
        return QColor(self._fills[part % len(self._fills)])

    def _bar(self, at: int, bar: Bar) -> None:
        painter, box = self.painter, self.box
        room = box.width() / len(self.panel.bars)
        width = min(room * _SHARE, _WIDEST_PX)
        left = x_of(self.panel, box, at) - width / 2
        painter.setPen(QPen(QColor(self.shades.ink), 0.8))
        below = 0.0
        for number, part in enumerate(bar.parts):
            top, bottom = self.y(below + part), self.y(below)
            if part > 0:
                painter.setBrush(self._fill(number))
                painter.drawRect(QRectF(left, top, width, bottom - top))
            below += part
        painter.setBrush(Qt.BrushStyle.NoBrush)
        if bar.mark:
            wide = self.metrics.horizontalAdvance(bar.mark)
            painter.setPen(QColor(self.shades.ink))
            painter.drawText(QPointF(left + (width - wide) / 2, self.y(below) - 5), bar.mark)

    def _key(self) -> None:
        """Name the parts beside the plot, the uppermost first, as they are stacked."""
        names = self.panel.names
        if not names:
            return
        left = self.box.right() + 10
        step = min(_KEY_PX, (self.box.height() + _KEY_PX) / len(names))
        for row, number in enumerate(reversed(range(len(names)))):
            top = self.box.top() + row * step
            self.painter.setPen(QPen(QColor(self.shades.ink), 0.8))
            self.painter.setBrush(self._fill(number))
            self.painter.drawRect(QRectF(left, top, _SWATCH_PX, _SWATCH_PX))
            self.painter.setPen(QColor(self.shades.ink))
            words = self.metrics.elidedText(names[number], Qt.TextElideMode.ElideRight, _NAME_PX)
            self.painter.drawText(QPointF(left + _SWATCH_PX + 6, top + _SWATCH_PX - 1), words)
        self.painter.setBrush(Qt.BrushStyle.NoBrush)
