"""The bare plot under a trend: whole steps on its axes, zoom by wheel and pinch, no menu.

Only it and what is drawn on it know pyqtgraph.
"""

import pyqtgraph as pg
from PySide6.QtCore import QEvent, QLocale, QPointF, QRectF, Qt, Signal, Slot
from PySide6.QtGui import QColor, QMouseEvent, QPainter, QPaintEvent, QPen, QPixmap
from PySide6.QtWidgets import QGestureEvent, QPinchGesture, QSizePolicy, QWidget

from washmon.gui.kit import theme
from washmon.gui.kit.theme import Size

_STEPS = (1, 2, 5)


class Axis(pg.AxisItem):
    """Whole steps of 1, 2 or 5 times ten, far enough apart to read, in the locale's digits."""

    def __init__(self, orientation: str, apart_px: float) -> None:
        super().__init__(orientation, maxTickLength=-4)
        self._apart_px = apart_px

    def tickSpacing(self, low: float, high: float, size: float) -> list[tuple[float, float]]:
        """Return one level of ticks: no small ones between."""
        least = (high - low) * theme.px(self._apart_px) / max(size, 1.0)
        steps = (step * 10**power for power in range(7) for step in _STEPS)
        return [(float(next((s for s in steps if s >= least), 10**7)), 0.0)]

    def tickStrings(self, values: list[float], _scale: float, _spacing: float) -> list[str]:
        """Return whole numbers; nothing left of zero."""
        return [QLocale().toString(round(value)) if value >= 0 else "" for value in values]


class Plot(pg.GraphicsView):
    """The bare plot: wheel and pinch zoom, drag pans, double-click shows all.

    It is put together from box and axes: the library's own plot makes forty widgets of a menu with
    each, be it shown or not, and takes half of the time for that.
    """

    pointed = Signal(QPointF)
    left = Signal()
    reset = Signal()
    held = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.enableMouse(False)  # the box takes it
        self.box = pg.ViewBox(enableMenu=False)
        self.axes = {"bottom": Axis("bottom", 44), "left": Axis("left", 30)}
        self.centralLayout.setContentsMargins(1, 1, 1, 1)
        self.centralLayout.setSpacing(0)
        self.centralLayout.addItem(self.axes["left"], 0, 0)
        self.centralLayout.addItem(self.box, 0, 1)
        self.centralLayout.addItem(self.axes["bottom"], 1, 1)
        for axis in self.axes.values():
            axis.linkToView(self.box)
            axis.setZValue(0.5)  # over the box
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)  # it takes no key
        self.viewport().grabGesture(Qt.GestureType.PinchGesture)
        self.viewport().setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self.box.sigRangeChangedManually.connect(self._hold)
        self._drawn = QPixmap()
        self.stale = True  # whether what was drawn last is no longer what is shown
        self.scene().changed.connect(self._forget_drawing)

    def dress(self) -> None:
        """Give the axes the type of the program, as large as it is now."""
        self.stale = True
        for axis in self.axes.values():
            axis.setStyle(tickFont=theme.font(Size.TINY, tabular=True), tickTextOffset=5)
        self.axes["left"].setWidth(theme.px(30))
        self.axes["bottom"].setHeight(theme.px(22))

    @Slot(object)
    def _hold(self, _axes: object) -> None:
        self.held.emit()

    @Slot(object)
    def _forget_drawing(self, _where: object) -> None:
        self.stale = True

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw what has changed; what was only covered for a while is laid down as it was."""
        viewport = self.viewport()
        wanted = viewport.size() * viewport.devicePixelRatioF()
        if self.stale or self._drawn.size() != wanted:
            self.stale = False
            self._drawn = QPixmap(wanted)
            self._drawn.setDevicePixelRatio(viewport.devicePixelRatioF())
            painter = QPainter(self._drawn)
            painter.setRenderHints(self.renderHints())
            self.render(painter, QRectF(viewport.rect()), viewport.rect())
            painter.end()
        QPainter(viewport).drawPixmap(0, 0, self._drawn)

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
                self.move_by(pinch.centerPoint() - pinch.lastCenterPoint())
                self.pinch(pinch.scaleFactor(), pinch.centerPoint())
                event.accept(pinch)
                return True
        return bool(super().viewportEvent(event))

    def move_by(self, way_px: QPointF) -> None:
        """Let what is drawn follow the fingers."""
        per_x, per_y = self.box.viewPixelSize()
        self.box.translateBy(x=-way_px.x() * per_x, y=way_px.y() * per_y)
        self.held.emit()

    def pinch(self, factor: float, at: QPointF) -> None:
        """Magnify by ``factor`` about a point of the screen."""
        here = self.mapToScene(self.viewport().mapFromGlobal(at.toPoint()))
        self.box.scaleBy((1 / factor, 1 / factor), self.box.mapSceneToView(here))
        self.held.emit()


def cosmetic_pen(
    ratio: float, colour: QColor, width_px: float, style: Qt.PenStyle = Qt.PenStyle.SolidLine
) -> QPen:
    """Return a pen that does not grow with the zoom: its width is in device pixels."""
    pen = QPen(colour, width_px * ratio, style, Qt.PenCapStyle.FlatCap)
    pen.setCosmetic(True)
    return pen
