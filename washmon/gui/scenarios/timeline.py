"""The line of time of a scenario: what happens when, to be picked and moved."""

from typing import NamedTuple

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFontMetricsF, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.spoken import SpokenRole, speak_as
from washmon.gui.kit.theme import Size

_EDGE_PX, _HEIGHT_PX = 26.0, 92
_DOT_PX = 7.0
_ROUND = Qt.PenCapStyle.RoundCap
_NEAR_PX = 16.0
_LABEL_PX = 92.0
"""Least room from one time to the next under the line."""


class DraftMark(NamedTuple):
    """One event on the line: minutes after the beginning, and a word for it."""

    minute: float
    words: str


class TimeSpan(NamedTuple):
    """What the line reaches over: minutes after midnight at its beginning, and its length."""

    begins_min: float = 360.0
    minutes: float = 120.0
    first_batch: float = 0.0


class DraftTimeline(QWidget):
    """Draws events; a press picks one, dragging or the arrow keys move it by whole minutes.

    Signals:
        picked(int): the event at this place.
        moved(int, float): it is to happen so many minutes after the beginning.
        settled(): it lies where it was moved to.
    """

    picked = Signal(int)
    moved = Signal(int, float)
    settled = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.span = TimeSpan()
        self.marks: tuple[DraftMark, ...] = ()
        self.at = -1
        self._dragged = False
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        speak_as(self, SpokenRole.Grouping, tr("Line of time"))

    def sizeHint(self) -> QSize:
        """Return room for the words over the line and the times under it."""
        return QSize(400, theme.px(_HEIGHT_PX))

    def show_marks(self, span: TimeSpan, marks: tuple[DraftMark, ...], at: int) -> None:
        """Show events, of which one is chosen."""
        self.span, self.marks, self.at = span, marks, at
        chosen = marks[at].words if 0 <= at < len(marks) else ""
        self.setAccessibleDescription(chosen)
        self.update()

    def x_of(self, minute: float) -> float:
        """Return where a moment lies."""
        room = self.width() - 2 * _EDGE_PX
        return _EDGE_PX + room * min(max(minute / self.span.minutes, 0.0), 1.0)

    def minute_at(self, x: float) -> float:
        """Return the whole minute at a place."""
        share = (x - _EDGE_PX) / max(self.width() - 2 * _EDGE_PX, 1.0)
        return float(round(min(max(share, 0.0), 1.0) * self.span.minutes))

    # -- by hand --------------------------------------------------------------------------------

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Pick the nearest event."""
        near = [
            (abs(self.x_of(mark.minute) - event.position().x()), at)
            for at, mark in enumerate(self.marks)
        ]
        if near and min(near)[0] <= _NEAR_PX:
            self.at = min(near)[1]
            self._dragged = True
            self.picked.emit(self.at)
            self.update()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Carry the event along."""
        if self._dragged and event.buttons() & Qt.MouseButton.LeftButton:
            self._move_to(self.minute_at(event.position().x()))

    def mouseReleaseEvent(self, _event: QMouseEvent) -> None:
        """Let it lie."""
        if self._dragged:
            self._dragged = False
            self.settled.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Move the chosen event by a minute, or by ten with Shift."""
        by = {Qt.Key.Key_Left: -1.0, Qt.Key.Key_Right: 1.0}.get(Qt.Key(event.key()))
        if by is None or not 0 <= self.at < len(self.marks):
            super().keyPressEvent(event)
            return
        times = 10.0 if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else 1.0
        self._move_to(self.marks[self.at].minute + times * by)
        self.settled.emit()

    def _move_to(self, minute: float) -> None:
        within = min(max(minute, 0.0), self.span.minutes)
        if within != self.marks[self.at].minute:
            self.moved.emit(self.at, within)

    # -- drawn ----------------------------------------------------------------------------------

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw the line, its times, and the events."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        shades = theme.current()
        y = self.height() * 0.58
        first = self.x_of(self.span.first_batch)
        painter.setPen(QPen(QColor(shades.hairline), 6.0, Qt.PenStyle.SolidLine, _ROUND))
        painter.drawLine(QPointF(self.x_of(0.0), y), QPointF(self.x_of(self.span.minutes), y))
        painter.setPen(QPen(QColor(shades.band_edge), 6.0, Qt.PenStyle.SolidLine, _ROUND))
        painter.drawLine(QPointF(first, y), QPointF(self.x_of(self.span.minutes), y))
        self._times(painter, y)
        self._marks(painter, y)
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(QColor(shades.hand), 1.5))
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(1, 1, -1, -1), 6, 6)

    def _times(self, painter: QPainter, y: float) -> None:
        shades = theme.current()
        tiny = theme.font(Size.TINY, tabular=True)
        metrics = QFontMetricsF(tiny)
        painter.setFont(tiny)
        room = self.width() - 2 * _EDGE_PX
        step = next(
            (s for s in (10, 15, 30, 60, 120) if s / self.span.minutes * room >= _LABEL_PX), 240
        )
        minute = -self.span.begins_min % step
        while minute <= self.span.minutes:
            x = self.x_of(minute)
            painter.setPen(QPen(QColor(shades.border), 1.0))
            painter.drawLine(QPointF(x, y + 6), QPointF(x, y + 11))
            painter.setPen(QColor(shades.soft_ink))
            words = clock_words(self.span.begins_min + minute)
            half = metrics.horizontalAdvance(words) / 2
            painter.drawText(QPointF(x - half, y + 14 + metrics.ascent()), words)
            minute += step

    def _marks(self, painter: QPainter, y: float) -> None:
        shades = theme.current()
        small = theme.font(Size.SMALL)
        metrics = QFontMetricsF(small)
        painter.setFont(small)
        free = [0.0, 0.0]  # the right ends of the words in the two rows over the line
        order = sorted(range(len(self.marks)), key=lambda at: self.marks[at].minute)
        for at in order:
            mark = self.marks[at]
            x, chosen = self.x_of(mark.minute), at == self.at
            words = metrics.elidedText(mark.words, Qt.TextElideMode.ElideRight, 190)
            width = metrics.horizontalAdvance(words)
            left = min(max(x - width / 2, 4.0), self.width() - width - 4.0)
            row = next((number for number in (0, 1) if left >= free[number] + 10), None)
            painter.setPen(QPen(QColor(shades.hand), 1.2))
            painter.setBrush(QColor(shades.hand if chosen else shades.card))
            painter.drawEllipse(QPointF(x, y), _DOT_PX, _DOT_PX)
            if row is None:
                continue
            free[row] = left + width
            painter.setPen(QColor(shades.hand if chosen else shades.ink))
            painter.drawText(QPointF(left, y - 14 - row * metrics.height()), words)


def clock_words(minute: float) -> str:
    """Return a time of day from minutes after midnight."""
    whole = int(minute) % (24 * 60)
    return f"{whole // 60:02d}:{whole % 60:02d}"
