"""The far view: for a wall screen, or across the bench. Read only; nothing can be pressed."""

import time
from datetime import datetime, timedelta

from msgspec.structs import replace
from PySide6.QtCore import QRectF, Qt, QTimer, Slot
from PySide6.QtGui import (
    QCloseEvent,
    QColor,
    QFont,
    QFontMetricsF,
    QKeyEvent,
    QPainter,
    QPaintEvent,
)
from PySide6.QtWidgets import QWidget

from washmon.gui.board.panel_views import BoardView, PanelView
from washmon.gui.board.presenter import ViewShelf, present
from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.state_mark import MarkState, draw_mark
from washmon.gui.kit.text import Tone, Weight
from washmon.gui.kit.wait_ring import draw_ring
from washmon.planning.snapshot import Mode, Snapshot

STALE = timedelta(minutes=2)
"""The recorder looks at the clock far more often: what is older than this is not current."""
_TICK_MS = 1000
_MARGIN, _GAP = 0.015, 0.01
"""Of the window's width."""
_HEAD = 0.095
"""Of its height."""
_EDGE = 0.011
_STEP = 0.28
"""Of a column's height: what the step may take."""


class FarView(QWidget):
    """One column a tank: shape and word, number and its age, what to do; the first is largest."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent, Qt.WindowType.Window)
        self.setWindowTitle(tr("washmon, far view"))
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.resize(1366, 768)
        self._shelf = ViewShelf()
        self._shown: tuple[Snapshot, UserContext] | None = None
        self._view: BoardView | None = None
        self._came_at = 0.0
        self._second = QTimer(self, interval=_TICK_MS)
        self._second.timeout.connect(self._grow_older)

    @property
    def view(self) -> BoardView | None:
        """What is shown."""
        return self._view

    @property
    def now(self) -> datetime:
        """The moment of what is shown, by now."""
        if self._shown is None:
            raise ValueError("Nothing is shown yet.")
        snapshot = self._shown[0]
        practice = snapshot.shift is not None and snapshot.shift.started.practice
        if snapshot.mode is Mode.REPLAY or practice:
            return snapshot.now
        return snapshot.now + timedelta(seconds=time.monotonic() - self._came_at)

    @property
    def is_current(self) -> bool:
        """Whether what is shown is fresh enough to go by."""
        return self._shown is not None and self.now - self._shown[0].now <= STALE

    def show_snapshot(self, snapshot: Snapshot, person: UserContext) -> None:
        """Show a snapshot."""
        self._shown = (snapshot, person)
        self._came_at = time.monotonic()
        self._second.start()
        self._grow_older()

    @Slot()
    def _grow_older(self) -> None:
        if self._shown is None:
            return
        snapshot, person = self._shown
        self._view = present(replace(snapshot, now=self.now), person, self._shelf)
        self.setAccessibleName(" ".join(self.words(panel) for panel in self._view.panels))
        self.update()

    def words(self, panel: PanelView) -> str:
        """Return all that stands in the column of a tank."""
        parts = [
            panel.title,
            self.state(panel),
            panel.level.text,
            self.age(panel),
            self.step(panel),
        ]
        return ". ".join(parts)

    def state(self, panel: PanelView) -> str:
        """Return how a tank is; old data tell nothing of it."""
        return panel.state or panel.look.word if self.is_current else tr("Not current")

    @staticmethod
    def age(panel: PanelView) -> str:
        """Return by what the level was measured, and when."""
        return tr("ppm, {measured}", measured=panel.measured.text)

    def step(self, panel: PanelView) -> str:
        """Return what to do; a wait counts down."""
        wait = panel.step.wait
        if wait is None:
            return panel.step.text
        return tr("{step}: {left}", step=panel.step.text, left=wait.left(self.now))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Leave by Esc; F fills the screen, or no longer."""
        if event.key() == Qt.Key.Key_Escape:
            self.close()
        elif event.key() == Qt.Key.Key_F:
            self.setWindowState(self.windowState() ^ Qt.WindowState.WindowFullScreen)
        else:
            super().keyPressEvent(event)

    def mouseDoubleClickEvent(self, _event: object) -> None:
        """Fill the screen, or no longer."""
        self.setWindowState(self.windowState() ^ Qt.WindowState.WindowFullScreen)

    def closeEvent(self, event: QCloseEvent) -> None:
        """Let no timer run behind a closed window."""
        self._second.stop()
        super().closeEvent(event)

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw the head and a column for each tank."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), QColor(theme.current().paper))
        if self._view is None or self._shown is None:
            return
        margin, gap = self.width() * _MARGIN, self.width() * _GAP
        head = QRectF(margin, 0, self.width() - 2 * margin, self.height() * _HEAD)
        self._draw_head(painter, head)
        panels = self._view.panels
        if not panels:
            self._say_empty(painter, head)
            return
        top = head.bottom()
        # The first tank's step is the largest: its column is the widest.
        first = self._view.agenda[0].tank if self._view.agenda and len(panels) > 1 else None
        shares = [1.25 if panel.number == first else 1.0 for panel in panels]
        unit = (head.width() - gap * (len(panels) - 1)) / sum(shares)
        left = margin
        columns = {}
        for panel, share in zip(panels, shares, strict=True):
            box = QRectF(left, top, unit * share, self.height() - top - margin)
            columns[panel.number] = FarColumn(painter, box, self, panel)
            left += unit * share + gap
        most = (self.height() - top) * _STEP * 0.26
        if first is not None:
            most = columns[first].step_px(most)
        for column in columns.values():
            column.draw()
            column.draw_step(column.step_px(most))

    def _draw_head(self, painter: QPainter, head: QRectF) -> None:
        shades = theme.current()
        snapshot = self._shown[0] if self._shown is not None else None
        setup = None if snapshot is None else snapshot.setup
        painter.setFont(type_of(head.height() * 0.42, Weight.DemiBold))
        painter.setPen(QColor(shades.ink))
        line = setup.line if setup is not None else "washmon"
        middle = Qt.AlignmentFlag.AlignVCenter
        painter.drawText(head, middle | Qt.AlignmentFlag.AlignLeft, line)
        painter.drawText(head, middle | Qt.AlignmentFlag.AlignRight, f"{self.now:%H:%M}")
        if not self.is_current:
            painter.setPen(QColor(shades.stop_ink))
            minutes = int((self.now - snapshot.now).total_seconds() // 60) if snapshot else 0
            said = tr("Not current: nothing new for {minutes} min", minutes=minutes)
            painter.drawText(head, Qt.AlignmentFlag.AlignCenter, said)

    def _say_empty(self, painter: QPainter, head: QRectF) -> None:
        painter.setFont(type_of(head.height() * 0.42))
        painter.setPen(QColor(theme.current().soft_ink))
        painter.drawText(self.rect(), Qt.AlignmentFlag.AlignCenter, tr("No shift is running"))


class FarColumn:
    """One tank, drawn as large as its box allows."""

    def __init__(self, painter: QPainter, box: QRectF, far: FarView, panel: PanelView) -> None:
        self._painter = painter
        self._far = far
        self._panel = panel
        self._box = box
        pad = box.width() * 0.055
        self._inside = box.adjusted(pad, 0, -pad, -pad)

    def draw(self) -> None:
        """Draw card, name, state, number and age from the top down."""
        painter, panel, inside = self._painter, self._panel, self._inside
        shades = theme.current()
        current = self._far.is_current
        painter.setPen(QColor(shades.hairline))
        painter.setBrush(QColor(shades.card))
        painter.drawRoundedRect(self._box, 8, 8)
        edge = QRectF(
            self._box.left(), self._box.top(), self._box.width(), self._far.height() * _EDGE
        )
        painter.fillRect(edge, QColor(panel.look.colour(shades) or shades.hairline))
        height = self._box.height()
        y = edge.bottom() + height * 0.015
        y += self._line(panel.title, y, height * 0.075, Weight.DemiBold)
        y += self._draw_state(y, height * 0.13)
        number = QRectF(inside.left(), y, inside.width(), self.step_box.top() - y)
        ink = self._ink(panel) if current else shades.soft_ink
        self._draw_number(number, ink)

    @staticmethod
    def _ink(panel: PanelView) -> str:
        shades = theme.current()
        inks = {Tone.WATCH: shades.watch_ink, Tone.ACT: shades.act_ink, Tone.STOP: shades.stop_ink}
        return inks.get(panel.level.look.tone, shades.ink)

    def _line(self, words: str, y: float, most_px: float, weight: QFont.Weight) -> float:
        box = QRectF(self._inside.left(), y, self._inside.width(), most_px)
        self._painter.setFont(fitting(words, box, most_px * 0.72, weight))
        self._painter.setPen(QColor(theme.current().ink))
        self._painter.drawText(box, Qt.AlignmentFlag.AlignVCenter, words)
        return most_px

    def _draw_state(self, y: float, most_px: float) -> float:
        side = min(most_px * 0.92, self._inside.width() * 0.34)
        mark = QRectF(self._inside.left(), y + (most_px - side) / 2, side, side)
        draw_mark(
            self._painter, mark, self._panel.look if self._far.is_current else MarkState.UNKNOWN
        )
        left = mark.right() + side * 0.16
        box = QRectF(left, y, self._inside.right() - left, most_px)
        words = self._far.state(self._panel)
        self._painter.setFont(fitting(words, box, most_px * 0.5, Weight.DemiBold))
        self._painter.setPen(QColor(theme.current().ink))
        self._painter.drawText(box, Qt.AlignmentFlag.AlignVCenter | Qt.TextFlag.TextWordWrap, words)
        return most_px

    def _draw_number(self, box: QRectF, ink: str) -> None:
        painter = self._painter
        level = QRectF(box.left(), box.top(), box.width(), box.height() * 0.78)
        painter.setFont(fitting(self._panel.level.text, level, level.height(), Weight.Bold))
        painter.setPen(QColor(ink))
        painter.drawText(level, Qt.AlignmentFlag.AlignVCenter, self._panel.level.text)
        age = QRectF(box.left(), level.bottom(), box.width(), box.height() * 0.22)
        words = self._far.age(self._panel)
        painter.setFont(fitting(words, age, age.height() * 0.62, Weight.Normal))
        painter.setPen(QColor(theme.current().soft_ink))
        painter.drawText(age, Qt.AlignmentFlag.AlignVCenter | Qt.TextFlag.TextWordWrap, words)

    @property
    def step_box(self) -> QRectF:
        """Where the step stands."""
        height = self._box.height() * _STEP
        inside = self._inside
        return QRectF(inside.left(), inside.bottom() - height, inside.width(), height)

    def step_px(self, most_px: float) -> float:
        """Return how large the step may be written."""
        words = self._far.step(self._panel)
        return float(fitting(words, self.step_box, most_px, Weight.DemiBold).pixelSize())

    def draw_step(self, size_px: float) -> None:
        """Draw what to do, with a ring where it is a wait."""
        box, wait = self.step_box, self._panel.step.wait
        self._painter.setFont(type_of(size_px, Weight.DemiBold))
        self._painter.setPen(QColor(theme.current().ink))
        flags = Qt.AlignmentFlag.AlignBottom | Qt.TextFlag.TextWordWrap
        words = self._far.step(self._panel)
        self._painter.drawText(box, flags, words)
        if wait is not None and self._far.is_current:
            used = self._painter.boundingRect(box, int(flags), words)
            side = min(size_px, used.top() - box.top())
            ring = QRectF(box.left(), used.top() - side * 1.1, side, side)
            draw_ring(self._painter, ring, wait.share(self._far.now))


def type_of(height_px: float, weight: QFont.Weight = Weight.Normal) -> QFont:
    """Return the program's type so many pixels high, tabular."""
    font = theme.font(theme.Size.BODY, weight, tabular=True)
    font.setPixelSize(max(1, round(height_px)))
    return font


def fitting(words: str, box: QRectF, most_px: float, weight: QFont.Weight) -> QFont:
    """Return the largest type in which words, wrapped where they may be, fit into a box."""
    size = max(most_px, 1.0)
    while size > _LEAST_PX:
        font = type_of(size, weight)
        metrics = QFontMetricsF(font)
        needed = metrics.boundingRect(box, int(Qt.TextFlag.TextWordWrap), words)
        widest = max((metrics.horizontalAdvance(word) for word in words.split()), default=0.0)
        if needed.height() <= box.height() + 1 and widest <= box.width():
            return font
        size *= 0.94
    return type_of(_LEAST_PX, weight)


_LEAST_PX = 12.0
