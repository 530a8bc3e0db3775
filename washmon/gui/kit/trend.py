"""The trend of a tank: free chlorine against batches washed, with limits, doses and water changes.

The only module that knows pyqtgraph. Items are made once and then given new data: a plot that is
cleared and filled again leaks.
"""

from collections.abc import Iterable
from functools import partial
from math import hypot

import numpy as np
import pyqtgraph as pg
from numpy.typing import NDArray
from PySide6.QtCore import QEvent, QLocale, QPointF, Qt, Signal, Slot
from PySide6.QtGui import QColor, QMouseEvent, QPen, QResizeEvent
from PySide6.QtWidgets import (
    QGestureEvent,
    QLabel,
    QPinchGesture,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.text import ShortText, Tone
from washmon.gui.kit.theme import Size, Theme
from washmon.gui.kit.trend_legend import Legend, entries_of
from washmon.gui.kit.trend_view import Run, TrendLimits, TrendMark, TrendPoint, TrendView

_NEAR_PX = 28.0
_STRIP_PX = 130
_STEPS = (1, 2, 5)
_PARTS = ("limits", "earlier", "current", "doses", "acids", "changes", "y_end", "fan")


class Axis(pg.AxisItem):
    """Whole steps of 1, 2 or 5 times ten, far enough apart to read, in the locale's digits."""

    def __init__(self, orientation: str, apart_px: float) -> None:
        super().__init__(orientation, maxTickLength=-4)
        self._apart_px = apart_px

    def tickSpacing(self, low: float, high: float, size: float) -> list[tuple[float, float]]:
        """Return one level of ticks: no small ones between."""
        least = (high - low) * self._apart_px / max(size, 1.0)
        steps = (step * 10**power for power in range(7) for step in _STEPS)
        return [(float(next((s for s in steps if s >= least), 10**7)), 0.0)]

    def tickStrings(self, values: list[float], scale: float, spacing: float) -> list[str]:
        """Return whole numbers; nothing left of zero."""
        del scale, spacing
        return [QLocale().toString(round(value)) if value >= 0 else "" for value in values]


class Plot(pg.PlotWidget):
    """The bare plot: wheel and pinch zoom, drag pans, double-click shows all; no menu."""

    pointed = Signal(QPointF)
    left = Signal()
    reset = Signal()
    held = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        axes = {"bottom": Axis("bottom", 44), "left": Axis("left", 30)}
        super().__init__(parent, axisItems=axes, enableMenu=False)
        self.hideButtons()
        self.setFrameShape(pg.PlotWidget.Shape.NoFrame)
        for name in axes:
            axis = self.getAxis(name)
            axis.setStyle(tickFont=theme.font(Size.TINY, tabular=True), tickTextOffset=5)
        self.getAxis("left").setWidth(30)
        self.getAxis("bottom").setHeight(22)
        self.viewport().grabGesture(Qt.GestureType.PinchGesture)
        self.box = self.getViewBox()
        self.box.sigRangeChangedManually.connect(self._hold)

    @Slot(object)
    def _hold(self, _axes: object) -> None:
        self.held.emit()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Tell where the pointer is; pyqtgraph's own signal drops moves that come quickly."""
        super().mouseMoveEvent(event)
        if event.buttons() == Qt.MouseButton.NoButton:
            self.pointed.emit(self.mapToScene(event.position().toPoint()))

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Take a tap as pointing too."""
        super().mouseReleaseEvent(event)
        self.pointed.emit(self.mapToScene(event.position().toPoint()))

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Ask for the whole again."""
        self.reset.emit()
        event.accept()

    def leaveEvent(self, event: QEvent) -> None:
        """Tell that nothing is pointed at any more."""
        self.left.emit()
        super().leaveEvent(event)

    def viewportEvent(self, event: QEvent) -> bool:
        """Zoom by pinch about the middle of the two fingers."""
        if isinstance(event, QGestureEvent):
            pinch = event.gesture(Qt.GestureType.PinchGesture)
            if isinstance(pinch, QPinchGesture):
                self.pinch(pinch.scaleFactor(), pinch.centerPoint())
                event.accept(pinch)
                return True
        return bool(super().viewportEvent(event))

    def pinch(self, factor: float, at: QPointF) -> None:
        """Magnify by ``factor`` about a point of the screen."""
        here = self.mapToScene(self.viewport().mapFromGlobal(at.toPoint()))
        self.box.scaleBy((1 / factor, 1 / factor), self.box.mapSceneToView(here))
        self.held.emit()


class Layers:
    """The items of a plot, from the ground up, each made once."""

    def __init__(self, plot: Plot) -> None:
        self.band = pg.LinearRegionItem(orientation="horizontal", movable=False)
        self.changes = pg.PlotCurveItem(connect="pairs")
        self.fan = pg.PlotCurveItem(antialias=True)
        self.fan_middle = pg.PlotCurveItem(antialias=True)
        self.target = _named_line((1, 1))
        self.critical = _named_line((1, 0))
        self.ranges = pg.PlotCurveItem(connect="pairs")
        self.earlier = pg.PlotCurveItem(antialias=True)
        self.earlier_dots = pg.ScatterPlotItem(antialias=True, size=5)
        self.current = pg.PlotCurveItem(antialias=True)
        self.current_dots = pg.ScatterPlotItem(antialias=True, size=8)
        self.doses = pg.ScatterPlotItem(antialias=True, size=11, symbol="t1")
        self.acids = pg.ScatterPlotItem(antialias=True, size=9, symbol="s")
        self.cross = pg.InfiniteLine(angle=90)
        self.ring = pg.ScatterPlotItem(antialias=True, size=15)
        for depth, item in enumerate(vars(self).values()):
            item.setZValue(depth)
            plot.addItem(item, ignoreBounds=True)
        self._drawn: TrendView | None = None
        self.point_at(None)

    def dress(self, shades: Theme, ratio: float) -> None:
        """Give every item the theme's colours; ``ratio`` is device pixels per pixel."""
        pen = partial(_pen, ratio)
        ink, quiet = QColor(shades.ink), QColor(shades.quiet)
        clear = pg.mkPen(None)
        self.band.setBrush(QColor(shades.field))
        for line in self.band.lines:
            line.setPen(pen(QColor(shades.band_edge), 1))
        self.changes.setPen(pen(QColor(shades.soft_ink), 1.4, Qt.PenStyle.DotLine))
        self.fan.setPen(pen(theme.with_alpha(shades.forecast, 0.5), 1))
        self.fan.setBrush(theme.with_alpha(shades.forecast, 0.24))
        self.fan_middle.setPen(pen(QColor(shades.forecast), 2))
        self.target.setPen(pen(QColor(shades.target), 1.2, Qt.PenStyle.DashLine))
        self.critical.setPen(pen(QColor(shades.critical), 1 + shades.line_px * 0.6))
        for line, colour in ((self.target, shades.target), (self.critical, shades.critical)):
            line.label.setColor(QColor(colour))
        self.ranges.setPen(pen(theme.with_alpha(shades.ink, 0.26), 5))
        self.earlier.setPen(pen(quiet, 1.2))
        self.earlier_dots.setPen(clear)
        self.earlier_dots.setBrush(quiet)
        self.current.setPen(pen(ink, 1.8))
        self.current_dots.setPen(pen(QColor(shades.card), 1))
        self.current_dots.setBrush(ink)
        for marks in (self.doses, self.acids):
            marks.setPen(pen(QColor(shades.card), 1))
            marks.setBrush(QColor(shades.hand))
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
        if "fan" in new:
            self._draw_fan(view)

    def _draw_limits(self, limits: TrendLimits) -> None:
        self.band.setRegion((limits.low, limits.high))
        _set_level(self.target, limits.target, tr("target"))
        _set_level(self.critical, limits.critical, tr("critical"))

    def _draw_fan(self, view: TrendView) -> None:
        x = [step.x for step in view.fan]
        low, high = [step.low for step in view.fan], [step.high for step in view.fan]
        self.fan.setData(x + x[::-1] + x[:1], low + high[::-1] + low[:1], fillLevel="enclosed")
        self.fan_middle.setData(x, [step.middle for step in view.fan])

    def point_at(self, place: tuple[float, float] | None) -> None:
        """Put cross and ring on a point, or take them away."""
        self.cross.setVisible(place is not None)
        self.ring.setVisible(place is not None)
        if place is not None:
            self.cross.setPos(place[0])
            self.ring.setData([place[0]], [place[1]])


class Trend(QWidget):
    """Draws a ``TrendView``. A view the person has zoomed stays put until double-clicked."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._view: TrendView | None = None
        self._held = False
        self._dressed = ("", 0.0)
        self._targets: tuple[TrendPoint | TrendMark, ...] = ()
        self.title = ShortText("", Size.TINY, tone=Tone.SOFT, parent=self)
        self.plot = Plot(self)
        self.legend = Legend(self)
        self.layers = Layers(self.plot)
        self.hint = QLabel(self)
        self.hint.setObjectName("hint")
        self.hint.setFont(theme.font(Size.SMALL, tabular=True))
        self.hint.setMargin(6)
        self.hint.setTextFormat(Qt.TextFormat.PlainText)
        self.hint.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.hint.hide()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2)
        for widget in (self.title, self.plot, self.legend):
            column.addWidget(widget)
        column.setStretch(1, 1)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumSize(140, 90)
        self.plot.pointed.connect(self._point)
        self.plot.left.connect(self._unpoint)
        self.plot.reset.connect(self.show_all)
        self.plot.held.connect(self._hold)
        self._dress()

    @property
    def view(self) -> TrendView | None:
        """What is shown."""
        return self._view

    def show_view(self, view: TrendView) -> None:
        """Show a trend; does nothing when it is the same."""
        if view == self._view:
            return
        before, self._view = self._view, view
        self._targets = (*view.points(), *view.doses, *view.acids, *view.changes)
        self.title.setText(view.y_label)
        self.setAccessibleName(view.y_label)
        self.layers.draw(view)
        self.legend.name(entries_of(view))
        self.legend.setVisible(self.height() >= _STRIP_PX and bool(self.legend.entries))
        self._unpoint()
        if before is not None and (before.x_end, before.y_end) == (view.x_end, view.y_end):
            return
        at_end = before is not None and self._shows(before.x_end)
        self._fence(view)
        if not self._held:
            self.show_all()
        elif at_end and before is not None:  # a zoomed view follows what is new
            self.plot.box.translateBy(x=view.x_end - before.x_end)

    def _shows(self, x: float) -> bool:
        """Tell whether ``x`` is not beyond the right edge."""
        return bool(self.plot.box.viewRange()[0][1] >= x * 0.995)

    def _fence(self, view: TrendView) -> None:
        """Keep the plot where nobody can drag it out of sight."""
        self.plot.box.setLimits(
            xMin=-view.x_end * 0.03,
            xMax=view.x_end,
            yMin=0,
            yMax=view.y_end,
            minXRange=min(4.0, view.x_end),
            minYRange=view.y_end / 20,
        )

    @Slot()
    def show_all(self) -> None:
        """Show the whole shift again."""
        self._held = False
        if self._view is not None:
            x_end, y_end = self._view.x_end, self._view.y_end
            self.plot.box.setRange(xRange=(-x_end * 0.03, x_end), yRange=(0, y_end), padding=0)

    @Slot()
    def _hold(self) -> None:
        """Stay as the hand left it, unless it zoomed out to the whole."""
        (x_low, x_high), (y_low, y_high) = self.plot.box.viewRange()
        view = self._view
        self._held = view is not None and (
            x_high - x_low < view.x_end * 0.99 or y_high - y_low < view.y_end * 0.99
        )
        self._unpoint()

    @Slot(QPointF)
    def _point(self, scene_place: QPointF) -> None:
        found = self._nearest(scene_place)
        if found is None:
            self._unpoint()
            return
        self.layers.point_at((found.x, found.y))
        self.hint.setText(found.text)
        self.hint.adjustSize()
        at = self.plot.mapFromScene(self.plot.box.mapViewToScene(QPointF(found.x, found.y)))
        place = self.plot.mapTo(self, at)
        beside = place.x() + 14
        if beside + self.hint.width() > self.width():
            beside = place.x() - 14 - self.hint.width()
        above = place.y() - self.hint.height() - 10
        self.hint.move(max(beside, 0), above if above >= 0 else place.y() + 14)
        self.hint.setVisible(bool(found.text))

    @Slot()
    def _unpoint(self) -> None:
        self.layers.point_at(None)
        self.hint.hide()

    def _nearest(self, scene_place: QPointF) -> TrendPoint | TrendMark | None:
        """Return the point under the pointer; across counts more than up and down."""
        box = self.plot.box
        if not box.sceneBoundingRect().contains(scene_place):
            return None
        here = box.mapSceneToView(scene_place)
        per_x, per_y = box.viewPixelSize()

        def far(point: TrendPoint | TrendMark) -> float:
            return hypot((point.x - here.x()) / per_x, (point.y - here.y()) / per_y / 3)

        nearest = min(self._targets, key=far, default=None)
        return nearest if nearest is not None and far(nearest) <= _NEAR_PX else None

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Leave out title and legend where the trend is folded to a strip."""
        roomy = event.size().height() >= _STRIP_PX
        self.title.setVisible(roomy)
        self.legend.setVisible(roomy and bool(self.legend.entries))
        super().resizeEvent(event)

    def event(self, event: QEvent) -> bool:
        """Follow a change of theme, and a move to a finer or coarser screen."""
        if event.type() in (QEvent.Type.StyleChange, QEvent.Type.DevicePixelRatioChange):
            self._dress()
        return super().event(event)

    def _dress(self) -> None:
        shades, ratio = theme.current(), self.devicePixelRatioF()
        if (shades.name, ratio) == self._dressed:
            return
        self._dressed = (shades.name, ratio)
        self.plot.setBackground(QColor(shades.card))
        for name in ("left", "bottom"):
            axis = self.plot.getAxis(name)
            axis.setPen(_pen(ratio, QColor(shades.border), 1))
            axis.setTextPen(QColor(shades.soft_ink))
        self.layers.dress(shades, ratio)


def _pen(
    ratio: float, colour: QColor, width_px: float, style: Qt.PenStyle = Qt.PenStyle.SolidLine
) -> QPen:
    """Return a pen that does not grow with the zoom: its width is in device pixels."""
    pen = QPen(colour, width_px * ratio, style, Qt.PenCapStyle.FlatCap)
    pen.setCosmetic(True)
    return pen


def _named_line(anchor: tuple[int, int]) -> pg.InfiniteLine:
    """Return a level whose name stands at its right end, above or below it."""
    options = {"position": 0.985, "anchors": [anchor, anchor]}
    line = pg.InfiniteLine(angle=0, label=" ", labelOpts=options)
    line.label.setFont(theme.font(Size.TINY))
    return line


def _set_level(line: pg.InfiniteLine, level: float | None, name: str) -> None:
    line.setVisible(level is not None)
    if level is not None:
        line.setPos(level)
        line.label.setFormat(name)


def _joined(runs: Iterable[Run]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return x and y of all runs, with a gap after each."""
    gap = TrendPoint(np.nan, np.nan)
    return _spread(point for run in runs for point in (*run, gap))


def _spread(
    points: Iterable[TrendPoint | TrendMark],
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    pairs = np.array([(point.x, point.y) for point in points], dtype=np.float64).reshape(-1, 2)
    return pairs[:, 0], pairs[:, 1]


def _bars(points: Iterable[TrendPoint]) -> tuple[list[float], list[float]]:
    """Return the ends of each range, one pair after the other."""
    x: list[float] = []
    y: list[float] = []
    for point in points:
        if point.low is not None and point.high is not None:
            x += (point.x, point.x)
            y += (point.low, point.high)
    return x, y
