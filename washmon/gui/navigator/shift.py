"""Ways through a shift: ready, start, filling, Board, end."""

from PySide6.QtCore import Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.board_page import BoardPage
from washmon.gui.navigator.group import Makers, PageGroup
from washmon.gui.ready_page import ReadyPage
from washmon.gui.rooms import Room


class ShiftPages(PageGroup):
    """Through a shift."""

    def makers(self) -> Makers:
        """Return how each page is made."""
        return {
            Room.READY: self._ready,
            Room.START: self._start,
            Room.FILLING: self._filling,
            Room.BOARD: self._board,
            Room.END: self._end,
        }

    def _ready(self) -> QWidget:
        page = ReadyPage()
        page.start_asked.connect(self.open_start)
        page.replay_asked.connect(self._navigator.sessions.ask_to_open)
        page.practice_asked.connect(self._navigator.practice.open_practice)
        page.setup_asked.connect(self._navigator.setup.open_guide)
        page.logbook_asked.connect(self._navigator.records.open_logbook)
        return page

    def _start(self) -> QWidget:
        from washmon.gui.shift.start import ShiftStart

        page = ShiftStart(self._window.client)
        page.started.connect(self.open_filling)
        page.left.connect(self._window.go_home)
        return page

    @Slot()
    def open_start(self) -> None:
        """Start a shift on the newest set-up."""
        from washmon.gui.shift.start import ShiftStart

        snapshot = self._window.snapshot
        if snapshot is not None and snapshot.setup is not None:
            page = self._navigator.enter(Room.START, ShiftStart)
            page.open(snapshot.setup, self._window.person.decimal_point)

    def _filling(self) -> QWidget:
        from washmon.gui.filling_room import FillingRoom

        page = FillingRoom(self._window.client)
        page.left.connect(self._window.go_home)
        return page

    @Slot()
    def open_filling(self) -> None:
        """Make up the tanks, one after the other."""
        self._window.notice.clear()
        self._window.rooms.enter(Room.FILLING)

    def _board(self) -> QWidget:
        page = BoardPage(self._window.client)
        page.action_asked.connect(self._window.act)
        page.more_asked.connect(self._window.open_menu)
        return page

    def _end(self) -> QWidget:
        from washmon.gui.shift.end import ShiftEnd

        page = ShiftEnd(self._window.client)
        page.ended.connect(self._navigator.records.open_summary)
        page.left.connect(self._window.go_home)
        return page

    @Slot()
    def open_end(self) -> None:
        """Ask what the shift ends with."""
        from washmon.gui.shift.end import ShiftEnd

        if self._window.snapshot is not None:
            page = self._navigator.enter(Room.END, ShiftEnd)
            page.open(self._window.snapshot, self._window.person)
