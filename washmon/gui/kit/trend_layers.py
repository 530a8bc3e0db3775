"""What is drawn on a trend, each item made once and then given new data.

A plot that is cleared and filled again leaks.
"""

from collections.abc import Callable, Iterable
from functools import partial

import numpy as np
import pyqtgraph as pg
from numpy.typing import NDArray
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QPen

from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.text import Weight
from washmon.gui.kit.theme import Size, Theme
from washmon.gui.kit.trend_plot import Plot, cosmetic_pen
from washmon.gui.kit.trend_room import TrendRoom
from washmon.gui.kit.trend_view import (
    Bracket,
    DrawnFan,
    DrawnPoint,
    Run,
    TrendLimits,
    TrendMark,
    TrendView,
)

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
            plot.addItem(item, ignoreBounds=True)
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
