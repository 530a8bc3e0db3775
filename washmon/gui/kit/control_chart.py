"""A chart of values in order of time with their limits, drawn so that it can be saved sharply."""

from math import hypot

from PySide6.QtCore import QBuffer, QByteArray, QEvent, QIODevice, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import (
    QColor,
    QFontMetricsF,
    QImage,
    QImageWriter,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPolygonF,
)
from PySide6.QtSvg import QSvgGenerator
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from washmon.gui.kit import theme
from washmon.gui.kit.control_view import ControlPanel, ControlPoint, ControlView
from washmon.gui.kit.text import Weight
from washmon.gui.kit.theme import Size

_LEFT_PX, _RIGHT_PX, _TOP_PX, _BOTTOM_PX = 58.0, 150.0, 26.0, 24.0
_CAPTION_PX = 20.0
_NEAR_PX = 24.0
_DAY_PX = 84.0
"""Room for a day under the points."""
_FIRST_SHARE = 0.64
"""Of the height, for the upper of two plots."""
_SHARP = 2
_TICK_PX = 30
"""Least height from one number of the axis to the next."""


class ControlChart(QWidget):
    """Draws a ``ControlView``; pointing at a value tells about it.

    A point that breaks a rule is a diamond with the rule's key over it, never a colour alone.
    """

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.view = ControlView()
        self.setMouseTracking(True)
        self.setMinimumHeight(220)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)

    def sizeHint(self) -> QSize:
        """Ask for room to see a run of points."""
        return QSize(800, 380)

    def show_view(self, view: ControlView) -> None:
        """Show another chart."""
        self.view = view
        self.setAccessibleName(view.caption or view.nothing)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw it all."""
        del event
        painter = QPainter(self)
        self.draw(painter, QRectF(self.rect()))
        painter.end()

    def png(self) -> bytes:
        """Return the chart as it stands there, twice as sharp."""
        image = QImage(self.size() * _SHARP, QImage.Format.Format_RGB32)
        image.setDevicePixelRatio(_SHARP)
        painter = QPainter(image)
        self.draw(painter, QRectF(self.rect()))
        painter.end()
        buffer = QBuffer()
        buffer.open(QIODevice.OpenModeFlag.WriteOnly)
        QImageWriter(buffer, QByteArray(b"png")).write(image)
        return bytes(buffer.data().data())

    def svg(self) -> bytes:
        """Return the chart in vectors."""
        buffer = QBuffer()
        buffer.open(QIODevice.OpenModeFlag.WriteOnly)
        generator = QSvgGenerator()
        generator.setOutputDevice(buffer)
        generator.setSize(self.size())
        generator.setViewBox(self.rect())
        generator.setTitle(self.view.caption)
        painter = QPainter(generator)
        self.draw(painter, QRectF(self.rect()))
        painter.end()
        return bytes(buffer.data().data())

    def draw(self, painter: QPainter, room: QRectF) -> None:
        """Draw the chart into a rectangle of any painter."""
        shades = theme.current()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(room, QColor(shades.card))
        if not self.view.panels:
            painter.setFont(theme.font(Size.BODY))
            painter.setPen(QColor(shades.soft_ink))
            middle = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
            painter.drawText(room.adjusted(40, 0, -40, 0), int(middle), self.view.nothing)
            return
        for panel, box in zip(self.view.panels, self._boxes(room), strict=True):
            _Plot(painter, panel, box).draw()
        painter.setFont(theme.font(Size.SMALL))
        painter.setPen(QColor(shades.soft_ink))
        below = QRectF(room.left() + 12, room.bottom() - _CAPTION_PX, room.width() - 24, 18)
        painter.drawText(below, int(Qt.AlignmentFlag.AlignLeft), self.view.caption)

    def _boxes(self, room: QRectF) -> list[QRectF]:
        """Return where the plots stand, without their words."""
        height = room.height() - _CAPTION_PX
        count = len(self.view.panels)
        shares = (1.0,) if count == 1 else (_FIRST_SHARE, 1 - _FIRST_SHARE)
        boxes, top = [], room.top()
        for share in shares:
            own = QRectF(room.left(), top, room.width(), height * share)
            boxes.append(own.adjusted(_LEFT_PX, _TOP_PX, -_RIGHT_PX, -_BOTTOM_PX))
            top += height * share
        return boxes

    def point_at(self, place: QPointF) -> ControlPoint | None:
        """Return the value near a place of the widget, if there is one."""
        nearest: tuple[float, ControlPoint] | None = None
        for panel, box in zip(self.view.panels, self._boxes(QRectF(self.rect())), strict=True):
            for at, point in enumerate(panel.points):
                spot = place_of(panel, box, at)
                far = hypot(spot.x() - place.x(), spot.y() - place.y())
                if far <= _NEAR_PX and (nearest is None or far < nearest[0]):
                    nearest = far, point
        return nearest[1] if nearest else None

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Tell about the value under the pointer."""
        found = self.point_at(event.position())
        if found is None:
            QToolTip.hideText()
        else:
            QToolTip.showText(event.globalPosition().toPoint(), found.text, self)

    def leaveEvent(self, event: QEvent) -> None:
        """Tell nothing any more."""
        QToolTip.hideText()
        super().leaveEvent(event)


def place_of(panel: ControlPanel, box: QRectF, at: int) -> QPointF:
    """Return where the value with this number stands."""
    low, high = panel.span()
    count = len(panel.points)
    x = box.left() + (at + 0.5) / max(count, 1) * box.width()
    return QPointF(x, box.bottom() - (panel.points[at].y - low) / (high - low) * box.height())


class _Plot:
    """One plot in the making."""

    def __init__(self, painter: QPainter, panel: ControlPanel, box: QRectF) -> None:
        self._painter, self._panel, self._box = painter, panel, box
        self._shades = theme.current()
        self._metrics = QFontMetricsF(theme.font(Size.SMALL, tabular=True))

    def draw(self) -> None:
        self._title()
        self._axes()
        self._levels()
        self._points()

    def _title(self) -> None:
        self._painter.setFont(theme.font(Size.SMALL, Weight.DemiBold))
        self._painter.setPen(QColor(self._shades.ink))
        self._painter.drawText(QPointF(12, self._box.top() - 10), self._panel.title)
        self._painter.setFont(theme.font(Size.SMALL, tabular=True))

    def _axes(self) -> None:
        painter, box = self._painter, self._box
        painter.setPen(QPen(QColor(self._shades.border), 1))
        painter.drawLine(box.topLeft(), box.bottomLeft())
        painter.drawLine(box.bottomLeft(), box.bottomRight())
        painter.setPen(QColor(self._shades.soft_ink))
        low, high = self._panel.span()
        step = _step((high - low) / max(1.0, box.height() // _TICK_PX))
        at = -(-low // step) * step
        while at <= high + step * 1e-9:
            self._right(_number(at, step), box.left() - 6, self._y(at))
            at += step
        self._days()

    def _days(self) -> None:
        last = self._box.left() - _DAY_PX
        before = ""
        for at, point in enumerate(self._panel.points):
            x = place_of(self._panel, self._box, at).x()
            width = self._metrics.horizontalAdvance(point.day)
            if (
                x - last >= _DAY_PX
                and point.day != before
                and x + width / 2 < self._box.right() + 60
            ):
                self._painter.drawText(QPointF(x - width / 2, self._box.bottom() + 16), point.day)
                last, before = x, point.day

    def _levels(self) -> None:
        box = self._box
        taken: list[float] = []
        for level in sorted(self._panel.levels, key=lambda one: -one.y):
            y = self._y(level.y)
            style = Qt.PenStyle.DashLine if level.dashed else Qt.PenStyle.SolidLine
            colour = self._shades.target if level.dashed else self._shades.border
            self._painter.setPen(QPen(QColor(colour), 1.4, style))
            self._painter.drawLine(QPointF(box.left(), y), QPointF(box.right(), y))
            self._painter.setPen(QColor(self._shades.ink))
            beside = max([y + 4, *(one + 14 for one in taken)])
            self._painter.drawText(QPointF(box.right() + 8, beside), level.words)
            taken.append(beside)

    def _points(self) -> None:
        places = [place_of(self._panel, self._box, at) for at in range(len(self._panel.points))]
        self._painter.setPen(QPen(QColor(self._shades.quiet), 1.2))
        self._painter.drawPolyline(QPolygonF(places))
        for place, point in zip(places, self._panel.points, strict=True):
            self._point(place, point)

    def _point(self, place: QPointF, point: ControlPoint) -> None:
        painter, shades = self._painter, self._shades
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
        width = self._metrics.horizontalAdvance(key)
        above = place.y() - 11 > self._box.top()
        painter.drawText(QPointF(place.x() - width / 2, place.y() + (-11 if above else 20)), key)

    def _y(self, value: float) -> float:
        low, high = self._panel.span()
        return self._box.bottom() - (value - low) / (high - low) * self._box.height()

    def _right(self, words: str, x: float, y: float) -> None:
        width = self._metrics.horizontalAdvance(words)
        self._painter.drawText(QPointF(x - width, y + 4), words)


def _step(least: float) -> float:
    """Return the next of 1, 2 or 5 times a power of ten."""
    power = 1e-6
    while True:
        for times in (1, 2, 5):
            if times * power >= least:
                return times * power
        power *= 10


def _number(value: float, step: float) -> str:
    decimals = 0 if step >= 1 else len(f"{step:.6f}".rstrip("0").partition(".")[2])
    text = f"{value:.{decimals}f}"
    return text[1:] if text.startswith("-") and not text.strip("-0.") else text
