"""Work beside the window, whose findings reach it, or nobody where it was closed meanwhile."""

import threading
from collections.abc import Callable
from typing import Any, ClassVar

from PySide6.QtCore import QObject, Signal, Slot

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
