"""What is drawn on a trend, each item made once and then given new data.

A plot that is cleared and filled again leaks.

Where in a trend a word finds room: upon neither the forecast, nor the readings, nor a mark.
"""

from collections.abc import Callable, Iterable
from functools import partial
from itertools import pairwise

import numpy as np
import pyqtgraph as pg
from numpy.typing import NDArray
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainterPath, QPainterPathStroker, QPen, QPolygonF

from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.text import Weight
from washmon.gui.kit.theme import Size, Theme
from washmon.gui.kit.trend_plot import Plot, cosmetic_pen
from washmon.gui.kit.trend_view import (
    Bracket,
    DrawnFan,
    DrawnPoint,
    Run,
    TrendLimits,
    TrendMark,
    TrendView,
)

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


_PARTS = (
    "limits",
    "earlier",
    "current",
    "doses",
    "acids",
    "changes",
    "y_end",
    "fan",
    "supposed",
    "expected",
    "draft",
)

_LEFT, _RIGHT = 0.03, 0.985
"""Where along a level its name stands."""


class Layers:
    """The items of a plot, from the ground up, each made once."""

    def __init__(self, plot: Plot) -> None:
        self.band = pg.LinearRegionItem(orientation="horizontal", movable=False)
        self.changes = pg.PlotCurveItem(connect="pairs")
        self.fan = pg.PlotCurveItem(antialias=True)
        self.fan_middle = pg.PlotCurveItem(antialias=True)
        self.supposed = pg.PlotCurveItem(antialias=True)
        self.supposed_middle = pg.PlotCurveItem(antialias=True)
        self.target = _named_line((1, 1))
        self.critical = _named_line((1, 0))
        self.ranges = pg.PlotCurveItem(connect="pairs")
        self.earlier = pg.PlotCurveItem(antialias=True)
        self.earlier_dots = pg.ScatterPlotItem(antialias=True)
        self.current = pg.PlotCurveItem(antialias=True)
        self.current_dots = pg.ScatterPlotItem(antialias=True)
        self.doses = pg.ScatterPlotItem(antialias=True, symbol="t1")
        self.acids = pg.ScatterPlotItem(antialias=True, symbol="s")
        self.bracket = pg.PlotCurveItem()
        self.bracket_words = pg.TextItem(anchor=(0, 1))
        self.draft = pg.ScatterPlotItem(antialias=True)
        self.cross = pg.InfiniteLine(angle=90)
        self.ring = pg.ScatterPlotItem(antialias=True)
        for depth, item in enumerate(vars(self).values()):
            item.setZValue(depth)
            plot.box.addItem(item, ignoreBounds=True)
        self._drawn: TrendView | None = None
        self._plot = plot
        self.point_at(None)

    def dress(self, shades: Theme, ratio: float) -> None:
        """Give every item the theme's colours; ``ratio`` is device pixels per pixel."""
        grown = theme.scale()
        for marks, side in (
            (self.earlier_dots, 5),
            (self.current_dots, 8),
            (self.doses, 11),
            (self.acids, 9),
            (self.draft, 13),
            (self.ring, 15),
        ):
            marks.setSize(side * grown)
        pen = partial(cosmetic_pen, ratio * grown)
        self._dress_expected(shades, pen)
        self._dress_entered(shades, pen)

    def _dress_expected(self, shades: Theme, pen: Callable[..., QPen]) -> None:
        """Give what is wanted, foreseen and supposed its colours."""
        self.band.setBrush(QColor(shades.field))
        for line in self.band.lines:
            line.setPen(pen(QColor(shades.band_edge), 1))
        self.changes.setPen(pen(QColor(shades.soft_ink), 1.4, Qt.PenStyle.DotLine))
        self.fan.setPen(pen(theme.with_alpha(shades.forecast, 0.5), 1))
        self.fan.setBrush(theme.with_alpha(shades.forecast, 0.24))
        self.fan_middle.setPen(pen(QColor(shades.forecast), 2))
        self.supposed.setPen(pen(QColor(shades.hand), 1.4, Qt.PenStyle.DashLine))
        self.supposed.setBrush(theme.with_alpha(shades.hand, 0.12))
        self.supposed_middle.setPen(pen(QColor(shades.hand), 2.4, Qt.PenStyle.DashLine))
        self.target.setPen(pen(QColor(shades.target), 1.2, Qt.PenStyle.DashLine))
        self.critical.setPen(pen(QColor(shades.critical), 1 + shades.line_px * 0.6))
        for line, colour in ((self.target, shades.target), (self.critical, shades.critical)):
            line.label.setColor(QColor(colour))
            line.label.setFont(theme.font(Size.TINY))

    def _dress_entered(self, shades: Theme, pen: Callable[..., QPen]) -> None:
        """Give what was read, added and is being typed its colours."""
        ink, quiet = QColor(shades.ink), QColor(shades.quiet)
        self.ranges.setPen(pen(theme.with_alpha(shades.ink, 0.26), 5))
        self.earlier.setPen(pen(quiet, 1.2))
        self.earlier_dots.setPen(pg.mkPen(None))
        self.earlier_dots.setBrush(quiet)
        self.current.setPen(pen(ink, 1.8))
        self.current_dots.setPen(pen(QColor(shades.card), 1))
        self.current_dots.setBrush(ink)
        for added in (self.doses, self.acids):
            added.setPen(pen(QColor(shades.card), 1))
            added.setBrush(QColor(shades.hand))
        self.bracket.setPen(pen(QColor(shades.hand), 5))
        self.bracket_words.setFont(theme.font(Size.TINY, Weight.DemiBold))
        self.bracket_words.setColor(QColor(shades.hand))
        self.draft.setPen(pen(ink, 2.4))
        self.draft.setBrush(QColor(shades.card))
        self.cross.setPen(pen(QColor(shades.border), 1))
        self.ring.setPen(pen(QColor(shades.hand), 2))
        self.ring.setBrush(pg.mkBrush(None))

    def draw(self, view: TrendView) -> None:
        """Give every item its data, where that is another than before."""
        before, self._drawn = self._drawn, view
        new = {
            part
            for part in _PARTS
            if before is None or getattr(view, part) != getattr(before, part)
        }
        if "limits" in new:
            self._draw_limits(view.limits)
        if "earlier" in new:
            self.earlier.setData(*_joined(view.earlier), connect="finite")
            self.earlier_dots.setData(*_spread(p for run in view.earlier for p in run))
        if "current" in new:
            self.current.setData(*_joined(view.current), connect="finite")
            self.current_dots.setData(*_spread(p for run in view.current for p in run))
        if new & {"earlier", "current"}:
            self.ranges.setData(*_bars(view.points()), connect="pairs")
        for part, marks in (("doses", self.doses), ("acids", self.acids)):
            if part in new:
                marks.setData(*_spread(getattr(view, part)))
        if new & {"changes", "y_end"}:
            places = np.repeat([mark.x for mark in view.changes], 2)
            self.changes.setData(places, np.tile([0.0, view.y_end * 2], len(view.changes)))
        self._draw_ahead(view, new)

    def _draw_ahead(self, view: TrendView, new: set[str]) -> None:
        """Draw what is expected, and what is typed but not saved."""
        if "fan" in new:
            _draw_fan(self.fan, self.fan_middle, view.fan)
        if "supposed" in new:
            _draw_fan(self.supposed, self.supposed_middle, view.supposed)
        if "draft" in new:
            self.draft.setData(*_spread(() if view.draft is None else (view.draft,)))
        if "expected" in new:
            self._draw_bracket(view.expected)

    def _draw_limits(self, limits: TrendLimits) -> None:
        self.band.setRegion((limits.low, limits.high))
        _set_level(self.target, limits.target, tr("target"))
        _set_level(self.critical, limits.critical, tr("critical"))

    def _draw_bracket(self, bracket: Bracket | None) -> None:
        self.bracket_words.setVisible(bracket is not None)
        if bracket is None:
            self.bracket.setData([], [])
            return
        self.bracket.setData([bracket.x, bracket.x], [bracket.low, bracket.high])
        self.bracket_words.setText(bracket.text)

    def place_words(self) -> None:
        """Put the names of the levels where they cover neither forecast nor readings."""
        view = self._drawn
        if view is None:
            return
        per_x, per_y = self._plot.box.viewPixelSize()
        if not per_x or not per_y:
            return  # there is no room for anything
        shown = self._plot.box.viewRect()
        room = TrendRoom(view, shown, per_x, per_y)
        for line, usual in ((self.target, False), (self.critical, True)):
            words = line.label.boundingRect()
            size = words.width(), words.height()
            at_left, below = room.free_side(line.value(), size, below=usual)
            line.label.anchors = [(0 if at_left else 1, 0 if below else 1)] * 2
            line.label.setPosition(_LEFT if at_left else _RIGHT)
        if view.expected is not None:
            bracket, words = view.expected, self.bracket_words.boundingRect()
            place = room.beside(bracket, (words.width(), words.height()))
            self.bracket_words.setVisible(place is not None)
            if place is not None:
                self.bracket_words.setPos(*place)

    def point_at(self, place: tuple[float, float] | None) -> None:
        """Put cross and ring on a point, or take them away."""
        self.cross.setVisible(place is not None)
        self.ring.setVisible(place is not None)
        if place is not None:
            self.cross.setPos(place[0])
            self.ring.setData([place[0]], [place[1]])


def _named_line(anchor: tuple[int, int]) -> pg.InfiniteLine:
    """Return a level whose name stands at its right end, above or below it."""
    options = {"position": _RIGHT, "anchors": [anchor, anchor]}
    return pg.InfiniteLine(angle=0, label=" ", labelOpts=options)


def _set_level(line: pg.InfiniteLine, level: float | None, name: str) -> None:
    line.setVisible(level is not None)
    if level is not None:
        line.setPos(level)
        line.label.setFormat(name)


def _joined(runs: Iterable[Run]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return x and y of all runs, with a gap after each."""
    gap = DrawnPoint(np.nan, np.nan)
    return _spread(point for run in runs for point in (*run, gap))


def _spread(
    points: Iterable[DrawnPoint | TrendMark],
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    pairs = np.array([(point.x, point.y) for point in points], dtype=np.float64).reshape(-1, 2)
    return pairs[:, 0], pairs[:, 1]


def _bars(points: Iterable[DrawnPoint]) -> tuple[list[float], list[float]]:
    """Return the ends of each range, one pair after the other."""
    x: list[float] = []
    y: list[float] = []
    for point in points:
        if point.low is not None and point.high is not None:
            x += (point.x, point.x)
            y += (point.low, point.high)
    return x, y


def _draw_fan(edge: pg.PlotCurveItem, middle: pg.PlotCurveItem, fan: tuple[DrawnFan, ...]) -> None:
    x = [step.x for step in fan]
    low, high = [step.low for step in fan], [step.high for step in fan]
    edge.setData(x + x[::-1] + x[:1], low + high[::-1] + low[:1], fillLevel="enclosed")
    middle.setData(x, [step.middle for step in fan])
