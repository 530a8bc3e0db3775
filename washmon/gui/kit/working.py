"""Work of some length on a thread of its own, so that it holds up neither window nor shift.

Work beside the window, whose findings reach it, or nobody where it was closed meanwhile.
"""

import threading
from collections.abc import Callable
from contextlib import suppress
from functools import partial
from typing import Any, ClassVar, NamedTuple

from PySide6.QtCore import QCoreApplication, QObject, QTimer, Signal, Slot
from PySide6.QtWidgets import QProgressBar, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import keep_width
from washmon.gui.kit.buttons import PressButton, Rank

Tell = Callable[[object], None]


class Aside(QObject):
    """Carries what a thread finds to the window's thread.

    The thread emits from this object alone: it belongs to no window, so that no window that closes
    can destroy it under the thread, and lives until the thread has ended. ``hear`` is a slot of
    what wants the findings; it is called on the window's thread while that is there.
    """

    told = Signal(object)
    _over = Signal()
    _at_work: ClassVar[set["Aside"]] = set()

    def __init__(self, hear: Callable[[Any], None]) -> None:
        super().__init__()
        self.told.connect(hear)
        self._over.connect(self._let_go)
        self._thread: threading.Thread | None = None

    def begin(self, work: Callable[[Tell], None], name: str) -> threading.Thread:
        """Start the work on a thread of that name; it tells what it finds by what it is given."""

        def run() -> None:
            try:
                work(self.told.emit)
            finally:
                self._over.emit()

        self._at_work.add(self)
        self._thread = threading.Thread(target=run, name=name, daemon=True)
        self._thread.start()
        return self._thread

    def answer(
        self, work: Callable[[], object], name: str, expected: type[Exception] = Exception
    ) -> threading.Thread:
        """Do the work on a thread of that name, and tell its outcome (see :func:`outcome`)."""
        return self.begin(lambda tell: tell(outcome(work, expected)), name)

    @Slot()
    def _let_go(self) -> None:
        if self._thread is not None:  # what it holds of the window is let go of here, not there
            self._thread.join()
        self._at_work.discard(self)


def outcome(work: Callable[[], object], expected: type[Exception] = Exception) -> object:
    """Return what comes of some work, or what of the expected kind it raises instead."""
    try:
        return work()
    except expected as trouble:
        return trouble


_PATIENCE_MS = 200
"""What is there sooner needs no bar that shows how far it is."""
_PROGRESS_PX = 90
Step = Callable[[int, int], None]
"""Says how far it is: so many of so many. It ends the work if nobody wants it any more."""


class _Done(NamedTuple):
    done: int
    total: int


class _Dropped(Exception):  # noqa: N818 - no error
    """Something else was asked for since, or nothing any more."""


class Working(QObject):
    """Does what was asked for last; what was asked before it is dropped.

    What it raises of the expected kind is told; any other fault is left to the fault log.

    Signals:
        progressed(int, int): so many of so many are done.
        came(object): what came out, or the exception that came instead.
    """

    progressed = Signal(int, int)
    came = Signal(object)

    def __init__(
        self, parent: QObject | None = None, expected: type[Exception] = Exception
    ) -> None:
        super().__init__(parent)
        self._expected = expected
        self._asked = 0
        self._threads: list[threading.Thread] = []
        self.busy = False
        """Whether something that is still wanted is being done."""
        if (app := QCoreApplication.instance()) is not None:
            app.aboutToQuit.connect(self.stop)

    def do(self, work: Callable[[Step], object]) -> None:
        """Begin; :attr:`came` follows."""
        self.drop()
        self.busy = True
        asked = self._asked

        def run(tell: Tell) -> None:
            def step(done: int, total: int) -> None:
                if asked != self._asked:
                    raise _Dropped
                tell((asked, _Done(done, total)))

            with suppress(_Dropped):
                tell((asked, outcome(partial(work, step), self._expected)))

        self._threads = [one for one in self._threads if one.is_alive()]
        self._threads.append(Aside(self._hear).begin(run, "working"))

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

    @Slot(object)
    def _hear(self, told: tuple[int, object]) -> None:
        match told:
            case (asked, _) if asked != self._asked:
                return  # nobody waits for it any longer
            case (_, _Done(done, total)):
                self.progressed.emit(done, total)
            case (_, result):
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

    def do(self, work: Callable[[Step], object]) -> None:
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
