"""The doors between the rooms: each makes its page, opens it, and knows where it leads."""

from collections.abc import Callable
from typing import TYPE_CHECKING, TypeVar

from PySide6.QtCore import QObject, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.board_page import BoardPage
from washmon.gui.i18n import tr
from washmon.gui.ready_page import ReadyPage
from washmon.gui.rooms import Room
from washmon.gui.session_files import SessionFiles
from washmon.line.events import RULES, SetupSaved
from washmon.line.setup import LineSetup, Role
from washmon.recorder import Failed, Refused
from washmon.sessions.file import Session

if TYPE_CHECKING:
    from washmon.gui.main_window import MainWindow
    from washmon.gui.practice.room import PracticeRoom

W = TypeVar("W", bound=QWidget)
ASIDE = frozenset({Room.REPLAY, Room.CALCULATOR, Room.PINS, Room.HELP})
"""Rooms that may be entered in the middle of something, and lead back to it."""


class Doors(QObject):
    """Ways from room to room. A page is imported when it is made: start-up is measured."""

    def __init__(self, window: "MainWindow") -> None:
        super().__init__(window)
        self._window = window
        self._setup_ticket: int | None = None
        self._practising: PracticeRoom | None = None
        self._before: tuple[Room | None, QWidget | None] = (None, None)
        self.sessions = SessionFiles(window)
        self.sessions.to_play.connect(self._play)

    def makers(self) -> dict[Room, Callable[[], QWidget]]:
        """Return how each page is made."""
        return {
            Room.GUIDE: self._guide,
            Room.READY: self._ready,
            Room.START: self._start,
            Room.FILLING: self._filling,
            Room.BOARD: self._board,
            Room.END: self._end,
            Room.SUMMARY: self._summary,
            Room.LOGBOOK: self._logbook,
            Room.TRENDS: self._trends,
            Room.IMPORT: self._import,
            Room.REPLAY: self._replay,
            Room.PRACTICE: self._practice,
            Room.CALCULATOR: self._calculator,
            Room.PINS: self._pins,
            Room.HELP: self._help,
        }

    def _enter(self, room: Room, kind: type[W]) -> W:
        self._window.notice.clear()
        front = self._window.rooms.room
        if room in ASIDE and front not in ASIDE:
            self._before = (front, self._window.focusWidget())
        page = self._window.rooms.enter(room)
        assert isinstance(page, kind)  # noqa: S101 - makers and rooms belong together
        return page

    @Slot()
    def _go_back(self) -> None:
        """Leave a room aside for the one before it, where what was begun still stands."""
        room, focus = self._before
        if room is None:
            self._window.go_home()
        else:
            self._window.go_to(room, focus)

    # -- set-up -------------------------------------------------------------------------------

    def _guide(self) -> QWidget:
        from washmon.gui.setup_guide.guide import SetupGuide

        guide = SetupGuide()
        guide.finished.connect(self._save_setup)
        guide.left.connect(self._window.go_home)
        self._window.desk.answered.connect(self._setup_answered)
        return guide

    @Slot()
    def open_guide(self) -> None:
        """Describe the line, or change it."""
        from washmon.gui.setup_guide.guide import SetupGuide

        snapshot = self._window.snapshot
        guide = self._enter(Room.GUIDE, SetupGuide)
        guide.start(snapshot.setup if snapshot else None)

    @Slot(object)
    def _save_setup(self, setup: LineSetup) -> None:
        leads = [one.initials for one in setup.people if one.role is not Role.LINE_WORKER]
        by = self._window.person.initials
        if setup.person(by) is None:
            by = next(iter(leads), RULES)
        self._window.settings.line = setup.line
        event = SetupSaved(at=self._window.desk.clock(), by=by, setup=setup)
        self._setup_ticket = self._window.desk.enter(event)

    @Slot(int, object)
    def _setup_answered(self, ticket: int, answer: object) -> None:
        if ticket != self._setup_ticket:
            return
        say = self._window.person.say
        match answer:
            case Refused():
                self._window.warn(" ".join(say(fault.message) for fault in answer.faults))
            case Failed():
                self._window.warn(say(answer.sentence))
            case _:
                self._window.go_home()
                self._window.tell(
                    tr("The set-up is saved. The running shift keeps the one it has.")
                    if self._window.is_running
                    else tr("The set-up is saved.")
                )

    # -- a shift ------------------------------------------------------------------------------

    def _ready(self) -> QWidget:
        page = ReadyPage()
        page.start_asked.connect(self.open_start)
        page.replay_asked.connect(self.sessions.ask_to_open)
        page.practice_asked.connect(self.open_practice)
        page.setup_asked.connect(self.open_guide)
        page.logbook_asked.connect(self.open_logbook)
        return page

    def _start(self) -> QWidget:
        from washmon.gui.shift.start import ShiftStart

        page = ShiftStart(self._window.desk)
        page.started.connect(self.open_filling)
        page.left.connect(self._window.go_home)
        return page

    @Slot()
    def open_start(self) -> None:
        """Start a shift on the newest set-up."""
        from washmon.gui.shift.start import ShiftStart

        snapshot = self._window.snapshot
        if snapshot is not None and snapshot.setup is not None:
            page = self._enter(Room.START, ShiftStart)
            page.open(snapshot.setup, self._window.person.decimal_point)

    def _filling(self) -> QWidget:
        from washmon.gui.filling_room import FillingRoom

        page = FillingRoom(self._window.desk)
        page.left.connect(self._window.go_home)
        return page

    @Slot()
    def open_filling(self) -> None:
        """Make up the tanks, one after the other."""
        self._window.notice.clear()
        self._window.rooms.enter(Room.FILLING)

    def _board(self) -> QWidget:
        page = BoardPage(self._window.desk)
        page.action_asked.connect(self._window.act)
        return page

    def _end(self) -> QWidget:
        from washmon.gui.shift.end import ShiftEnd

        page = ShiftEnd(self._window.desk)
        page.ended.connect(self._open_summary)
        page.left.connect(self._window.go_home)
        return page

    @Slot()
    def open_end(self) -> None:
        """Ask what the shift ends with."""
        from washmon.gui.shift.end import ShiftEnd

        if self._window.snapshot is not None:
            page = self._enter(Room.END, ShiftEnd)
            page.open(self._window.snapshot, self._window.person)

    # -- records ------------------------------------------------------------------------------

    def _summary(self) -> QWidget:
        from washmon.gui.logbook.summary_page import ShiftSummaryPage

        page = ShiftSummaryPage(self._window.desk)
        page.left.connect(self._window.go_home)
        page.session_file_asked.connect(self.sessions.ask_to_save)
        return page

    @Slot(str)
    def _open_summary(self, chain: str) -> None:
        from washmon.gui.logbook.summary_page import ShiftSummaryPage

        page = self._enter(Room.SUMMARY, ShiftSummaryPage)
        page.open(chain, self._window.person)

    def _logbook(self) -> QWidget:
        from washmon.gui.logbook.logbook import Logbook

        page = Logbook(self._window.desk)
        page.left.connect(self._window.go_home)
        page.session_file_asked.connect(self.sessions.ask_to_save)
        page.replay_asked.connect(self.sessions.open_shift)
        return page

    @Slot()
    def open_logbook(self) -> None:
        """Look at past shifts."""
        from washmon.gui.logbook.logbook import Logbook

        page = self._enter(Room.LOGBOOK, Logbook)
        page.list.say_checked(self._window.care.checked)
        page.open(self._window.person)

    @Slot(str)
    def open_record(self, chain: str) -> None:
        """Look at one past shift."""
        from washmon.gui.logbook.logbook import Logbook

        self.open_logbook()
        page = self._window.rooms.page(Room.LOGBOOK)
        if isinstance(page, Logbook):
            page.open_shift(chain)

    def say_checked(self, words: str) -> None:
        """Let the Logbook say what a check of the journal found, if it was ever opened."""
        from washmon.gui.logbook.logbook import Logbook

        page = self._window.rooms.made(Room.LOGBOOK)
        if isinstance(page, Logbook):
            page.list.say_checked(words)

    @Slot()
    def save_session(self) -> None:
        """Save the shown shift as a session file."""
        snapshot = self._window.snapshot
        if snapshot is not None and snapshot.shift is not None:
            self.sessions.ask_to_save(snapshot.shift.chain)

    def _trends(self) -> QWidget:
        from washmon.gui.trends.page import TrendsPage

        page = TrendsPage(self._window.desk)
        page.left.connect(self._window.go_home)
        page.opened.connect(self._open_in_logbook)
        return page

    @Slot()
    def open_trends(self) -> None:
        """See what drifts from shift to shift."""
        from washmon.gui.trends.page import TrendsPage

        self._enter(Room.TRENDS, TrendsPage).open(self._window.person)

    @Slot(str)
    def _open_in_logbook(self, chain: str) -> None:
        from washmon.gui.logbook.logbook import Logbook

        page = self._enter(Room.LOGBOOK, Logbook)
        page.open(self._window.person)
        page.open_shift(chain)

    def _import(self) -> QWidget:
        from washmon.gui.importing.page import ImportPage

        page = ImportPage(self._window.desk)
        page.left.connect(self._window.go_home)
        page.logbook_asked.connect(self.open_logbook)
        return page

    @Slot()
    def open_import(self) -> None:
        """Take over a log that was kept in a spreadsheet until now."""
        from washmon.gui.importing.page import ImportPage

        snapshot = self._window.snapshot
        page = self._enter(Room.IMPORT, ImportPage)
        page.open(snapshot.setup if snapshot else None, self._window.person)

    # -- replay -------------------------------------------------------------------------------

    def _replay(self) -> QWidget:
        from washmon.gui.replay_room import ReplayRoom

        page = ReplayRoom()
        page.left.connect(self._go_back)
        page.snapshot_shown.connect(self._window.header.show_snapshot)
        return page

    @Slot(object)
    def _play(self, session: Session) -> None:
        from washmon.gui.replay_room import ReplayRoom

        self._enter(Room.REPLAY, ReplayRoom).play(session)

    # -- practice -----------------------------------------------------------------------------

    def _practice(self) -> QWidget:
        from washmon.gui.practice.room import PracticeRoom

        page = PracticeRoom(self._window.desk)
        page.left.connect(self._window.go_home)
        page.replay_asked.connect(self.sessions.open_shift)
        self._practising = page
        # Its own bar stands in place of the header, which speaks of the shed's shift.
        self._window.rooms.currentChanged.connect(self._hide_header)
        return page

    @Slot(int)
    def _hide_header(self, _place: int) -> None:
        practising = self._window.rooms.room is Room.PRACTICE
        self._window.header.setVisible(not practising)
        if not practising:
            self.leave_practice()

    @Slot()
    def open_practice(self) -> None:
        """Practise on a simulated line; not while the shed's own shift needs this window."""
        from washmon.gui.practice.room import PracticeRoom

        if self._window.is_running:
            self._window.warn(tr("A shift is running: practise when it has ended."))
            return
        self._enter(Room.PRACTICE, PracticeRoom).open()

    def leave_practice(self) -> None:
        """Interrupt an attempt, if one is being worked on; it is kept."""
        if self._practising is not None:
            self._practising.interrupt()

    # -- beside the work ----------------------------------------------------------------------

    def _calculator(self) -> QWidget:
        from washmon.gui.calculator.page import Calculator

        page = Calculator()
        page.left.connect(self._go_back)
        return page

    @Slot()
    def open_calculator(self) -> None:
        """Work something out."""
        from washmon.gui.calculator.page import Calculator

        snapshot = self._window.snapshot
        page = self._enter(Room.CALCULATOR, Calculator)
        setup, shift = (snapshot.setup, snapshot.shift) if snapshot else (None, None)
        if shift is not None and self._window.is_running:
            page.open(shift.setup, self._window.person, shift)
        else:
            page.open(setup, self._window.person)

    def _pins(self) -> QWidget:
        from washmon.gui.pins_page import PinsPage

        page = PinsPage(self._window.desk)
        page.left.connect(self._go_back)
        return page

    @Slot()
    def open_pins(self) -> None:
        """Set, change or reset a PIN."""
        from washmon.gui.pins_page import PinsPage

        page = self._enter(Room.PINS, PinsPage)
        page.open(self._window.person)

    def _help(self) -> QWidget:
        from washmon.gui.help_page import HelpPage

        page = HelpPage()
        page.left.connect(self._go_back)
        return page

    @Slot()
    def open_help(self) -> None:
        """Read the keys, words, rules and cautions."""
        from washmon.gui.help_page import HelpPage

        self._enter(Room.HELP, HelpPage)
