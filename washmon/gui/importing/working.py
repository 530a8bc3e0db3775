"""Reading a log on a thread of its own, so that a large one holds up neither window nor shift."""

import threading
from collections.abc import Callable

from PySide6.QtCore import QCoreApplication, QObject, Qt, Signal, Slot

Tell = Callable[[int, int], None]
"""Says how far it is: so many of so many. It ends the work if nobody wants it any more."""


class _Dropped(Exception):  # noqa: N818 - no error
    """Something else was asked for since, or nothing any more."""


class Working(QObject):
    """Does what was asked for last; what was asked before it is dropped.

    Signals:
        progressed(int, int): so many of so many are done.
        came(object): what came out, or the exception that came instead.
    """

    progressed = Signal(int, int)
    came = Signal(object)
    _heard = Signal(int, object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._asked = 0
        self._thread: threading.Thread | None = None
        self._heard.connect(self._hear, Qt.ConnectionType.QueuedConnection)
        if (app := QCoreApplication.instance()) is not None:
            app.aboutToQuit.connect(self.drop)

    @property
    def busy(self) -> bool:
        """Whether something that is still wanted is being done."""
        return self._thread is not None

    def do(self, work: Callable[[Tell], object]) -> None:
        """Begin; :attr:`came` follows."""
        self.drop()
        self._thread = threading.Thread(
            target=self._run, args=(self._asked, work), name="import", daemon=True
        )
        self._thread.start()

    @Slot()
    def drop(self) -> None:
        """Want nothing any more, and wait until the thread has noticed."""
        self._asked += 1
        if self._thread is not None:
            self._thread.join()
            self._thread = None

    def _run(self, asked: int, work: Callable[[Tell], object]) -> None:
        def tell(done: int, total: int) -> None:
            if asked != self._asked:
                raise _Dropped
            self.progressed.emit(done, total)

        try:
            result = work(tell)
        except _Dropped:
            return
        except Exception as trouble:  # noqa: BLE001 - it is told in the window
            result = trouble
        self._heard.emit(asked, result)

    @Slot(int, object)
    def _hear(self, asked: int, result: object) -> None:
        if asked == self._asked:
            self._thread = None
            self.came.emit(result)
