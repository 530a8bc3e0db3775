"""The window: the header, one room at a time under it, and the ways between the rooms."""

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QPoint, Qt, Slot
from PySide6.QtGui import QCloseEvent, QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QApplication, QMainWindow, QScrollArea, QVBoxLayout, QWidget
from shiboken6 import isValid

from washmon.gui.action_bar import Action
from washmon.gui.board_page import BoardPage
from washmon.gui.care import Care
from washmon.gui.client import RecorderClient
from washmon.gui.context import Person, decimal_point
from washmon.gui.entry.ask import EntryKind
from washmon.gui.header import Header
from washmon.gui.kit import theme
from washmon.gui.menu import Doings, Menu
from washmon.gui.navigator import Navigator
from washmon.gui.notice import Notice
from washmon.gui.rooms import Room, Rooms
from washmon.gui.settings import Settings
from washmon.gui.sound import Alarm
from washmon.planning.snapshot import Mode, Snapshot
from washmon.units import UnitSystem

if TYPE_CHECKING:
    from washmon.gui.far_view import FarView

SMALLEST_PX = (1024, 600)
"""No page needs more; in a smaller window all but the Board scroll."""
LEAST_PX = (840, 420)
USUAL_PX = (1366, 768)
_FRAME_PX = (2, 34)
"""What a frame with its title takes, before the system has told its own."""


class MainWindow(QMainWindow):
    """Draws snapshots in the room in front, and remembers who stands before it."""

    def __init__(
        self, client: RecorderClient, settings: Settings, *, session_file: Path | None = None
    ) -> None:
        super().__init__()
        self.setObjectName("paper")
        self.setWindowTitle("washmon")
        self.setMinimumSize(*LEAST_PX)
        self.resize(*USUAL_PX)
        client.setParent(self)
        self.client = client
        self.settings = settings
        self.snapshot: Snapshot | None = None
        self.far: FarView | None = None
        self._session_file = session_file
        self._alarm = Alarm()
        self.header = Header(client.clock)
        self.notice = Notice()
        self.navigator = Navigator(self)
        self.care = Care(self)
        self.rooms = Rooms(self.navigator.makers())
        middle = QWidget()
        column = QVBoxLayout(middle)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.header)
        column.addWidget(self.care.alarm)
        column.addWidget(self.notice)
        column.addWidget(self.rooms, 1)
        self._scrolled = QScrollArea()
        self._scrolled.setWidgetResizable(True)
        self._scrolled.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        middle.setObjectName("scrolled")
        self._scrolled.setWidget(middle)
        self.setCentralWidget(self._scrolled)
        self.menu = Menu(self, self._doings(), settings)
        self.header.person_chosen.connect(self._choose_person)
        self.header.menu_asked.connect(self.open_menu)
        self.rooms.currentChanged.connect(self._place_menu)
        client.snapshot_changed.connect(self._show)

    def begin(self) -> None:
        """Show the window and take up the running shift."""
        if not self.settings.geometry.isEmpty():
            self.restoreGeometry(self.settings.geometry)
        self._keep_on_screen()
        self.rooms.enter(Room.BOARD)
        self.show()
        self.client.start()

    def _keep_on_screen(self) -> None:
        """Be no larger than what the system's bars and the frame leave of the screen."""
        room = self.screen().availableGeometry()
        frame = self.frameGeometry().size() - self.size()
        width = room.width() - max(frame.width(), _FRAME_PX[0])
        height = room.height() - max(frame.height(), _FRAME_PX[1])
        self.resize(min(self.width(), width), min(self.height(), height))
        if not room.contains(self.frameGeometry()):
            self.move(room.topLeft())

    @property
    def person(self) -> Person:
        """Whose initials stand under the next entry, and in which units they read."""
        snapshot, initials = self.snapshot, self.settings.initials
        shift = snapshot.shift if snapshot else None
        setup = snapshot.setup if snapshot else None
        if shift is not None and (setup is None or self.is_running):
            setup = shift.setup  # once it has ended, the newest one says who works here
        if shift is not None and setup is not None and setup.person(initials) is None:
            initials = shift.in_charge
        return Person(initials, setup.taste if setup else UnitSystem.METRIC, decimal_point())

    @property
    def is_running(self) -> bool:
        """Whether a shift is under way."""
        shift = self.snapshot.shift if self.snapshot else None
        return shift is not None and shift.ended is None

    def tell(self, sentence: str) -> None:
        """Say something quiet above the room in front."""
        self.notice.say(sentence)

    def warn(self, sentence: str) -> None:
        """Say that something was not done."""
        self.notice.warn(sentence)

    @Slot()
    def go_home(self) -> None:
        """Go where work goes on: the Board, or what can be begun."""
        self.notice.clear()
        if self.snapshot is None:
            return
        if self.is_running or self.snapshot.mode is Mode.READ_ONLY:
            self.rooms.enter(Room.BOARD)
        elif self.snapshot.setup is None:
            self.navigator.setup.open_guide()
        else:
            self.rooms.enter(Room.READY)
        self._draw()

    def go_to(self, room: Room, focus: QWidget | None) -> None:
        """Go back to a room as it was left, the keyboard where it was."""
        self.notice.clear()
        self.rooms.enter(room)
        if focus is not None and isValid(focus) and focus.isVisible():
            focus.setFocus()
        self._draw()

    @Slot(object)
    def _show(self, snapshot: Snapshot) -> None:
        first, self.snapshot = self.snapshot is None, snapshot
        self._draw()
        self.care.watch(snapshot)
        if self._alarm.hears(snapshot) and self.settings.sound:
            self._alarm.sound()
        if first:
            self.go_home()
            if self._session_file is not None:
                self.navigator.sessions.open_file(self._session_file)

    def _draw(self) -> None:
        if self.snapshot is None:
            return
        snapshot, person = self.snapshot, self.person
        if self.rooms.room is not Room.REPLAY:
            self.header.show_snapshot(snapshot, person)
        self.rooms.show_snapshot(snapshot, person)
        if self.far is not None and self.far.isVisible():
            self.far.show_snapshot(snapshot, person)
        shift = snapshot.shift
        self.menu.allow(
            running=self.is_running,
            holds=self.is_running and shift is not None and bool(shift.open_holds),
            shift=shift is not None,
            writes=snapshot.mode is Mode.LIVE,
            paused=shift is not None and shift.paused is not None,
        )

    @Slot(str)
    def _choose_person(self, initials: str) -> None:
        self.settings.initials = initials
        self._draw()

    @Slot(str)
    def act(self, action: str) -> None:
        """Do what a button of the bottom row asks that is no entry."""
        match Action(action):
            case Action.LOGBOOK:
                self.navigator.records.open_logbook()
            case Action.END:
                self.navigator.shift.open_end()

    def _doings(self) -> Doings:
        return Doings(
            fill=self.navigator.shift.open_filling,
            instrument=self._check_instrument,
            pause=self._pause,
            hand_over=self._hand_over,
            decide=self._decide,
            save_session=self.navigator.records.save_session,
            trends=self.navigator.records.open_trends,
            replay=self.navigator.sessions.ask_to_open,
            practice=self.navigator.practice.open_practice,
            setup=self.navigator.setup.open_guide,
            take_in=self.navigator.records.open_import,
            changes=self.navigator.beside.open_changes,
            pins=self.navigator.beside.open_pins,
            back_up=self.care.back_up_now,
            backup_folder=self.care.choose_folder,
            calculator=self.navigator.beside.open_calculator,
            far=self._open_far_view,
            help=self.navigator.beside.open_help,
            theme=self._choose_theme,
            sound=self._choose_sound,
            leave=self.close,
        )

    def _enter_on_board(self, kind: EntryKind) -> None:
        page = self.rooms.enter(Room.BOARD)
        if isinstance(page, BoardPage):
            page.open_entry(kind)

    @Slot()
    def _check_instrument(self) -> None:
        self._enter_on_board(EntryKind.INSTRUMENT)

    @Slot()
    def _pause(self) -> None:
        page = self.rooms.enter(Room.BOARD)
        if isinstance(page, BoardPage):
            page.pause_or_go_on()

    @Slot()
    def _hand_over(self) -> None:
        self._enter_on_board(EntryKind.HAND_OVER)

    @Slot()
    def _decide(self) -> None:
        self._enter_on_board(EntryKind.RELEASE)

    @Slot(str)
    def _choose_theme(self, name: str) -> None:
        app = QApplication.instance()
        chosen = theme.THEMES[name]
        self.settings.theme = chosen
        if isinstance(app, QApplication):
            theme.apply(app, chosen)

    @Slot(bool)
    def _choose_sound(self, on: bool) -> None:  # noqa: FBT001 - Qt's signal
        self.settings.sound = on

    @Slot()
    def _open_far_view(self) -> None:
        """Show the line for a wall, or across the bench, in a window of its own."""
        from washmon.gui.far_view import FarView  # noqa: PLC0415 - start-up is measured

        if self.far is None:
            self.far = FarView(self)
        if self.snapshot is not None:
            self.far.show_snapshot(self.snapshot, self.person)
        self.far.show()
        self.far.activateWindow()

    @Slot()
    def _place_menu(self) -> None:
        """Leave the menu to the row of keys, where there is one."""
        self.header.menu.setVisible(self.rooms.room is not Room.BOARD)

    @Slot()
    def open_menu(self) -> None:
        """Offer what is seldom needed; on the Board first what has no button there."""
        page = self.rooms.currentWidget()
        on_board = isinstance(page, BoardPage)
        self.menu.begin_with(page.bar.folded if isinstance(page, BoardPage) else [])
        button = page.bar.more if isinstance(page, BoardPage) else self.header.menu
        corner = button.rect().topRight() if on_board else button.rect().bottomLeft()
        at = button.mapToGlobal(corner)
        if on_board:
            size = self.menu.sizeHint()
            at -= QPoint(size.width(), size.height())
        self.menu.popup(at + QPoint(0, -4 if on_board else 4))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Let the Board have the keys that came while nothing had the keyboard."""
        page = self.rooms.currentWidget()
        if not (isinstance(page, BoardPage) and page.take_key(event)):
            super().keyPressEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Let the type grow with the window."""
        super().resizeEvent(event)
        app = QApplication.instance()
        if isinstance(app, QApplication):
            theme.grow(app, theme.scale_for(self.width(), self.height()))

    def closeEvent(self, event: QCloseEvent) -> None:
        """Finish what is on its way to the disk, then close."""
        self.settings.geometry = self.saveGeometry()
        if self.far is not None:
            self.far.close()
        self.navigator.practice.leave_practice()
        self.care.close()
        self.client.close()
        super().closeEvent(event)
