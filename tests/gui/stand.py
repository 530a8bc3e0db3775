"""The real window on a real database with a clock to move, worked by keys and by the mouse."""

from datetime import datetime, timedelta
from pathlib import Path
from typing import Any, TypeVar

from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QAction
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QScrollArea, QWidget
from pytestqt.qtbot import QtBot

from tests.shed import START, a_setup
from tests.store.filled import put_filled
from washmon.gui.board.finding_card import FindingCard
from washmon.gui.board.panel import TankPanel
from washmon.gui.board.why_sheet import WhySheet
from washmon.gui.board_page import BoardPage
from washmon.gui.client import RecorderClient
from washmon.gui.entry.entry_client import EntryClient
from washmon.gui.main_window import MainWindow
from washmon.gui.page import Page
from washmon.gui.settings import Settings
from washmon.gui.shift.filling_page import FillingRoom
from washmon.line.event_base import RULES
from washmon.line.events import BatchWashed, Event, ReadingTaken, ShiftStarted, TankFilled
from washmon.line.flags import StepKind
from washmon.line.journal import Entry
from washmon.line.setup import Lot, Tank
from washmon.line.state import ShiftState
from washmon.store.store import Store

W = TypeVar("W", bound=QWidget)
Key = Qt.Key


class Stand:
    """Whoever stands before the window: presses what can be seen, types where the keyboard is."""

    def __init__(self, qtbot: QtBot, folder: Path) -> None:
        self.qtbot = qtbot
        self.folder = folder
        self.path = folder / "shed.db"
        self.now = START
        self.windows: list[MainWindow] = []

    def clock(self) -> datetime:
        return self.now

    # -- the window -----------------------------------------------------------------------------

    def open(self, *, read_only: bool = False, session_file: Path | None = None) -> MainWindow:
        """Open the window as the program does, and wait until it shows the newest state."""
        client = RecorderClient(Store.open(self.path, read_only=read_only), clock=self.clock)
        settings = Settings(self.path.with_suffix(".ini"))
        window = MainWindow(client, settings, session_file=session_file)
        self.windows.append(window)
        with self.qtbot.waitSignal(client.snapshot_changed):
            window.begin()
        self.to_front(window)
        return window

    def to_front(self, window: MainWindow) -> None:
        """Let a window have the keyboard."""
        window.activateWindow()
        self.qtbot.waitUntil(window.isActiveWindow)

    def close(self) -> None:
        """Close the window by its key."""
        self.key(Key.Key_Q, Qt.KeyboardModifier.ControlModifier)
        assert not self.window.isVisible()
        self.windows.pop().deleteLater()

    def leave(self) -> None:
        """Close what is still open."""
        while self.windows:
            window = self.windows.pop()
            window.close_surely()
            window.deleteLater()

    @property
    def window(self) -> MainWindow:
        return self.windows[-1]

    @property
    def room(self) -> Page[Any] | None:
        return self.window.rooms.room

    def page(self, kind: type[W]) -> W:
        """The page in front, which must be of this kind."""
        front = self.window.rooms.currentWidget()
        assert isinstance(front, kind), front
        return front

    def wait_for(self, room: Page[Any]) -> None:
        self.qtbot.waitUntil(lambda: self.room is room)

    # -- by hand --------------------------------------------------------------------------------

    def click(self, widget: QWidget) -> None:
        """Press what lies in sight: nothing may cover it, and it must be enabled."""
        self.qtbot.waitUntil(widget.isVisible)
        self._into_sight(widget)
        assert widget.isEnabled(), widget
        middle = widget.rect().center()
        hit = widget.window().childAt(widget.mapTo(widget.window(), middle))
        assert hit is widget or (hit is not None and widget.isAncestorOf(hit)), (widget, hit)
        QTest.mouseClick(widget, Qt.MouseButton.LeftButton, pos=QPoint(middle))

    def _into_sight(self, widget: QWidget) -> None:
        """Scroll to it, as a wheel would."""
        QApplication.processEvents()
        parent = widget.parentWidget()
        while parent is not None:
            if isinstance(parent, QScrollArea):
                parent.ensureWidgetVisible(widget)
            parent = parent.parentWidget()
        QApplication.processEvents()

    def key(
        self, key: Qt.Key, modifier: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier
    ) -> None:
        """Press a key where the keyboard is."""
        QTest.keyClick(self._focus(), key, modifier)

    def type(self, *what: Qt.Key | str) -> None:
        """Type texts sign by sign and press keys, each where the keyboard is by then."""
        for one in what:
            if isinstance(one, Qt.Key):
                self.key(one)
            else:
                for sign in one:
                    QTest.keyClicks(self._focus(), sign)

    def write(self, text: str) -> None:
        """Write in place of what stands in the field that has the keyboard."""
        QTest.keyClick(self._focus(), Key.Key_A, Qt.KeyboardModifier.ControlModifier)
        self.type(text or Key.Key_Delete)

    def menu_line(self, page: Page[Any]) -> QAction:
        """The line of the menu that opens a page."""
        return self.window.menu.pages[page.name]

    def choose_in_menu(self, action: QAction) -> None:
        """Open the menu by its key and press a line of it."""
        menu = self.window.menu
        self.key(Key.Key_M, Qt.KeyboardModifier.AltModifier)
        self.qtbot.waitUntil(menu.isVisible)
        assert action.isEnabled(), action
        line = menu.actionGeometry(action).center()
        QTest.mouseClick(menu, Qt.MouseButton.LeftButton, pos=line)
        if self.window.isVisible():
            self.to_front(self.window)  # a desktop gives the keyboard back after a menu

    def _focus(self) -> QWidget:
        QApplication.processEvents()  # a field that was just made is shown by then
        focus = QApplication.focusWidget()
        return focus if focus is not None and focus.isVisible() else self.window

    # -- what is to be seen ---------------------------------------------------------------------

    def wait(self, minutes: float) -> None:
        """Let time pass, and the recorder look at the clock."""
        self.now += timedelta(minutes=minutes)
        looked: list[object] = []
        self.window.client.recorder.look_again()
        self.window.client.read(lambda _store: None, looked.append)  # comes after what it showed
        self.qtbot.waitUntil(lambda: looked != [])
        assert self.window.snapshot is not None
        assert self.window.snapshot.now == self.now

    @property
    def shift(self) -> ShiftState:
        snapshot = self.window.snapshot
        assert snapshot is not None
        assert snapshot.shift is not None
        return snapshot.shift

    @property
    def events(self) -> list[Event]:
        """All that people entered in this shift, in order."""
        return [one.event for one in self.shift.entries if one.event.by != RULES]

    @property
    def board(self) -> BoardPage:
        """The Board, once it has drawn what came."""
        page = self.page(BoardPage)
        self.qtbot.waitUntil(lambda: not page.board._frame.isActive())
        return page

    @property
    def entries(self) -> EntryClient:
        """The sheets of the page in front."""
        front = self.window.rooms.currentWidget()
        assert isinstance(front, BoardPage | FillingRoom)
        return front.entries

    def saving(self) -> Any:
        """Wait until an entry is saved and a snapshot shows it."""
        return self.qtbot.waitSignals([self.entries.saved, self.window.client.snapshot_changed])

    def last(self) -> Entry:
        """The newest entry of a person."""
        return next(one for one in reversed(self.shift.entries) if one.event.by != RULES)

    def panel(self, tank: int) -> TankPanel:
        """The column of a tank."""
        return self.board.board.columns.panels[tank - 1]

    def wait_for_step(self, tank: int, kind: StepKind) -> None:
        """Wait until a tank's plan asks for this: it is made just after the entry is saved."""

        def asks() -> bool:
            view = self.panel(tank).view
            return view is not None and view.step.kind is kind

        self.qtbot.waitUntil(asks)

    def answer(self, tank: int) -> None:
        """Press the button that answers the step of a tank's plan, which has stood for a while."""
        self.board.board._changed.clear()
        self.click(self.panel(tank).state.plan.answer)

    def why(self, tank: int) -> WhySheet:
        """What stands behind the plan of a tank, opened as a hand would."""
        board = self.board.board
        if not board.why.isVisible() or board.why.tank != tank:
            self.click(self.panel(tank).state.plan.why)
        return board.why

    def card(self, tank: int, rule: str) -> FindingCard:
        """The card of a flag, which must be up, with all that stands behind the plan."""
        return next(card for card in self.why(tank).cards if card.view.key == (tank, rule))

    def rules_up(self) -> list[tuple[int, str]]:
        """The flags on the Board, most urgent first."""
        view = self.board.board.view
        return [] if view is None else [flag.key for flag in view.pressing]


def close_windows() -> None:
    """Close and delete every window of ours.

    There are others: each plot's layout measures by a hidden one of its own, and ends the process
    where somebody else has deleted it.
    """
    for window in QApplication.topLevelWidgets():
        if window.isVisible() or isinstance(window, MainWindow):
            window.close()
            window.deleteLater()


def begin_shift(path: Path, *tanks: Tank) -> None:
    """Journal a shift with water in two tanks, measured just now, and one batch.

    What is there of other shifts stays.
    """
    if not path.exists():
        put_filled(path, _begun, *tanks)
        return
    with Store.open(path) as store:
        _begun(store, *tanks)


def _begun(store: Store, *tanks: Tank) -> None:
    at, by = START, "RM"
    setup = a_setup(*tanks)
    lots = (Lot(code="L-1", produce="baby chard"),)
    events: list[Event] = [
        ShiftStarted(at=at, by=by, setup=setup, lots=lots),
        *(TankFilled(at=at, by=by, tank=tank, volume_l=500.0) for tank in (1, 2)),
        *(ReadingTaken(at=at, by=by, tank=tank, fac_mg_l=50.0, ph=7.0) for tank in (1, 2)),
        BatchWashed(at=at, by=by, tanks=(1, 2), lot="L-1"),
    ]
    store.append("shift-now", events, at)
