"""The window: the header, one room at a time under it, and the ways between the rooms."""

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from PySide6.QtCore import Qt, Slot
from PySide6.QtGui import QCloseEvent, QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QApplication, QMainWindow, QScrollArea, QWidget
from shiboken6 import isValid

from washmon.gui.board_page import BoardPage
from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext, decimal_point
from washmon.gui.header import Header
from washmon.gui.kit import theme
from washmon.gui.kit.boxes import vbox
from washmon.gui.kit.eye_order import EyeOrdered, step
from washmon.gui.kit.message_line import Notice
from washmon.gui.looks import Looks
from washmon.gui.maintenance import Care
from washmon.gui.menu import Doings, Menu
from washmon.gui.page import Page, PageHead
from washmon.gui.page_stack import PageStack
from washmon.gui.review.waiting_line import ReviewWatch
from washmon.gui.rooms import Room, open_record
from washmon.gui.session_files import SessionFiles
from washmon.gui.settings import Settings
from washmon.gui.sound.sounder import Sounder
from washmon.gui.touch_typing import TouchTyping
from washmon.line.kinds import EntryKind
from washmon.planning.snapshot import Mode, Snapshot
from washmon.units import UnitSystem

if TYPE_CHECKING:
    from datetime import datetime

    from washmon.forecast.learning import Past
    from washmon.gui.far_view import FarView
    from washmon.sessions.file import Session

W = TypeVar("W", bound=QWidget)
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
        self.looks = Looks(settings, self)
        self.letters = TouchTyping(self, settings)
        self.sounder = Sounder(client, settings, self)
        self.header = Header(client.clock)
        self.reviews = ReviewWatch(client, self.header.waiting, self.header.training, self)
        self.notice = Notice()
        self.care = Care(client, settings, self.notice, self)
        self.sessions = SessionFiles(client, self.notice, self)
        self.rooms = PageStack(self)
        self.menu = Menu(self, self, self._doings(), settings)
        self.setCentralWidget(_scrolled(self.header, self.care.alarm, self.notice, self.rooms))
        self._connect()

    def _connect(self) -> None:
        self.header.person_chosen.connect(self._choose_person)
        self.header.menu_asked.connect(self.open_menu)
        self.header.waiting.pressed.connect(partial(self.go, Room.REVIEW))
        self.header.training.pressed.connect(partial(self.go, Room.TRAINING))
        self.header.sound_pressed.connect(self.sounder.press)
        self.sounder.changed.connect(self._show_sound)
        self.rooms.currentChanged.connect(self._place_head)
        self.rooms.currentChanged.connect(self.reviews.renew)
        self.sessions.to_play.connect(self._play)
        self.sessions.to_show.connect(self._play_demo)
        self.care.suspect_asked.connect(partial(open_record, self))
        self.client.snapshot_changed.connect(self._show)
        self._show_sound()

    def begin(self) -> None:
        """Show the window and take up the running shift."""
        if not self.settings.geometry.isEmpty():
            self.restoreGeometry(self.settings.geometry)
        keep_on_screen(self)
        self.rooms.enter(Room.BOARD)
        self.show()
        self.letters.listen()
        self.client.start()

    @property
    def person(self) -> UserContext:
        """Whose initials stand under the next entry, and in which units they read."""
        return who_stands_there(self.snapshot, self.settings.initials)

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
        if self.snapshot is None or not self.rooms.may_leave(self.go_home):
            return
        self.notice.clear()
        if self.is_running or self.snapshot.mode is Mode.READ_ONLY:
            self.enter(Room.BOARD)
        elif self.snapshot.setup is None:
            self.enter(Room.FIRST)
        else:
            self.enter(Room.READY)
        self._draw()

    @Slot()
    def go_back(self) -> None:
        """Go where one was before, where what was begun still stands, the keyboard where it was."""
        page, focus = self.rooms.before
        if page is None:
            self.go_home()
            return
        self.notice.clear()
        self.rooms.enter(page)
        if focus is not None and isValid(focus) and focus.isVisible():
            focus.setFocus()
        self._draw()

    def go(self, page: Page[Any]) -> None:
        """Open a page, or say why it can't be opened now."""
        why_not = page.why_not(self)
        if why_not:
            self.warn(why_not)
        elif self.rooms.may_leave(partial(self.go, page), page):
            self.enter(page)

    def enter(self, page: Page[W]) -> W:
        """Open a page and return it."""
        self.notice.clear()
        made = self.rooms.enter(page)
        if page.head is PageHead.SHIFT and self.snapshot:  # it may still tell of a replay
            self.header.show_snapshot(self.snapshot, self.person)
        page.open(made, self)
        return made

    @Slot(object, object)
    def _play(self, session: "Session", past: "Past", at: "datetime | None") -> None:
        self.enter(Room.REPLAY).play(session, past, at)

    @Slot(object)
    def _play_demo(self, session: "Session") -> None:
        self.enter(Room.REPLAY).show_off(session)

    def close_surely(self) -> None:
        """Close without asking: somebody who ends the program from outside sees no question."""
        self.rooms.leave_surely(self.close)

    @Slot(object)
    def _show(self, snapshot: Snapshot) -> None:
        first, self.snapshot = self.snapshot is None, snapshot
        self._draw()
        self.care.watch(snapshot)
        self.sounder.watch(snapshot)
        if first:
            self.go_home()
            if self._session_file is not None:
                self.sessions.open_file(self._session_file)

    def _draw(self) -> None:
        if self.snapshot is None:
            return
        snapshot, person, page = self.snapshot, self.person, self.rooms.room
        if page is None or page.head is PageHead.SHIFT:
            self.header.show_snapshot(snapshot, person)
        self.rooms.show_snapshot(snapshot, person)
        self.reviews.watch(snapshot, person)
        if self.far is not None and self.far.isVisible():
            self.far.show_snapshot(snapshot, person)
        self.menu.refresh()

    @Slot(str)
    def _choose_person(self, initials: str) -> None:
        self.settings.initials = initials
        self._draw()

    def _doings(self) -> Doings:
        return Doings(
            enter=self._enter_on_board,
            pause=self._pause,
            save_session=self._save_session,
            replay=self.sessions.ask_to_open,
            back_up=self.care.back_up_now,
            backup_folder=self.care.choose_folder,
            far=self._open_far_view,
            theme=self.looks.choose,
            still=self.looks.stand_still,
            letters=self.letters.choose,
            sound=self.sounder.be_heard,
            volume=self.sounder.choose_volume,
            leave=self.close,
        )

    def _enter_on_board(self, kind: EntryKind) -> None:
        self.rooms.enter(Room.BOARD).open_entry(kind)

    @Slot()
    def _pause(self) -> None:
        self.rooms.enter(Room.BOARD).pause_or_go_on()

    @Slot()
    def _save_session(self) -> None:
        if self.snapshot is not None and self.snapshot.shift is not None:
            self.sessions.ask_to_save(self.snapshot.shift.chain)

    @Slot()
    def _show_sound(self) -> None:
        self.menu.sound.setChecked(not self.sounder.is_muted)
        self.header.show_sound(muted=self.sounder.is_muted, rings=self.sounder.rings)

    @Slot()
    def _open_far_view(self) -> None:
        """Show the line for a wall, or across the bench, in a window of its own."""
        from washmon.gui.far_view import FarView  # noqa: PLC0415 - start-up is measured

        if self.far is None:
            self.far = FarView(self)
        self.far.show()
        self.far.activateWindow()
        self._draw()

    @Slot()
    def _place_head(self) -> None:
        """Leave the menu to the row of keys, and the header to a page's own bar, if it has one."""
        page = self.rooms.room
        self.header.menu.setVisible(page is not Room.BOARD)
        self.header.setVisible(page is None or page.head is not PageHead.NONE)

    @Slot()
    def open_menu(self) -> None:
        """Offer what is seldom needed; on the Board first what has no button there."""
        page = self.rooms.currentWidget()
        if isinstance(page, BoardPage):
            self.menu.pop_up(page.bar.more, above=True, first=page.bar.folded)
        else:
            self.menu.pop_up(self.header.menu)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Let the Board have the keys that came while nothing had the keyboard."""
        page = self.rooms.currentWidget()
        if not (isinstance(page, BoardPage) and page.take_key(event)):
            super().keyPressEvent(event)

    def focusNextPrevChild(self, next: bool) -> bool:  # noqa: A002, FBT001 - Qt's name
        """Let Tab follow the eye around a page in which it does."""
        ordered = isinstance(self.rooms.currentWidget(), EyeOrdered)
        return (ordered and step(self, forward=next)) or super().focusNextPrevChild(next)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Let the type grow with the window."""
        super().resizeEvent(event)
        app = QApplication.instance()
        if isinstance(app, QApplication):
            theme.grow(app, theme.scale_for(self.width(), self.height()))

    def closeEvent(self, event: QCloseEvent) -> None:
        """Finish what is on its way to the disk, then close; ask first where work would be lost."""
        if not self.rooms.may_leave(self.close):
            event.ignore()
            return
        self.settings.geometry = self.saveGeometry()
        if self.far is not None:
            self.far.close()
        self.rooms.hide()  # a page that works on something leaves it while it still can
        self.sounder.close()
        self.care.close()
        self.client.close()
        super().closeEvent(event)


def _scrolled(*parts: QWidget) -> QScrollArea:
    """Return these under each other; the last one has all the room that the others leave."""
    middle = QWidget()
    middle.setObjectName("scrolled")
    vbox(*((part, 1 if part is parts[-1] else 0) for part in parts), on=middle, gap_px=0)
    area = QScrollArea()
    area.setWidgetResizable(True)
    area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    area.setWidget(middle)
    return area


def who_stands_there(snapshot: Snapshot | None, initials: str) -> UserContext:
    """Return who enters next: who entered last, or who is in charge where nobody knows them."""
    shift = snapshot.shift if snapshot else None
    setup = snapshot.setup if snapshot else None
    if shift is not None and (setup is None or shift.ended is None):
        setup = shift.setup  # once it has ended, the newest one says who works here
    if shift is not None and setup is not None and setup.person(initials) is None:
        initials = shift.in_charge
    return UserContext(initials, setup.taste if setup else UnitSystem.METRIC, decimal_point())


def keep_on_screen(window: QWidget) -> None:
    """Let a window be no larger than what the system's bars and the frame leave of the screen."""
    room = window.screen().availableGeometry()
    frame = window.frameGeometry().size() - window.size()
    width = room.width() - max(frame.width(), _FRAME_PX[0])
    height = room.height() - max(frame.height(), _FRAME_PX[1])
    window.resize(min(window.width(), width), min(window.height(), height))
    if not room.contains(window.frameGeometry()):
        window.move(room.topLeft())
