"""The one bridge from the recorder's thread to the window's: entries in, answers and snapshots out.

Qt carries each signal to the thread of whoever receives it, as long as the receiving slot is a
bound method of a QObject.
"""

from collections.abc import Callable
from concurrent.futures import Future
from itertools import count
from typing import Any

from PySide6.QtCore import QObject, Qt, Signal, Slot
from shiboken6 import isValid

from washmon.line.events import Event
from washmon.line.message import Message
from washmon.recorder import Answer, Clock, Failed, Recorder, wall_clock
from washmon.store.store import Store


class RecorderClient(QObject):
    """What the window talks to.

    Signals:
        snapshot_changed(Snapshot): the newest state; draw it.
        answered(int, Answer): what became of the entry with this ticket.
        read_done(int, object): what a query returned, or the exception it raised.
    """

    snapshot_changed = Signal(object)
    answered = Signal(int, object)
    read_done = Signal(int, object)
    _came = Signal(int, object)
    _seen = Signal(object)

    def __init__(
        self,
        store: Store,
        parent: QObject | None = None,
        *,
        clock: Clock = wall_clock,
        line: str | None = None,
    ) -> None:
        super().__init__(parent)
        self._tickets = count(1)
        self._callbacks: dict[int, Callable[[Any], None]] = {}
        self.clock = clock
        self.recorder = Recorder(store, self._seen.emit, clock=clock, line=line)
        # Across threads only to itself: whoever listens may be gone when a queued call comes.
        self._seen.connect(self._pass_on, Qt.ConnectionType.QueuedConnection)
        # Queued, so that no answer comes before whoever asked knows its ticket.
        self._came.connect(self._tell, Qt.ConnectionType.QueuedConnection)
        self.read_done.connect(self._hand_over, Qt.ConnectionType.QueuedConnection)

    def start(self) -> None:
        """Start the recorder; the first snapshot follows."""
        self.recorder.start()

    def enter(
        self, event: Event, *, chain: str | None = None, sure: bool = False, pin: str = ""
    ) -> int:
        """Send an entry to the journal; :attr:`answered` tells what became of it."""
        ticket = next(self._tickets)

        def done(future: "Future[Answer]") -> None:
            self._came.emit(ticket, _answer(future))

        self.recorder.enter(event, chain=chain, sure=sure, pin=pin).add_done_callback(done)
        return ticket

    def read(self, query: Callable[[Store], object], then: Callable[[Any], None]) -> int:
        """Run a query on the recorder's thread, then ``then`` with its result on the window's.

        A ``then`` that is a method of a deleted QObject is not called.
        """
        return self._when_done(self.recorder.read(query), then)

    def vouch(self, by: str, pin: str, then: Callable[[Any], None]) -> int:
        """Ask whether somebody is a manager; ``then`` gets a ``Fault`` that says no, or None."""
        return self._when_done(self.recorder.vouch(by, pin), then)

    def _when_done(self, asked: "Future[Any]", then: Callable[[Any], None]) -> int:
        ticket = next(self._tickets)
        self._callbacks[ticket] = then

        def done(future: "Future[object]") -> None:
            self.read_done.emit(ticket, future.exception() or future.result())

        asked.add_done_callback(done)
        return ticket

    @Slot(object)
    def _pass_on(self, snapshot: object) -> None:
        self.snapshot_changed.emit(snapshot)

    @Slot(int, object)
    def _tell(self, ticket: int, answer: object) -> None:
        self.answered.emit(ticket, answer)

    @Slot(int, object)
    def _hand_over(self, ticket: int, result: object) -> None:
        then = self._callbacks.pop(ticket)
        owner = getattr(then, "__self__", None)
        if not isinstance(owner, QObject) or isValid(owner):  # the page may be gone by now
            then(result)

    def close(self) -> None:
        """Finish what was asked for and close the database."""
        self.recorder.close()


def _answer(future: "Future[Answer]") -> Answer:
    """Return the answer; a fault of the program is one too, or the sheet would wait for ever."""
    fault = future.exception()
    if fault is None:
        return future.result()
    return Failed(
        Message(
            "The program met a fault of its own ({fault}): look in the list of entries whether "
            "this one is there, and report this.",
            {"fault": f"{type(fault).__name__}: {fault}"},
        )
    )
