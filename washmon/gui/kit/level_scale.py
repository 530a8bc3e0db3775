"""The scale under a number: where the last reading lies between zero, its limits and too much."""

from msgspec import Struct
from PySide6.QtCore import QLocale, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.theme import Size, Theme

_NEEDLE_PX = 11.0
_TROUGH_PX = 9.0
_GAP_PX = 8.0


class ScaleView(Struct, frozen=True):
    """Levels in one unit, whichever the shed reads. ``None`` is not drawn.

    ``likely`` is where the level probably is by now, from low to high.
    """

    low: float
    high: float
    target: float
    critical: float | None = None
    reading: float | None = None
    likely: tuple[float, float] | None = None

    @property
    def end(self) -> float:
        """The right end of the trough: a little beyond what must be seen."""
        seen = [self.high, self.target, self.reading or 0.0]
        if self.likely:
            seen.append(self.likely[1])
        return max(max(seen) * 1.12, self.high * 1.4) or 1.0


class Label(Struct, frozen=True):
    """A word that wants to stand under ``centre``; of two that collide the later in rank goes."""

    centre: float
    width: float
    rank: int


def place(labels: list[Label], left: float, right: float, gap: float) -> dict[int, float]:
    """Return the left end of each label that finds room, by its index.

    A label may shift, but its tick stays above some part of it. Labels of the highest ``rank``
    number are dropped until the rest fit between ``left`` and ``right`` with ``gap`` between.
    """
    kept = sorted(range(len(labels)), key=lambda at: labels[at].centre)
    while kept:
        found = _fit([labels[at] for at in kept], left, right, gap)
        if found is not None:
            return dict(zip(kept, found, strict=True))
        kept.remove(max(kept, key=lambda at: labels[at].rank))
    return {}


def _fit(labels: list[Label], left: float, right: float, gap: float) -> list[float] | None:
    """Return left ends in order, or None where the labels do not fit."""
    latest: list[float] = []
    limit = right
    for label in reversed(labels):
        limit = min(label.centre, limit - label.width)
        latest.insert(0, limit)
        limit -= gap
    placed: list[float] = []
    free_from = left
    for label, last in zip(labels, latest, strict=True):
        first = max(free_from, label.centre - label.width)
        if first > last:
            return None
        placed.append(min(max(first, label.centre - label.width / 2), last))
        free_from = placed[-1] + label.width + gap
    return placed


class LevelScale(QWidget):
    """Draws a ``ScaleView``; its words are read out as well."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._view: ScaleView | None = None
        self.setFont(theme.font(Size.TINY))
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    @property
    def view(self) -> ScaleView | None:
        """What is shown."""
        return self._view

    def show_view(self, view: ScaleView | None) -> None:
        """Show levels; does nothing when they are the same."""
        if view != self._view:
            self._view = view
            self.setAccessibleName(", ".join(words for _, words, _ in self._marks()))
            self.update()

    def sizeHint(self) -> QSize:
        """Return the height of needle, trough and words."""
        words = QFontMetricsF(self.font()).height()
        return QSize(280, round(theme.px(_NEEDLE_PX) + theme.px(_TROUGH_PX) + 4 + words))

    def minimumSizeHint(self) -> QSize:
        """Allow a narrow column: words are dropped there."""
        return QSize(80, self.sizeHint().height())

    def _marks(self) -> list[tuple[float, str, int]]:
        """Levels that have a name: (level, words, rank), the weightiest first."""
        view = self._view
        if view is None:
            return []
        number = QLocale()
        marks = [
            (view.target, tr("{level} target", level=_short(number, view.target)), 1),
            (view.high, tr("{level} high", level=_short(number, view.high)), 2),
            (view.low, tr("{level} low", level=_short(number, view.low)), 3),
        ]
        if view.critical is not None:
            words = tr("{level} critical", level=_short(number, view.critical))
            marks.insert(0, (view.critical, words, 0))
        return marks

    def shown_words(self) -> list[str]:
        """Return the words that have room at the present width, from left to right."""
        marks = self._marks()
        places = self._places(marks)
        return [marks[at][1] for at in sorted(places, key=lambda at: places[at])]

    def _places(self, marks: list[tuple[float, str, int]]) -> dict[int, float]:
        metrics = QFontMetricsF(self.font())
        labels = [
            Label(self._x(level), metrics.horizontalAdvance(words), rank)
            for level, words, rank in marks
        ]
        return place(labels, 0, self.width(), _GAP_PX)

    def _x(self, level: float) -> float:
        end = self._view.end if self._view else 1.0
        return min(max(level / end, 0.0), 1.0) * (self.width() - 2) + 1

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw trough, band, likely range, ticks, needle and words."""
        shades = theme.current()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        trough = QRectF(0.5, theme.px(_NEEDLE_PX), self.width() - 1, theme.px(_TROUGH_PX))
        edge = QPen(QColor(shades.band_edge)) if shades.line_px > 1 else Qt.PenStyle.NoPen
        painter.setPen(edge)
        painter.setBrush(QColor(shades.trough))
        painter.drawRoundedRect(trough, 3, 3)
        view = self._view
        if view is None:
            return
        self._draw_ranges(painter, trough, view, shades)
        tall = trough.height() + 4
        for level, colour in ((view.target, shades.target), (view.critical, shades.critical)):
            if level is not None:
                x = self._x(level)
                painter.fillRect(QRectF(x - 1.25, trough.top() - 2, 2.5, tall), QColor(colour))
        if view.reading is not None:
            self._draw_needle(painter, self._x(view.reading), shades)
        self._draw_words(painter, shades)

    def _draw_ranges(
        self, painter: QPainter, trough: QRectF, view: ScaleView, shades: Theme
    ) -> None:
        band = QRectF(trough)
        band.setLeft(self._x(view.low))
        band.setRight(self._x(view.high))
        painter.fillRect(band, QColor(shades.band))
        for x in (band.left(), band.right()):
            painter.fillRect(QRectF(x - 0.75, band.top(), 1.5, band.height()), shades.band_edge)
        if view.likely:
            likely = QRectF(trough.adjusted(0, -2, 0, 2))
            likely.setLeft(self._x(view.likely[0]))
            likely.setRight(max(self._x(view.likely[1]), likely.left() + 2))
            painter.fillRect(likely, theme.with_alpha(shades.forecast, 0.38))

    def _draw_needle(self, painter: QPainter, x: float, shades: Theme) -> None:
        tip = theme.px(_NEEDLE_PX) + 2.5
        half = 6.5 * theme.scale()
        x = min(max(x, half), self.width() - half)
        needle = QPolygonF([QPointF(x - half, 0.5), QPointF(x + half, 0.5), QPointF(x, tip)])
        pen = QPen(QColor(shades.card), 1.5)
        pen.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
        painter.setPen(pen)
        painter.setBrush(QColor(shades.ink))
        painter.drawPolygon(needle)

    def _draw_words(self, painter: QPainter, shades: Theme) -> None:
        marks = self._marks()
        painter.setFont(self.font())
        base = self.height() - QFontMetricsF(self.font()).descent()
        for at, left in self._places(marks).items():
            rank = marks[at][2]
            painter.setPen(QColor(shades.critical if rank == 0 else shades.soft_ink))
            painter.drawText(QPointF(left, base), marks[at][1])


def _short(locale: QLocale, level: float) -> str:
    """Return a level as short as it may be: 65, 7.5, in the locale's digits."""
    rounded = round(float(level), 1)
    return locale.toString(rounded, "f", 0 if rounded.is_integer() else 1)
