"""The live screen of a shift: banners, who is first, and the tanks in line order."""

import time
from datetime import datetime, timedelta

from msgspec.structs import replace
from PySide6.QtCore import Qt, QTimer, Signal, Slot
from PySide6.QtGui import QColor, QHideEvent, QPainter, QPaintEvent, QShowEvent
from PySide6.QtWidgets import QWidget

from washmon.gui.board.agenda_strip import AgendaStrip
from washmon.gui.board.notices import Banners, EmptyBoard, not_current
from washmon.gui.board.panel import GAP_PX
from washmon.gui.board.panel_views import BoardView, PanelView, Phase
from washmon.gui.board.presenter import ViewShelf, present
from washmon.gui.board.tank_columns import Columns
from washmon.gui.board.why_sheet import WhySheet
from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.boxes import vbox
from washmon.gui.kit.buttons import PressButton
from washmon.gui.kit.spoken import announce
from washmon.gui.kit.state_mark import MarkState
from washmon.planning.snapshot import Mode, Snapshot

FRAME_MS = 33
AGES_MS = 10_000
SECOND_MS = 1000
FRESH_S = 1.0
"""So long after a step has changed it is asked whether that one was done."""
_MARGIN_PX = 12
_TOP_PX = 2
_BOTTOM_PX = 6


class Board(QWidget):
    """Draws snapshots, at most one every ``frame_ms``; the first of a burst is drawn at once.

    Signals:
        answer_asked(int): the person did what the plan of this tank asks for.
        acknowledge_asked(int, str): the flag of this tank and rule was seen.
        shelve_asked(Flag): the person wants to put a flag aside for a while.
        unshelve_asked(int, str): the shelved flag of this tank and rule is wanted back.
        tank_chosen(int): a tank was pressed.
    """

    answer_asked = Signal(int)
    acknowledge_asked = Signal(int, str)
    shelve_asked = Signal(object)
    unshelve_asked = Signal(int, str)
    tank_chosen = Signal(int)

    def __init__(self, parent: QWidget | None = None, *, frame_ms: int = FRAME_MS) -> None:
        super().__init__(parent)
        self.frame_ms = frame_ms
        self._shelf = ViewShelf()
        self._shown: tuple[Snapshot, UserContext] | None = None
        self._due: tuple[Snapshot, UserContext] | None = None
        self._came_at = 0.0
        self._drawn_at = float("-inf")
        self._view: BoardView | None = None
        self._changed: dict[int, float] = {}
        self._asked_by_key = False
        self._frame = QTimer(self, singleShot=True)
        self._ages = QTimer(self, interval=AGES_MS)
        self._second = QTimer(self, interval=SECOND_MS)
        self.banners = Banners(self)
        self.agenda = AgendaStrip(self)
        self.columns = Columns(self)
        self.empty = EmptyBoard(self)
        self.why = WhySheet(self)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)  # nothing under it is drawn
        self._lay_out()
        self._connect()

    def _lay_out(self) -> None:
        vbox(
            self.banners,
            self.agenda,
            (self.columns, 1),
            (self.empty, 1),
            on=self,
            gap_px=GAP_PX // 2,
            margins_px=(_MARGIN_PX, _TOP_PX, _MARGIN_PX, _BOTTOM_PX),
        )
        for widget in (self.agenda, self.columns):
            widget.hide()

    def _connect(self) -> None:
        self._frame.timeout.connect(self._draw)
        self._ages.timeout.connect(self._grow_older)
        self._second.timeout.connect(self._count_down)
        self.agenda.chosen.connect(self._take_turn)
        self.columns.chosen.connect(self.tank_chosen)
        self.columns.answered.connect(self.answer_asked)
        self.columns.why_asked.connect(self.explain)
        self.why.acknowledged.connect(self.acknowledge_asked)
        self.why.shelve_asked.connect(self.shelve_asked)
        self.why.brought_back.connect(self.unshelve_asked)
        self.why.left.connect(self._leave_why)

    @property
    def view(self) -> BoardView | None:
        """What is shown."""
        return self._view

    @property
    def first(self) -> int | None:
        """The tank whose step is the first that can be answered."""
        panels = self._view.panels if self._view is not None else ()
        return next((one.number for one in panels if one.step.first), None)

    @property
    def _first_step(self) -> str:
        """What is to be done first, in words for the ear; empty where nobody is needed."""
        turn = self._view.agenda[0] if self._view is not None and self._view.agenda else None
        panel = self.panel(turn.tank) if turn is not None and turn.pressing else None
        if panel is None:
            return ""
        return tr("First, tank {tank}: {step}", tank=panel.title, step=panel.step.text)

    def panel(self, tank: int) -> PanelView | None:
        """Return what is said of a tank."""
        panels = self._view.panels if self._view is not None else ()
        return next((one for one in panels if one.number == tank), None)

    def near(self, widget: QWidget | None) -> int | None:
        """Return the tank whose panel holds the keyboard, else the one that comes first."""
        for panel in self.columns.panels:
            if panel.view is not None and widget is not None and panel.isAncestorOf(widget):
                return panel.view.number
        panels = self._view.panels if self._view is not None else ()
        return self.first or (panels[0].number if panels else None)

    def show_snapshot(self, snapshot: Snapshot, person: UserContext) -> None:
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

    @property
    def _stands_still(self) -> bool:
        """Whether the clock of what is shown is not the one on the wall."""
        if self._shown is None:
            return True
        snapshot = self._shown[0]
        practice = snapshot.shift is not None and snapshot.shift.started.practice
        return snapshot.mode is Mode.REPLAY or practice

    @property
    def _now(self) -> datetime:
        """The moment of what is shown, by now."""
        if self._shown is None:
            raise ValueError("Nothing is shown yet.")
        now = self._shown[0].now
        if self._stands_still:
            return now
        return now + timedelta(seconds=time.monotonic() - self._came_at)

    @Slot()
    def _grow_older(self) -> None:
        """Draw the ages anew; a recorded or an ended shift stands still."""
        if self._shown is None or self._due is not None or self._stands_still:
            return
        snapshot, person = self._shown
        view = present(replace(snapshot, now=self._now), person, self._shelf)
        self._show_view(not_current(view, time.monotonic() - self._came_at))

    @Slot()
    def _count_down(self) -> None:
        if not self._stands_still:
            now = self._now
            self.agenda.tick(now)
            self.columns.tick(now)

    def _show_view(self, view: BoardView) -> None:
        if view == self._view:
            return
        self._note_changes(self._view, view)
        said, self._view = self._first_step, view
        if self._first_step not in ("", said) and self.isVisible():
            announce(self, self._first_step, at_once=view.agenda[0].look is MarkState.STOP)
        empty = view.phase in (Phase.NO_SETUP, Phase.NO_SHIFT)
        self.empty.show_phase(view.phase)
        self.empty.setVisible(empty)
        self.columns.setVisible(not empty)
        self.banners.show_banners(view.banners)
        self.agenda.setVisible(bool(view.agenda))
        self.agenda.show_turns(view.agenda, self._now)
        self.columns.show_panels(view.panels, self._now)
        waits = any(panel.step.wait is not None for panel in view.panels)
        if waits and self.isVisible():
            self._second.start()
        else:
            self._second.stop()
        if self.why.tank is not None:
            why = view.why(self.why.tank)
            if why is None:
                self.why.shut()
            else:
                self.why.show_view(why)

    def _note_changes(self, before: BoardView | None, view: BoardView) -> None:
        """Remember when the step of a tank became another one under somebody's hand."""
        steps = {} if before is None else {one.number: one.step for one in before.panels}
        for panel in view.panels:
            old = steps.get(panel.number)
            if old is not None and (old.text, old.answer) != (panel.step.text, panel.step.answer):
                self._changed[panel.number] = time.monotonic()

    def note_entry(self, tank: int) -> None:
        """Know that something was entered about a tank: its step is another one by and by."""
        self._changed[tank] = time.monotonic()

    def is_fresh(self, tank: int) -> bool:
        """Tell whether the step of a tank changed so lately that a hand may mean the old one."""
        return time.monotonic() - self._changed.get(tank, float("-inf")) < FRESH_S

    @Slot(int)
    def explain(self, tank: int) -> None:
        """Show what stands behind the plan of a tank; once more closes it."""
        why = self._view.why(tank) if self._view is not None else None
        if why is None:
            return
        if self.why.tank == tank:
            self.why.shut()
            return
        self._asked_by_key = isinstance(self.window().focusWidget(), PressButton)
        state = self.columns.panels[0].state
        at = state.mapTo(self, state.rect().bottomLeft())
        self.why.explain(why, at.y() + GAP_PX // 2)

    @Slot()
    def _leave_why(self) -> None:
        """Put the keyboard back on the button that asked, if it was there."""
        if not self._asked_by_key:
            self.setFocus()
            return
        for panel in self.columns.panels:
            if panel.view is not None and panel.view.number == self.why.tank:
                panel.state.plan.why.setFocus()

    @Slot(int)
    def _take_turn(self, tank: int) -> None:
        """Do what a tank asks for; one that asks for nothing is read."""
        panel = self.panel(tank)
        if panel is not None and panel.step.answer:
            self.answer_asked.emit(tank)
        else:
            self.tank_chosen.emit(tank)

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
        self._second.stop()

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Lay the paper."""
        QPainter(self).fillRect(self.rect(), QColor(theme.current().paper))
