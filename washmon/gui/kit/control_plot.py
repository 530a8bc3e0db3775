"""One plot of a control chart: points in order of time, held against levels."""

from itertools import groupby

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPen, QPolygonF

from washmon.gui.kit.control_view import ControlPanel, ControlPoint
from washmon.gui.kit.plot_frame import PlotFrame, x_of, y_of


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
