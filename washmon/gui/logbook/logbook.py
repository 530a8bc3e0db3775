"""The Logbook for the window's stack: the list of shifts, and the shift that is read."""

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext
from washmon.gui.kit.boxes import FrontStack, vbox
from washmon.gui.logbook.lot_page import LotPage
from washmon.gui.logbook.shift_list import ShiftList
from washmon.gui.logbook.shift_page import ShiftPage
from washmon.planning.snapshot import Snapshot


class Logbook(QWidget):
    """Past shifts to find, read, decide on and export.

    Signals:
        left(): the person goes back to where they came from.
        session_file_asked(str): save the shift with this chain as a session file.
        replay_asked(str): replay it.
        scenario_asked(str): make a practice scenario from it.
        review_asked(): show what waits for a review.
    """

    left = Signal()
    session_file_asked = Signal(str)
    replay_asked = Signal(str)
    scenario_asked = Signal(str)
    review_asked = Signal()

    def __init__(self, client: RecorderClient, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._person: UserContext | None = None
        self.list = ShiftList(client)
        self.page = ShiftPage(client)
        self.lot = LotPage(client)
        self._before: QWidget = self.list
        self._stack = FrontStack(self.list, self.page, self.lot, parent=self)
        vbox(self._stack, on=self)
        self.list.left.connect(self.left)
        self.list.opened.connect(self.open_shift)
        self.list.lot_asked.connect(self.trace_lot)
        self.list.review.clicked.connect(self.review_asked)
        self.lot.left.connect(self.show_list)
        self.lot.opened.connect(self._open_from_lot)
        self.page.left.connect(self._go_back)
        self.page.session_file_asked.connect(self.session_file_asked)
        self.page.replay_asked.connect(self.replay_asked)
        self.page.scenario_asked.connect(self.scenario_asked)

    def open(self, person: UserContext) -> None:
        """Show the list to a person: in their units, their initials offered for a decision."""
        self._person = person
        self.list.maker = person.initials
        self.show_list()

    def show_snapshot(self, _snapshot: Snapshot, person: UserContext) -> None:
        """Let whoever stands here now be who enters."""
        self._person = person
        self.list.maker = person.initials
        self.lot.meet(person)

    @property
    def unsaved(self) -> bool:
        """Whether something is written here that is not in the journal."""
        front = self._stack.currentWidget()
        if front is self.lot:
            return self.lot.sent.unsaved
        return front is self.page and self.page.unsaved

    @Slot()
    def show_list(self) -> None:
        """Show the list of shifts, read anew."""
        self._stack.setCurrentWidget(self.list)
        self.list.load()
        self.list.table.setFocus()

    @Slot(str)
    def open_shift(self, chain: str) -> None:
        """Show one shift."""
        self._before = self.list
        self._stack.setCurrentWidget(self.page)
        self.page.open(chain, self._person)
        self.page.tabs.setFocus()

    @Slot(str)
    def trace_lot(self, code: str) -> None:
        """Show all that touched a lot."""
        self._stack.setCurrentWidget(self.lot)
        self.lot.trace(code, self._person)

    @Slot(str, str)
    def _open_from_lot(self, chain: str, listed: str) -> None:
        self._before = self.lot
        self._stack.setCurrentWidget(self.page)
        self.page.open(chain, self._person, tab=1 + list(self.page.lists).index(listed))

    @Slot()
    def _go_back(self) -> None:
        if self._before is self.lot:
            self._stack.setCurrentWidget(self.lot)
        else:
            self.show_list()
