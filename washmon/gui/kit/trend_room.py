"""Where in a trend a word finds room: upon neither the forecast, nor the readings, nor a mark."""

from itertools import pairwise

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QPainterPath, QPainterPathStroker, QPolygonF

from washmon.gui.kit.trend_view import Bracket, TrendView

_CLEAR_PX = 3.0


class TrendRoom:
    """What is drawn of a view, in pixels from the lower left of what is shown of it.

    ``shown`` is what is shown of the axes; ``per_x`` and ``per_y`` how much of each a pixel is.
    """

    def __init__(self, view: TrendView, shown: QRectF, per_x: float, per_y: float) -> None:
        self._left, self._per_x, self._per_y = shown.left(), per_x, per_y
        self._width = shown.width() / per_x
        self._shown = QRectF(0, 0, self._width, shown.bottom() / per_y)
        limits = view.limits
        named = (limits.target, limits.critical)
        self._levels = [level / per_y for level in named if level is not None]
        self._fan = self._polygon(view)
        self._rest = self._drawn(view)

    def free_side(
        self, level: float, words_px: tuple[float, float], *, below: bool
    ) -> tuple[bool, bool]:
        """Return whether the name of a level stands at its left, and whether below it.

        Of the four corners the first that covers nothing is taken, or else the first that does
        not cover the forecast, or else the right one, ``below`` or not as wished.
        """
        corners = [(False, below), (False, not below), (True, below), (True, not below)]
        boxes = {corner: self._box(level, words_px, corner) for corner in corners}
        free = [corner for corner in corners if not self._fan.intersects(boxes[corner])]
        clear = [corner for corner in free if not self._rest.intersects(boxes[corner])]
        return next(iter((*clear, *free)), corners[0])

    def beside(self, bracket: Bracket, words_px: tuple[float, float]) -> tuple[float, float] | None:
        """Return where the lower left of a bracket's words stands, in the units of the axes.

        They stand beside its upper end, over the next level above that, or beside its lower end:
        the first place that covers nothing, or nothing where there is none such.
        """
        wide, high = words_px
        upper, lower = self._at(bracket.x, bracket.high), self._at(bracket.x, bracket.low)
        above = [level for level in self._levels if upper.y() < level + 1 < upper.y() + 2 * high]
        for y in (upper.y() + 1, *above, lower.y() - high - 1):
            for x in (upper.x() - wide - 6, upper.x() - wide / 2, upper.x() + 6):
                box = QRectF(x, y, wide, high)
                if self._shown.contains(box) and not self._covers(box):
                    return x * self._per_x + self._left, y * self._per_y
        return None

    def _covers(self, box: QRectF) -> bool:
        lines = any(box.top() < level < box.bottom() for level in self._levels)
        return lines or self._fan.intersects(box) or self._rest.intersects(box)

    def _box(
        self, level: float, words_px: tuple[float, float], corner: tuple[bool, bool]
    ) -> QRectF:
        at_left, below = corner
        wide, high = words_px
        left = 0.03 * self._width if at_left else 0.985 * self._width - wide
        y = level / self._per_y
        return QRectF(left, y - high if below else y, wide, high)

    def _at(self, x: float, y: float) -> QPointF:
        return QPointF((x - self._left) / self._per_x, y / self._per_y)

    def _polygon(self, view: TrendView) -> QPainterPath:
        path = QPainterPath()
        if view.fan:
            upper = [self._at(one.x, one.high) for one in view.fan]
            lower = [self._at(one.x, one.low) for one in reversed(view.fan)]
            path.addPolygon(QPolygonF(upper + lower))
            path.closeSubpath()
        return path

    def _drawn(self, view: TrendView) -> QPainterPath:
        """Return the readings with their lines, as broad as a word must keep clear of them."""
        path = QPainterPath()
        for run in (*view.earlier, *view.current):
            places = [self._at(one.x, one.y) for one in run]
            for place in places:
                path.addEllipse(place, _CLEAR_PX, _CLEAR_PX)
            for start, end in pairwise(places):
                line = QPainterPath(start)
                line.lineTo(end)
                stroke = QPainterPathStroker()
                stroke.setWidth(2.0)
                path.addPath(stroke.createStroke(line))
        if view.expected is not None:
            top = self._at(view.expected.x, view.expected.high)
            low = self._at(view.expected.x, view.expected.low)
            path.addRect(QRectF(low.x() - 4, low.y(), 8, top.y() - low.y()))
        return path
