"""Taking shifts over, one after the other, so that entries of a running shift get in between."""

from collections.abc import Sequence
from concurrent.futures import Future

from PySide6.QtCore import QObject, Qt, Signal, Slot

from washmon.gui.client import RecorderClient
from washmon.line.message import Message
from washmon.recorder import Answer, Failed, Refused, Saved
from washmon.sessions.imported.shifts import ImportedShift


class Taking(QObject):
    """Sends shifts to the recorder.

    Signals:
        progressed(int, int): so many of so many are in.
        finished(int, int, object): how many are in, how many had been before, and the message of
            what stood in the way (or None); the rest can be tried again.
    """

    progressed = Signal(int, int)
    finished = Signal(int, int, object)
    _answered = Signal(object)

    def __init__(self, client: RecorderClient, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._client = client
        self._left: list[ImportedShift] = []
        self._total = self._taken = self._known = 0
        self._answered.connect(self._hear, Qt.ConnectionType.QueuedConnection)

    @property
    def busy(self) -> bool:
        """Whether shifts are on their way."""
        return bool(self._left)

    def take(self, shifts: Sequence[ImportedShift]) -> None:
        """Take these shifts over; :attr:`finished` follows."""
        self._left = list(shifts)
        self._total, self._taken, self._known = len(self._left), 0, 0
        self._next()

    def _next(self) -> None:
        if not self._left:
            self.finished.emit(self._taken, self._known, None)
            return
        shift = self._left[0]
        self._client.recorder.take_in(shift.chain, shift.events).add_done_callback(self._came)

    def _came(self, future: "Future[Answer]") -> None:
        self._answered.emit(future.exception() or future.result())

    @Slot(object)
    def _hear(self, answer: object) -> None:
        match answer:
            case Saved():
                self._taken += 1
            case Refused():
                self._known += 1
            case Failed(sentence):
                self._stop(sentence)
                return
            case _:
                self._stop(Message("{what}", {"what": str(answer)}))
                return
        self._left.pop(0)
        self.progressed.emit(self._total - len(self._left), self._total)
        self._next()

    def _stop(self, why: Message) -> None:
        self._left = []
        self.finished.emit(self._taken, self._known, why)
