"""The Logbook for the window's stack: the list of shifts, and the shift that is read."""

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QStackedWidget, QVBoxLayout, QWidget

from washmon.gui.context import Person
from washmon.gui.desk import Desk
from washmon.gui.logbook.shift_list import ShiftList
from washmon.gui.logbook.shift_page import ShiftPage


class Logbook(QWidget):
    """Past shifts to find, read, decide on and export.

    Signals:
        left(): the person goes back to where they came from.
        session_file_asked(str): save the shift with this chain as a session file.
        replay_asked(str): replay it.
    """

    left = Signal()
    session_file_asked = Signal(str)
    replay_asked = Signal(str)

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._person: Person | None = None
        self.list = ShiftList(desk)
        self.page = ShiftPage(desk)
        self._stack = QStackedWidget(self)
        self._stack.addWidget(self.list)
        self._stack.addWidget(self.page)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.addWidget(self._stack)
        self.list.left.connect(self.left)
        self.list.opened.connect(self.open_shift)
        self.page.left.connect(self.show_list)
        self.page.session_file_asked.connect(self.session_file_asked)
        self.page.replay_asked.connect(self.replay_asked)

    def open(self, person: Person) -> None:
        """Show the list to a person: in their units, their initials offered for a decision."""
        self._person = person
        self.show_list()

    @Slot()
    def show_list(self) -> None:
        """Show the list of shifts, read anew."""
        self._stack.setCurrentWidget(self.list)
        self.list.load()
        self.list.table.setFocus()

    @Slot(str)
    def open_shift(self, chain: str) -> None:
        """Show one shift."""
        self._stack.setCurrentWidget(self.page)
        self.page.open(chain, self._person)
        self.page.tabs.setFocus()
