"""The timeline of a replay: where it is, where flags came up, what went into the water."""

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QFontMetrics,
    QHelpEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPolygonF,
)
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.state_mark import MarkState, draw_mark
from washmon.gui.kit.theme import Size
from washmon.gui.replay.replay_timeline import Mark, Timeline

_SIDE_PX = 14.0
_MARK_PX = 15.0
_NEAR_PX = 13.0
_TRACK_TOP, _TRACK_PX = 20.0, 8.0
_HEIGHT_PX = 58
_ORDER = (MarkState.STOP, MarkState.ACT, MarkState.WATCH)


class Track(QWidget):
    """A line to press or to pull along; ``seek_asked`` tells the place, 0 to 1."""

    seek_asked = Signal(float)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._timeline: Timeline | None = None
        self._person: UserContext | None = None
        self._position_s = 0.0
        self._marked = True
        self.setMouseTracking(True)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setAccessibleName(tr("Timeline of the replay"))
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def sizeHint(self) -> QSize:
        """Return room for marks, line and hours."""
        return QSize(600, _HEIGHT_PX)

    def minimumSizeHint(self) -> QSize:
        """Return the narrowest line on which a place can still be hit."""
        return QSize(240, _HEIGHT_PX)

    def show_timeline(self, timeline: Timeline, person: UserContext) -> None:
        """Draw the marks of another session."""
        self._timeline, self._person = timeline, person
        self._position_s = 0.0
        self.update()

    def show_marks(self, *, on: bool) -> None:
        """Show where flags came up, or keep it to oneself."""
        self._marked = on
        self.update()

    def show_position(self, position_s: float) -> None:
        """Move the handle."""
        if position_s != self._position_s:
            self._position_s = position_s
            self.update()

    def place_of(self, offset_s: float) -> float:
        """Return where a second of the replay lies, in pixels from the left."""
        length = self._timeline.length_s if self._timeline else 0.0
        share = offset_s / length if length else 0.0
        return _SIDE_PX + share * (self.width() - 2 * _SIDE_PX)

    def shown_marks(self) -> list[Mark]:
        """Return the marks that are drawn: where they are close, the most pressing one."""
        kept: list[Mark] = []
        for mark in self._by_rank():
            if all(self._apart(mark, other) >= _NEAR_PX for other in kept):
                kept.append(mark)
        return kept

    def _by_rank(self) -> list[Mark]:
        marks = self._timeline.marks if self._timeline and self._marked else ()
        return sorted(marks, key=lambda mark: (_ORDER.index(mark.look), mark.offset_s))

    def _apart(self, mark: Mark, other: Mark) -> float:
        return abs(self.place_of(mark.offset_s) - self.place_of(other.offset_s))

    # -- by hand --------------------------------------------------------------------------------

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Go where it was pressed."""
        self._ask(event)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Follow the hand."""
        if event.buttons() & Qt.MouseButton.LeftButton:
            self._ask(event)

    def _ask(self, event: QMouseEvent) -> None:
        room = max(1.0, self.width() - 2 * _SIDE_PX)
        share = (event.position().x() - _SIDE_PX) / room
        self.seek_asked.emit(min(max(0.0, share), 1.0))

    def event(self, event: QEvent) -> bool:
        """Tell in a tip what came up where the pointer is."""
        if isinstance(event, QHelpEvent):
            QToolTip.showText(event.globalPos(), self.tip_at(event.pos().x()), self)
            return True
        return super().event(event)

    def tip_at(self, x_px: float) -> str:
        """Return what came up near a place: time, tank and flag, one to a line."""
        if self._timeline is None or self._person is None or not self._marked:
            return ""
        near = [
            mark
            for mark in self._timeline.marks
            if abs(self.place_of(mark.offset_s) - x_px) <= _NEAR_PX
        ]
        return "\n".join(
            tr(
                "{time}  tank {tank}: {title}",
                time=f"{mark.at:%H:%M}",
                tank=flag.tank,
                title=self._person.say(flag.title),
            )
            for mark in near
            for flag in mark.flags
        )

    # -- drawing --------------------------------------------------------------------------------

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw line, hours, additions, marks, and the handle over all."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._draw_line(painter)
        if self._timeline is not None:
            self._draw_hours(painter, self._timeline)
            self._draw_additions(painter, self._timeline)
            for mark in reversed(self.shown_marks()):
                middle = self.place_of(mark.offset_s)
                box = QRectF(middle - _MARK_PX / 2, 1.0, _MARK_PX, _MARK_PX)
                draw_mark(painter, box, mark.look)
        self._draw_handle(painter)

    def _draw_line(self, painter: QPainter) -> None:
        shades = theme.current()
        end = self.width() - _SIDE_PX
        here = self.place_of(self._position_s)
        painter.setPen(QPen(QColor(shades.border), shades.line_px))
        painter.setBrush(QColor(shades.trough))
        whole = QRectF(_SIDE_PX, _TRACK_TOP, end - _SIDE_PX, _TRACK_PX)
        painter.drawRoundedRect(whole, _TRACK_PX / 2, _TRACK_PX / 2)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(shades.hand))
        played = QRectF(_SIDE_PX, _TRACK_TOP, max(_TRACK_PX, here - _SIDE_PX), _TRACK_PX)
        painter.drawRoundedRect(played, _TRACK_PX / 2, _TRACK_PX / 2)

    def _draw_hours(self, painter: QPainter, timeline: Timeline) -> None:
        shades = theme.current()
        type_ = theme.font(Size.TINY, tabular=True)
        metrics = QFontMetrics(type_)
        painter.setFont(type_)
        top = _TRACK_TOP + _TRACK_PX
        for offset_s, words in timeline.hours:
            here = self.place_of(offset_s)
            painter.setPen(QPen(QColor(shades.border), shades.line_px))
            painter.drawLine(QPointF(here, top + 2), QPointF(here, top + 14))
            wide = metrics.horizontalAdvance(words)
            left = min(max(0.0, here - wide / 2), self.width() - wide)
            painter.setPen(QColor(shades.soft_ink))
            painter.drawText(QPointF(left, top + 15 + metrics.ascent()), words)

    def _draw_additions(self, painter: QPainter, timeline: Timeline) -> None:
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(theme.current().hand))
        top = _TRACK_TOP + _TRACK_PX + 3
        for offset_s in self._known(timeline.doses):
            here = self.place_of(offset_s)
            corners = (
                QPointF(here, top),
                QPointF(here + 4.5, top + 8),
                QPointF(here - 4.5, top + 8),
            )
            painter.drawPolygon(QPolygonF(corners))
        for offset_s in self._known(timeline.acids):
            painter.drawRect(QRectF(self.place_of(offset_s) - 3.5, top + 0.5, 7, 7))

    def _known(self, offsets: tuple[float, ...]) -> list[float]:
        """Return what may be seen: while questions are asked, nothing that is still to come."""
        return [at for at in offsets if self._marked or at <= self._position_s]

    def _draw_handle(self, painter: QPainter) -> None:
        shades = theme.current()
        middle = QPointF(self.place_of(self._position_s), _TRACK_TOP + _TRACK_PX / 2)
        painter.setPen(QPen(QColor(shades.hand), 3))
        painter.setBrush(QColor(shades.card))
        painter.drawEllipse(middle, 8.5, 8.5)
