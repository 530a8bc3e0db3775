"""The review of shifts for the window's stack: what waits, and the shift that is read."""

from PySide6.QtCore import Signal, Slot
from PySide6.QtGui import QHideEvent
from PySide6.QtWidgets import QWidget

from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import FrontStack, vbox
from washmon.gui.review.queue import ReviewQueue
from washmon.gui.review.reading import ReviewReading
from washmon.gui.review.words import days_words


class ReviewPage(QWidget):
    """Reads what waits one after the other.

    Signals:
        left(): back to where it was opened from.
        record_asked(str): the whole record of the shift with this chain is to be shown.
    """

    left = Signal()
    record_asked = Signal(str)

    def __init__(self, client: RecorderClient, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._person: UserContext | None = None
        self._chain = ""
        self.queue = ReviewQueue(client)
        self.reading = ReviewReading(client)
        self._stack = FrontStack(self.queue, self.reading, parent=self)
        vbox(self._stack, on=self)
        self.queue.left.connect(self.left)
        self.queue.opened.connect(self.read)
        self.reading.left.connect(self.show_queue)
        self.reading.stepped.connect(self._step)
        self.reading.record_asked.connect(self.record_asked)

    def open(self, person: UserContext) -> None:
        """Show what waits for a review to a person."""
        self._person = person
        self.show_queue()
        self.queue.open(person)

    @property
    def unsaved(self) -> bool:
        """Whether a note stands here that no signature has."""
        together = self.queue.together.form
        return self.reading.unsaved or (together.isVisible() and bool(together.note.text))

    @Slot()
    def show_queue(self) -> None:
        """Show what waits, read anew."""
        self.reading.shut()
        self._stack.setCurrentWidget(self.queue)
        self.queue.load()
        self.queue.table.setFocus()

    @Slot(str)
    def read(self, chain: str) -> None:
        """Show one shift of those that wait."""
        if self._person is None:
            return
        self._chain = chain
        at, count = self.queue.place(chain)
        days = next((one.days for one in self.queue.waiting if one.row.chain == chain), 0)
        waits = tr("{at} of {count}: waits {days}", at=at, count=count, days=days_words(days))
        self._stack.setCurrentWidget(self.reading)
        self.reading.open(chain, self._person, waits, first=at <= 1, last=at >= count)
        self.reading.scroller.setFocus()

    @Slot(int)
    def _step(self, by: int) -> None:
        if chain := self.queue.step(self._chain, by):
            self.read(chain)

    def hideEvent(self, event: QHideEvent) -> None:
        """Watch nothing while another page is in front."""
        self.reading.shut()
        super().hideEvent(event)
