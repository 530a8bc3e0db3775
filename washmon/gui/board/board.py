"""The live screen of a shift: banners, the tanks in line order, and what to do first."""

import time
from datetime import timedelta

from msgspec.structs import replace
from PySide6.QtCore import Qt, QTimer, Signal, Slot
from PySide6.QtGui import QColor, QHideEvent, QPainter, QPaintEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from washmon.gui.board.columns import GAP_PX, Columns
from washmon.gui.board.flag_list import LIST_PX, RAIL_PX, FlagList, FlagRail
from washmon.gui.board.notices import Banners, EmptyBoard
from washmon.gui.board.panel import NARROWEST_PX
from washmon.gui.board.presenter import Shelf, present
from washmon.gui.board.views import BoardView, Phase
from washmon.gui.context import Person
from washmon.gui.kit import theme
from washmon.gui.kit.state_mark import Look
from washmon.planning.snapshot import Mode, Snapshot

FRAME_MS = 33
AGES_MS = 10_000
_MARGIN_PX = 12
_TOP_PX = 8


class Board(QWidget):
    """Draws snapshots, at most one every ``frame_ms``; the first of a burst is drawn at once.

    Signals:
        answer_asked(Flag): the person wants to enter what the flag's step asked for.
        acknowledge_asked(int, str): the flag of this tank and rule was seen.
        shelve_asked(Flag): the person wants to put a flag aside for a while.
        unshelve_asked(int, str): the shelved flag of this tank and rule is wanted back.
        tank_chosen(int): a tank was pressed.
    """

    answer_asked = Signal(object)
    acknowledge_asked = Signal(int, str)
    shelve_asked = Signal(object)
    unshelve_asked = Signal(int, str)
    tank_chosen = Signal(int)

    def __init__(self, parent: QWidget | None = None, *, frame_ms: int = FRAME_MS) -> None:
        super().__init__(parent)
        self.frame_ms = frame_ms
        self._shelf = Shelf()
        self._shown: tuple[Snapshot, Person] | None = None
        self._due: tuple[Snapshot, Person] | None = None
        self._came_at = 0.0
        self._drawn_at = float("-inf")
        self._view: BoardView | None = None
        self._folded: bool | None = None
        self._frame = QTimer(self, singleShot=True)
        self._ages = QTimer(self, interval=AGES_MS)
        self.banners = Banners(self)
        self.columns = Columns(self)
        self.flags = FlagList(self)
        self.rail = FlagRail(self)
        self.empty = EmptyBoard(self)
        self._lay_out()
        self._frame.timeout.connect(self._draw)
        self._ages.timeout.connect(self._grow_older)
        self.columns.chosen.connect(self.tank_chosen)
        self.flags.answered.connect(self.answer_asked)
        self.flags.acknowledged.connect(self.acknowledge_asked)
        self.flags.shelve_asked.connect(self.shelve_asked)
        self.flags.shelved.brought_back.connect(self.unshelve_asked)
        self.flags.left.connect(self._fold)
        self.rail.toggled.connect(self._arrange)

    def _lay_out(self) -> None:
        self._row = QHBoxLayout()
        self._row.setSpacing(GAP_PX)
        self._row.addWidget(self.columns, 1)
        self._row.addWidget(self.empty, 1)
        self._row.addWidget(self.flags)
        column = QVBoxLayout(self)
        column.setContentsMargins(_MARGIN_PX, _TOP_PX, _MARGIN_PX, _TOP_PX)
        column.setSpacing(GAP_PX)
        column.addWidget(self.banners)
        column.addLayout(self._row, 1)
        for widget in (self.columns, self.flags, self.rail):
            widget.hide()

    @property
    def view(self) -> BoardView | None:
        """What is shown."""
        return self._view

    @property
    def folded(self) -> bool:
        """Whether the list of flags is folded to its count."""
        return bool(self._folded)

    def show_snapshot(self, snapshot: Snapshot, person: Person) -> None:
        """Draw a snapshot now, or with the next frame where one was drawn just before."""
        self._due = (snapshot, person)
        self._came_at = time.monotonic()
        if not self.isVisible() or self._frame.isActive():
            return
        wait_ms = self.frame_ms - (self._came_at - self._drawn_at) * 1000
        if wait_ms <= 0:
            self._draw()
        else:
            self._frame.start(max(1, round(wait_ms)))

    @Slot()
    def _draw(self) -> None:
        if self._due is None:
            return
        self._shown, self._due = self._due, None
        self._show_view(present(*self._shown, self._shelf))
        self._drawn_at = time.monotonic()

    @Slot()
    def _grow_older(self) -> None:
        """Draw the ages anew; a recorded or an ended shift stands still."""
        if self._shown is None or self._due is not None:
            return
        snapshot, person = self._shown
        practice = snapshot.shift is not None and snapshot.shift.started.practice
        if snapshot.mode is Mode.REPLAY or practice:  # their clocks are not the one on the wall
            return
        now = snapshot.now + timedelta(seconds=time.monotonic() - self._came_at)
        self._show_view(present(replace(snapshot, now=now), person, self._shelf))

    def _show_view(self, view: BoardView) -> None:
        if view == self._view:
            return
        before, self._view = self._view, view
        empty = view.phase in (Phase.NO_SETUP, Phase.NO_SHIFT)
        self.empty.show_phase(view.phase)
        self.empty.setVisible(empty)
        self.columns.setVisible(not empty)
        self.banners.show_banners(view.banners)
        in_limits = all(panel.look is Look.IN_LIMITS for panel in view.panels)
        self.flags.show_flags(view.flags, view.calm, in_limits=in_limits)
        self.flags.shelved.show_shelved(view.shelved)
        self.rail.show_flags(view.flags)
        if before is None or len(before.panels) != len(view.panels):
            self._arrange()
        self.columns.show_panels(view.panels)

    def _must_fold(self) -> bool:
        """Tell whether the columns would be too narrow beside the whole list."""
        count = len(self._view.panels) if self._view is not None else 0
        room = self.width() - 2 * _MARGIN_PX - LIST_PX - GAP_PX * count
        return room < NARROWEST_PX * count

    @Slot()
    def _arrange(self) -> None:
        """Place the list of flags: beside the columns, over them, or behind its count."""
        running = self._view is not None and bool(self._view.panels)
        folded = running and self._must_fold()
        if folded is not self._folded:
            self._folded = folded
            gone, come = (self.flags, self.rail) if folded else (self.rail, self.flags)
            self._row.removeWidget(gone)
            self._row.addWidget(come)
            self._row.setAlignment(self.rail, Qt.AlignmentFlag.AlignTop)
            self.flags.lie_over(folded)
        self.rail.setVisible(folded)
        self.flags.setVisible(self.rail.isChecked() if folded else running)
        if folded:
            self._lay_over()

    def _lay_over(self) -> None:
        """Put the list over the columns, left of its count."""
        right = self.width() - _MARGIN_PX - RAIL_PX - GAP_PX
        top = self.columns.y() if self.columns.isVisible() else _TOP_PX
        self.flags.setGeometry(
            right - self.flags.width(), top, self.flags.width(), self.height() - _TOP_PX - top
        )
        self.flags.raise_()

    @Slot()
    def _fold(self) -> None:
        if self.rail.isChecked():
            self.rail.setChecked(False)
            self.rail.setFocus()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fold or unfold the list as the room asks."""
        super().resizeEvent(event)
        self._arrange()

    def showEvent(self, event: QShowEvent) -> None:
        """Draw what came while nobody looked."""
        super().showEvent(event)
        self._ages.start()
        self._draw()

    def hideEvent(self, event: QHideEvent) -> None:
        """Let no timer run behind a hidden window."""
        super().hideEvent(event)
        self._ages.stop()
        self._frame.stop()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Lay the paper."""
        del event
        QPainter(self).fillRect(self.rect(), QColor(theme.current().paper))
