"""The picture of one tank over a scenario: the true water in one pair of hands, or in two."""

from enum import StrEnum
from typing import NamedTuple

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.buttons import ChoiceRow
from washmon.gui.kit.plot_frame import axis_numbers
from washmon.gui.kit.text import Weight
from washmon.gui.kit.theme import Size
from washmon.gui.scenarios.timeline import clock_words
from washmon.line.setup import Tank
from washmon.sessions.debrief.facts import Facts
from washmon.sessions.practice.line import Truth
from washmon.sessions.practice.scenario import Scenario, minute_of

_LEFT, _RIGHT, _TOP, _FOOT = 40.0, 62.0, 24.0, 24.0
_LEAST_PX, _USUAL_PX = 150, 210
_LABEL_PX = 90.0
_HEADROOM = 1.08
_AROUND_PH = 0.2
Points = tuple[tuple[float, float], ...]
"""Minutes, and mg/L or a pH."""


class Plotted(StrEnum):
    """What is drawn of the water."""

    LEVEL = "level"
    PH = "ph"

    def of(self, truth: Truth) -> float:
        """Return the true value: mg/L, or a pH."""
        return truth.level_mg_l if self is Plotted.LEVEL else truth.ph


def plotted_row() -> ChoiceRow:
    """Return toggles that choose what is drawn."""
    return ChoiceRow(((Plotted.LEVEL, tr("Level")), (Plotted.PH, tr("pH"))), Plotted.LEVEL)


class WaterCourse(NamedTuple):
    """What one pair of hands made of a tank; the second is drawn dashed."""

    name: str
    true: Points
    measured: Points = ()


class CourseView(NamedTuple):
    """One tank: its limits, the courses, and the minutes at which something happens."""

    title: str
    begins_min: float
    minutes: float
    tank: Tank
    courses: tuple[WaterCourse, ...]
    events: tuple[float, ...] = ()
    plotted: Plotted = Plotted.LEVEL

    @property
    def band(self) -> tuple[float, float, float]:
        """Low, target and high."""
        level, ph = self.tank.limits, self.tank.ph
        if self.plotted is Plotted.PH:
            return ph.low, ph.target, ph.high
        return level.low_mg_l, level.target_mg_l, level.high_mg_l

    @property
    def span(self) -> tuple[float, float]:
        """The lowest and the highest value that is drawn."""
        values = [level for one in self.courses for _, level in (*one.true, *one.measured)]
        low, _, high = self.band
        if self.plotted is Plotted.LEVEL:
            return 0.0, _HEADROOM * max([*values, high])
        return min([*values, low]) - _AROUND_PH, max([*values, high]) + _AROUND_PH


def view_of(
    tank: Tank, scenario: Scenario, courses: tuple[WaterCourse, ...], plotted: Plotted
) -> CourseView:
    """Return the picture of a tank over the time of a scenario."""
    begins = scenario.pace.begins
    return CourseView(
        title=f"{tank.number}  {tank.name}",
        begins_min=begins.hour * 60 + begins.minute,
        minutes=scenario.pace.minutes,
        tank=tank,
        courses=courses,
        events=tuple(minute_of(scenario, one.at) for one in scenario.happens),
        plotted=plotted,
    )


def course_of(name: str, facts: Facts, tank: int, plotted: Plotted) -> WaterCourse:
    """Return the true course of a tank in an attempt."""
    true = tuple((one.minutes, plotted.of(one)) for one in facts.truth if one.tank == tank)
    return WaterCourse(name, true)


class CoursePlot(QWidget):
    """Draws a :class:`CourseView`."""

    def __init__(self, view: CourseView, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumHeight(theme.px(_LEAST_PX))
        self.show_view(view)

    def show_view(self, view: CourseView) -> None:
        """Show the course as it is by now."""
        self.view = view
        words = tr("True pH of {tank}")
        if view.plotted is Plotted.LEVEL:
            peracetic = view.tank.peracetic is not None
            words = (
                tr("True peracetic acid of {tank}")
                if peracetic
                else tr("True free chlorine of {tank}")
            )
        self.setAccessibleName(words.format(tank=view.title))
        self.update()

    def sizeHint(self) -> QSize:
        """Return room enough to tell the courses apart."""
        return QSize(560, theme.px(_USUAL_PX))

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw the picture."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        _Drawing(painter, QRectF(self.rect()), self.view).draw()


class _Drawing:
    """One picture on its way to the screen."""

    def __init__(self, painter: QPainter, box: QRectF, view: CourseView) -> None:
        self._p, self._v, self._s = painter, view, theme.current()
        self._plot = box.adjusted(_LEFT, _TOP, -_RIGHT, -_FOOT)
        self._tiny = theme.font(Size.TINY, tabular=True)
        self._metrics = QFontMetricsF(self._tiny)
        self._low, self._top = view.span

    def draw(self) -> None:
        """Draw limits, axes, events and courses, then their names."""
        p, plot = self._p, self._plot
        low, target, high = self._v.band
        p.fillRect(plot, QColor(self._s.card))
        band = QRectF(
            QPointF(plot.left(), self._y(high)),
            QPointF(plot.right(), self._y(low)),
        )
        p.fillRect(band, QColor(self._s.field))
        self._limit(target, tr("target"), self._s.target, dashed=True)
        if self._v.plotted is Plotted.LEVEL:
            critical = self._v.tank.limits.critical_low_mg_l
            self._limit(critical, tr("critical"), self._s.critical)
        self._axes()
        p.setPen(QPen(QColor(self._s.soft_ink), 1.0, Qt.PenStyle.DotLine))
        for minute in self._v.events:
            p.drawLine(
                QPointF(self._x(minute), plot.top()), QPointF(self._x(minute), plot.bottom())
            )
        for at, course in enumerate(self._v.courses):
            p.setPen(self._pen(at))
            p.setBrush(Qt.BrushStyle.NoBrush)
            p.drawPolyline(
                QPolygonF(
                    [QPointF(self._x(minute), self._y(level)) for minute, level in course.true]
                )
            )
            self._dots(course)
        self._names()

    def _dots(self, course: WaterCourse) -> None:
        """Draw what was read."""
        self._p.setPen(QPen(QColor(self._s.card), 1.0))
        self._p.setBrush(QColor(self._s.ink))
        for minute, level in course.measured:
            self._p.drawEllipse(QPointF(self._x(minute), self._y(level)), 4.0, 4.0)

    def _pen(self, at: int) -> QPen:
        if at == 0:
            return QPen(QColor(self._s.forecast), 2.0)
        return QPen(QColor(self._s.act), 1.8, Qt.PenStyle.DashLine)

    def _x(self, minutes: float) -> float:
        return self._plot.left() + self._plot.width() * minutes / max(self._v.minutes, 1.0)

    def _y(self, level: float) -> float:
        share = (level - self._low) / (self._top - self._low)
        return self._plot.bottom() - self._plot.height() * min(max(share, 0.0), 1.0)

    def _limit(self, level: float, words: str, colour: str, *, dashed: bool = False) -> None:
        style = Qt.PenStyle.DashLine if dashed else Qt.PenStyle.SolidLine
        self._p.setPen(QPen(QColor(colour), 1.0, style))
        here = self._y(level)
        self._p.drawLine(QPointF(self._plot.left(), here), QPointF(self._plot.right(), here))
        self._p.setFont(self._tiny)
        self._p.drawText(QPointF(self._plot.right() + 5, here + 4), words)

    def _axes(self) -> None:
        p, plot = self._p, self._plot
        p.setFont(self._tiny)
        p.setPen(QColor(self._s.soft_ink))
        for level, words in axis_numbers(self._low, self._top, plot.height()):
            wide = self._metrics.horizontalAdvance(words)
            p.drawText(QPointF(plot.left() - wide - 6, self._y(level) + 4), words)
        p.setPen(QPen(QColor(self._s.hairline), 1.0))
        p.drawLine(plot.bottomLeft(), plot.bottomRight())
        steps = (15, 30, 60, 120)
        step = next(
            (s for s in steps if s / max(self._v.minutes, 1.0) * plot.width() >= _LABEL_PX), 240
        )
        minute = -self._v.begins_min % step
        while minute <= self._v.minutes:
            here = self._x(minute)
            p.setPen(QPen(QColor(self._s.hairline), 1.0))
            p.drawLine(QPointF(here, plot.bottom()), QPointF(here, plot.bottom() + 4))
            p.setPen(QColor(self._s.soft_ink))
            words = clock_words(self._v.begins_min + minute)
            half = self._metrics.horizontalAdvance(words) / 2
            p.drawText(QPointF(here - half, plot.bottom() + 17), words)
            minute += step

    def _names(self) -> None:
        """Name the tank at the left of the head, and the courses at its right."""
        p, plot = self._p, self._plot
        p.setFont(theme.font(Size.SMALL, Weight.DemiBold))
        p.setPen(QColor(self._s.ink))
        p.drawText(QPointF(plot.left() - _LEFT + 6, plot.top() - 9), self._v.title)
        p.setFont(self._tiny)
        right = plot.right() + _RIGHT - 6
        for at, course in reversed(list(enumerate(self._v.courses))):
            right -= self._metrics.horizontalAdvance(course.name)
            p.setPen(QColor(self._s.ink))
            p.drawText(QPointF(right, plot.top() - 9), course.name)
            p.setPen(self._pen(at))
            p.drawLine(QPointF(right - 30, plot.top() - 13), QPointF(right - 6, plot.top() - 13))
            right -= 46
