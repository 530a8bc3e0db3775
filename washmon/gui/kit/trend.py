"""A tank's trend: free chlorine against batches washed, with limits, doses and water changes.

The few shapes of a trend that need a word, named under it.
"""

from enum import Enum
from math import hypot

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, QTimer, Slot
from PySide6.QtGui import (
    QColor,
    QFontMetricsF,
    QPainter,
    QPaintEvent,
    QPen,
    QPolygonF,
    QResizeEvent,
)
from PySide6.QtWidgets import QLabel, QSizePolicy, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.boxes import vbox
from washmon.gui.kit.spoken import SpokenRole, speak_as
from washmon.gui.kit.text import ShortText, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.kit.trend_layers import Layers
from washmon.gui.kit.trend_plot import Plot, cosmetic_pen
from washmon.gui.kit.trend_view import DrawnPoint, TrendMark, TrendView

_SHAPE_PX = 12.0
_GAP_PX = 14.0


class LegendEntry(Enum):
    """What the legend can name, the weightiest first."""

    DOSE = "dose"
    ACID = "acid"
    CHANGE = "water change"
    RANGE = "range"
    EARLIER = "earlier"
    SUPPOSED = "supposed"
    FAN = "fan"

    @property
    def word(self) -> str:
        """The name in the user's language."""
        return {
            LegendEntry.DOSE: tr("dose"),
            LegendEntry.ACID: tr("acid"),
            LegendEntry.CHANGE: tr("water change"),
            LegendEntry.RANGE: tr("range of a strip"),
            LegendEntry.EARLIER: tr("earlier fill"),
            LegendEntry.SUPPOSED: tr("if you do this"),
            LegendEntry.FAN: tr("likely from here"),
        }[self]


def entries_of(view: TrendView) -> tuple[LegendEntry, ...]:
    """Return what a trend must name."""
    present = {
        LegendEntry.DOSE: bool(view.doses),
        LegendEntry.ACID: bool(view.acids),
        LegendEntry.CHANGE: bool(view.changes),
        LegendEntry.RANGE: any(point.low is not None for point in view.points()),
        LegendEntry.EARLIER: bool(view.earlier),
        LegendEntry.SUPPOSED: bool(view.supposed),
        LegendEntry.FAN: bool(view.fan),
    }
    return tuple(entry for entry, there in present.items() if there)


class Legend(QWidget):
    """Names only what is on the plot; what has no room is left out, the lightest first."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._entries: tuple[LegendEntry, ...] = ()
        self.setFont(theme.font(Size.TINY))
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.setVisible(False)

    @property
    def entries(self) -> tuple[LegendEntry, ...]:
        """What is named."""
        return self._entries

    def name(self, entries: tuple[LegendEntry, ...]) -> None:
        """Name these and no others."""
        if entries != self._entries:
            self._entries = entries
            self.setAccessibleName(", ".join(entry.word for entry in entries))
            self.update()

    def sizeHint(self) -> QSize:
        """Return one line of small type."""
        return QSize(120, round(QFontMetricsF(self.font()).height()) + 2)

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw shape and word of each entry that has room."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        metrics = QFontMetricsF(self.font())
        base = (self.height() + metrics.ascent() - metrics.descent()) / 2
        x = 0.0
        for entry in self._entries:
            side = _SHAPE_PX * theme.scale()
            width = side + 4 + metrics.horizontalAdvance(entry.word)
            if x + width > self.width():
                break
            box = QRectF(x, (self.height() - side) / 2, side, side)
            _draw_shape(painter, box, entry)
            painter.setPen(QColor(theme.current().soft_ink))
            painter.drawText(QPointF(x + side + 4, base), entry.word)
            x += width + _GAP_PX


def _draw_shape(painter: QPainter, box: QRectF, entry: LegendEntry) -> None:
    shades = theme.current()
    painter.save()
    painter.translate(box.center())
    painter.scale(theme.scale(), theme.scale())
    box = QRectF(-_SHAPE_PX / 2, -_SHAPE_PX / 2, _SHAPE_PX, _SHAPE_PX)
    middle = box.center()
    painter.setPen(Qt.PenStyle.NoPen)
    if entry is LegendEntry.DOSE:
        painter.setBrush(QColor(shades.hand))
        corners = [QPointF(0, -5), QPointF(5, 5), QPointF(-5, 5)]
        painter.drawPolygon(QPolygonF([middle + corner for corner in corners]))
    elif entry is LegendEntry.ACID:
        painter.fillRect(QRectF(middle.x() - 4, middle.y() - 4, 8, 8), QColor(shades.hand))
    elif entry is LegendEntry.CHANGE:
        painter.setPen(QPen(QColor(shades.soft_ink), 1.4, Qt.PenStyle.DotLine))
        painter.drawLine(QPointF(middle.x(), box.top()), QPointF(middle.x(), box.bottom()))
    elif entry is LegendEntry.RANGE:
        bar = QRectF(middle.x() - 2.5, box.top(), 5, box.height())
        painter.fillRect(bar, theme.with_alpha(shades.ink, 0.26))
        painter.setBrush(QColor(shades.ink))
        painter.drawEllipse(middle, 2.6, 2.6)
    elif entry is LegendEntry.EARLIER:
        painter.setPen(QPen(QColor(shades.quiet), 1.2))
        painter.drawLine(QPointF(box.left(), middle.y()), QPointF(box.right(), middle.y()))
        painter.setBrush(QColor(shades.quiet))
        painter.drawEllipse(middle, 2.2, 2.2)
    elif entry is LegendEntry.SUPPOSED:
        painter.fillRect(box.adjusted(0, 2, 0, -2), theme.with_alpha(shades.hand, 0.14))
        painter.setPen(QPen(QColor(shades.hand), 1.8, Qt.PenStyle.DashLine))
        painter.drawLine(QPointF(box.left(), middle.y()), QPointF(box.right(), middle.y()))
    else:
        painter.fillRect(box.adjusted(0, 2, 0, -2), theme.with_alpha(shades.forecast, 0.26))
        painter.setPen(QPen(QColor(shades.forecast), 1.6))
        painter.drawLine(QPointF(box.left(), middle.y()), QPointF(box.right(), middle.y()))
    painter.restore()


_NEAR_PX = 28.0
_STRIP_PX = 130


class Trend(QWidget):
    """Draws a ``TrendView``. A view the person has zoomed stays put until double-clicked."""

    def __init__(self, parent: QWidget | None = None, *, titled: bool = True) -> None:
        """``titled``: it says itself what its axes are."""
        super().__init__(parent)
        self._titled = titled
        speak_as(self, SpokenRole.Chart)
        self._view: TrendView | None = None
        self._held = False
        self._dressed = ("", 0.0, 0.0)
        self._targets: tuple[DrawnPoint | TrendMark, ...] = ()
        self._soon = QTimer(self, singleShot=True, interval=0)
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
        column = vbox(self.title, self.plot, self.legend, on=self, gap_px=2)
        column.setStretch(1, 1)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumSize(120, 56)
        self.plot.pointed.connect(self._point)
        self.plot.left.connect(self._unpoint)
        self.plot.reset.connect(self.show_all)
        self.plot.held.connect(self._hold)
        self.plot.box.sigRangeChanged.connect(self._place_words_soon)
        self.plot.box.sigResized.connect(self._place_words_soon)
        self._soon.timeout.connect(self.layers.place_words)
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
        newest = next(reversed([*view.points()]), None)
        self.setAccessibleDescription(newest.text if newest is not None else "")
        self.layers.draw(view)
        self.legend.name(entries_of(view))
        self.legend.setVisible(self.height() >= _STRIP_PX and bool(self.legend.entries))
        self._unpoint()
        self._soon.start()
        if before is not None and (before.x_end, before.y_end) == (view.x_end, view.y_end):
            return
        at_end = before is not None and self._shows(before.x_end)
        self._fence(view)
        if not self._held:
            self.show_all()
        elif at_end and before is not None:  # a zoomed view follows what is new
            self.plot.box.translateBy(x=view.x_end - before.x_end)

    @Slot(object)
    def _place_words_soon(self, *_what: object) -> None:
        """Find room for the words once the plot has its size and its axes."""
        self._soon.start()

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

    def _nearest(self, scene_place: QPointF) -> DrawnPoint | TrendMark | None:
        """Return the point under the pointer; across counts more than up and down."""
        box = self.plot.box
        if not box.sceneBoundingRect().contains(scene_place):
            return None
        here = box.mapSceneToView(scene_place)
        per_x, per_y = box.viewPixelSize()

        def far(point: DrawnPoint | TrendMark) -> float:
            return hypot((point.x - here.x()) / per_x, (point.y - here.y()) / per_y / 3)

        nearest = min(self._targets, key=far, default=None)
        return nearest if nearest is not None and far(nearest) <= _NEAR_PX else None

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Leave out title and legend where the trend is folded to a strip."""
        roomy = event.size().height() >= _STRIP_PX
        self.title.setVisible(roomy and self._titled)
        self.legend.setVisible(roomy and bool(self.legend.entries))
        super().resizeEvent(event)

    def event(self, event: QEvent) -> bool:
        """Follow a change of theme, and a move to a finer or coarser screen."""
        if event.type() in (
            QEvent.Type.StyleChange,
            QEvent.Type.DevicePixelRatioChange,
            QEvent.Type.FontChange,
        ):
            self._dress()
        return super().event(event)

    def _dress(self) -> None:
        shades, ratio = theme.current(), self.devicePixelRatioF()
        if (shades.name, ratio, theme.scale()) == self._dressed:
            return
        self._dressed = (shades.name, ratio, theme.scale())
        self.plot.dress()
        self.plot.setBackground(QColor(shades.card))
        for axis in self.plot.axes.values():
            axis.setPen(cosmetic_pen(ratio, QColor(shades.border), 1))
            axis.setTextPen(QColor(shades.soft_ink))
        self.layers.dress(shades, ratio)
