"""A chart of values in order of time with their limits, drawn so that it can be saved sharply."""

from math import hypot

from PySide6.QtCore import QBuffer, QByteArray, QEvent, QIODevice, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QImage, QImageWriter, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtSvg import QSvgGenerator
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from washmon.gui.kit import theme
from washmon.gui.kit.control_plot import BarPlot, ControlPlot, bar_at, place_of
from washmon.gui.kit.control_view import Bar, BarPanel, ControlPoint, ControlView, Panel
from washmon.gui.kit.theme import Size

_LEFT_PX, _RIGHT_PX, _TOP_PX, _BOTTOM_PX = 58.0, 150.0, 26.0, 24.0
_CAPTION_PX = 20.0
_NEAR_PX = 24.0
_FIRST_SHARE = 0.64
"""Of the height, for the upper of two plots."""
_SHARP = 2


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
        return QSize(800, 290)

    def show_view(self, view: ControlView) -> None:
        """Show another chart."""
        self.view = view
        self.setAccessibleName(view.caption or view.nothing)
        self.update()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw it all."""
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
            _plot(painter, panel, box).draw()
        painter.setFont(theme.font(Size.SMALL))
        painter.setPen(QColor(shades.soft_ink))
        below = QRectF(room.left() + 12, room.bottom() - _CAPTION_PX, room.width() - 24, 18)
        painter.drawText(below, int(Qt.AlignmentFlag.AlignLeft), self.view.caption)

    def _boxes(self, room: QRectF) -> list[QRectF]:
        """Return where the plots stand, without their words."""
        height = room.height() - _CAPTION_PX
        shares = _shares(self.view.panels)
        boxes, top = [], room.top()
        for share in shares:
            own = QRectF(room.left(), top, room.width(), height * share)
            boxes.append(own.adjusted(_LEFT_PX, _TOP_PX, -_RIGHT_PX, -_BOTTOM_PX))
            top += height * share
        return boxes

    def point_at(self, place: QPointF) -> ControlPoint | Bar | None:
        """Return the value near a place of the widget, if there is one, or the bar under it."""
        nearest: tuple[float, ControlPoint] | None = None
        for panel, box in zip(self.view.panels, self._boxes(QRectF(self.rect())), strict=True):
            if isinstance(panel, BarPanel):
                if (bar := bar_at(panel, box, place)) is not None:
                    return bar
                continue
            for at, point in enumerate(panel.points):
                if (spot := place_of(panel, box, at)) is None:
                    continue
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


def _plot(painter: QPainter, panel: Panel, box: QRectF) -> BarPlot | ControlPlot:
    if isinstance(panel, BarPanel):
        return BarPlot(painter, panel, box)
    return ControlPlot(painter, panel, box)


def _shares(panels: tuple[Panel, ...]) -> tuple[float, ...]:
    """Return how the height is shared: moving ranges get less than the points above them."""
    count = len(panels)
    if count == 2 and not any(isinstance(panel, BarPanel) for panel in panels):
        return (_FIRST_SHARE, 1 - _FIRST_SHARE)
    return tuple(1 / count for _ in panels)
