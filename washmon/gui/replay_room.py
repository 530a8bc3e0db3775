"""A recorded shift on the Board, worked by the replay bar in place of the row of entries."""

from PySide6.QtCore import Signal, Slot
from PySide6.QtGui import QHideEvent
from PySide6.QtWidgets import QVBoxLayout, QWidget

from washmon.gui.board.board import Board
from washmon.gui.context import Person, decimal_point
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.replay.bar import ReplayBar
from washmon.gui.replay.desk import ReplayDesk
from washmon.rules.snapshot import Snapshot
from washmon.sessions.file import Session
from washmon.units import Taste


class ReplayRoom(QWidget):
    """Plays one session.

    Signals:
        left(): the person went back.
        snapshot_shown(Snapshot, Person): for the header.
    """

    left = Signal()
    snapshot_shown = Signal(object, object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._taste = Taste.METRIC
        self.desk = ReplayDesk(self)
        self.board = Board(self)
        self.message = MessageLine(self)
        self.bar = ReplayBar(self.desk, self)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.board, 1)
        column.addWidget(self.message)
        column.addWidget(self.bar)
        self.setFocusProxy(self.bar)
        self.message.hide()
        self.desk.snapshot_changed.connect(self._show)
        self.desk.failed.connect(self._say_failed)
        self.bar.left.connect(self.left)

    def play(self, session: Session) -> None:
        """Take up a session at its start."""
        self.message.hide()
        self._taste = session.setup.taste
        self.desk.open(session)

    @Slot(object)
    def _show(self, snapshot: Snapshot) -> None:
        if not self.isVisible():
            return
        person = Person("", self._taste, decimal_point())
        self.board.show_snapshot(snapshot, person)
        self.snapshot_shown.emit(snapshot, person)

    @Slot(str)
    def _say_failed(self, why: str) -> None:
        self.message.warn(why)
        self.message.show()

    def hideEvent(self, event: QHideEvent) -> None:
        """Play nothing that nobody sees; a window that is only minimised keeps its place."""
        super().hideEvent(event)
        if event.spontaneous():
            self.desk.pause()
        else:
            self.desk.close()
