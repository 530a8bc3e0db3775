"""Reading a log on a thread of its own, so that a large one holds up neither window nor shift."""

import threading
from collections.abc import Callable

from PySide6.QtCore import QCoreApplication, QObject, Qt, QTimer, Signal, Slot
from PySide6.QtWidgets import QProgressBar, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.width import keep_width

_PATIENCE_MS = 200
"""What is there sooner needs no bar that shows how far it is."""
_PROGRESS_PX = 90
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
    _told = Signal(int, int, int)
    _heard = Signal(int, object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._asked = 0
        self._threads: list[threading.Thread] = []
        self.busy = False
        """Whether something that is still wanted is being done."""
        self._told.connect(self._tell, Qt.ConnectionType.QueuedConnection)
        self._heard.connect(self._hear, Qt.ConnectionType.QueuedConnection)
        if (app := QCoreApplication.instance()) is not None:
            app.aboutToQuit.connect(self.stop)

    def do(self, work: Callable[[Tell], object]) -> None:
        """Begin; :attr:`came` follows."""
        self.drop()
        self.busy = True
        thread = threading.Thread(
            target=self._run, args=(self._asked, work), name="import", daemon=True
        )
        self._threads = [*(one for one in self._threads if one.is_alive()), thread]
        thread.start()

    def drop(self) -> None:
        """Want nothing any more; the thread ends when it notices, and nobody waits for it."""
        self._asked += 1
        self.busy = False

    @Slot()
    def stop(self) -> None:
        """Drop what is being done and wait for its end, as when the program ends."""
        self.drop()
        for thread in self._threads:
            thread.join()

    def _run(self, asked: int, work: Callable[[Tell], object]) -> None:
        def tell(done: int, total: int) -> None:
            if asked != self._asked:
                raise _Dropped
            self._told.emit(asked, done, total)

        try:
            result = work(tell)
        except _Dropped:
            return
        except Exception as trouble:  # noqa: BLE001 - it is told in the window
            result = trouble
        if asked == self._asked:
            self._heard.emit(asked, result)

    @Slot(int, int, int)
    def _tell(self, asked: int, done: int, total: int) -> None:
        if asked == self._asked:
            self.progressed.emit(done, total)

    @Slot(int, object)
    def _hear(self, asked: int, result: object) -> None:
        if asked == self._asked:
            self.busy = False
            self.came.emit(result)


class ShownWorking(Working):
    """Shows how far it is, with a button to cancel it, where it takes its time."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._patience = QTimer(self, singleShot=True, interval=_PATIENCE_MS)
        self.bar = QProgressBar(parent)
        self.bar.setTextVisible(False)
        keep_width(self.bar, _PROGRESS_PX)
        self.cancel = PressButton(tr("Cancel"), Rank.QUIET, parent=parent)
        self._patience.timeout.connect(self.show_parts)
        self.progressed.connect(self._move)
        self.came.connect(self._rest)
        self.shown = (self.bar, self.cancel)
        self._rest()

    def do(self, work: Callable[[Tell], object]) -> None:
        """Begin; :attr:`came` follows."""
        super().do(work)
        self.bar.setRange(0, 0)
        self._patience.start()

    def drop(self) -> None:
        """Want nothing any more."""
        super().drop()
        self._rest()

    @Slot()
    def show_parts(self) -> None:
        """Show how far it is."""
        for part in self.shown:
            part.show()

    @Slot()
    def _rest(self) -> None:
        self._patience.stop()
        for part in self.shown:
            part.hide()

    @Slot(int, int)
    def _move(self, done: int, total: int) -> None:
        self.bar.setRange(0, total)
        self.bar.setValue(done)
