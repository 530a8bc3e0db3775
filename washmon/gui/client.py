"""The one bridge from the recorder's thread to the window's: entries in, answers and snapshots out.

Qt carries each signal to the thread of whoever receives it, as long as the receiving slot is a
bound method of a QObject.
"""

from collections.abc import Callable
from concurrent.futures import Future
from itertools import count
from typing import Any

from PySide6.QtCore import QObject, Qt, QTimer, Signal, Slot
from shiboken6 import isValid

from washmon.line.events import Event
from washmon.line.message import Message
from washmon.recorder import Answer, Clock, Failed, Recorder, wall_clock
from washmon.store.store import Store


class RecorderClient(QObject):
    """What the window talks to.

    Signals:
        snapshot_changed(Snapshot): the newest state; draw it.

    Whatever is asked for is handed, once, to the function that was given with it, on the window's
    thread. One that is a method of a deleted QObject is not called.
    """

    snapshot_changed = Signal(object)
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
        self._waiting: dict[int, Callable[[Any], None] | None] = {}
        self._under_way: set[int] = set()
        self._kept_back: object = None
        self.clock = clock
        self.recorder = Recorder(store, self._seen.emit, clock=clock, line=line)
        self._drawn = QTimer(self, singleShot=True, interval=0)  # comes after what is to be painted
        self._drawn.timeout.connect(self.recorder.note_drawn)
        # Across threads only to itself: whoever listens may be gone when a queued call comes.
        self._seen.connect(self._pass_on, Qt.ConnectionType.QueuedConnection)
        # Queued, so that no answer comes before whoever asked is done with asking.
        self._came.connect(self._deliver, Qt.ConnectionType.QueuedConnection)

    def start(self) -> None:
        """Start the recorder; the first snapshot follows."""
        self.recorder.start()

    def enter(
        self,
        event: Event,
        then: Callable[[Answer], None] | None = None,
        *,
        chain: str | None = None,
        sure: bool = False,
        pin: str = "",
    ) -> None:
        """Send an entry to the journal; ``then`` gets what became of it."""
        asked = self.recorder.enter(event, chain=chain, sure=sure, pin=pin)
        self._under_way.add(self._when_done(asked, _answer, then))

    def read(self, query: Callable[[Store], object], then: Callable[[Any], None]) -> None:
        """Run a query on the recorder's thread; ``then`` gets its result, or what it raised."""
        self._when_done(self.recorder.read(query), _result, then)

    def vouch(self, by: str, pin: str, then: Callable[[Any], None]) -> None:
        """Ask whether somebody is a manager; ``then`` gets a ``Fault`` that says no, or None."""
        self._when_done(self.recorder.vouch(by, pin), _result, then)

    def _when_done(
        self,
        asked: "Future[Any]",
        outcome: "Callable[[Future[Any]], object]",
        then: Callable[[Any], None] | None,
    ) -> int:
        ticket = next(self._tickets)
        self._waiting[ticket] = then
        asked.add_done_callback(lambda future: self._came.emit(ticket, outcome(future)))
        return ticket

    @Slot(object)
    def _pass_on(self, snapshot: object) -> None:
        """Pass a snapshot on; that of an entry with its answer, so that both are drawn at once."""
        if self._under_way:
            self._kept_back = snapshot
        else:
            self._show(snapshot)

    @Slot(int, object)
    def _deliver(self, ticket: int, result: object) -> None:
        if ticket in self._under_way and self._kept_back is not None:
            snapshot, self._kept_back = self._kept_back, None
            self._show(snapshot)
        self._under_way.discard(ticket)
        deliver(self._waiting.pop(ticket), result)

    def _show(self, snapshot: object) -> None:
        self.snapshot_changed.emit(snapshot)
        self._drawn.start()

    def close(self) -> None:
        """Finish what was asked for and close the database."""
        self.recorder.close()


def deliver(then: Callable[[Any], None] | None, result: object) -> None:
    """Call a function with a result, unless whoever it belongs to is gone by now."""
    owner = getattr(then, "__self__", None)
    if then is not None and (not isinstance(owner, QObject) or isValid(owner)):
        then(result)


def _result(future: "Future[Any]") -> object:
    return future.exception() or future.result()


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
