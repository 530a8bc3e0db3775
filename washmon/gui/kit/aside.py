"""Work beside the window, whose findings reach it, or nobody where it was closed meanwhile."""

import threading
from collections.abc import Callable
from typing import ClassVar

from PySide6.QtCore import QObject, Signal, Slot

Tell = Callable[[object], None]


class Aside(QObject):
    """Carries what a thread finds to the window's thread.

    The thread emits from this object alone: it belongs to no window, so that no window that closes
    can destroy it under the thread, and lives until its last word has come. ``hear`` is a slot of
    what wants the findings; it is called on the window's thread while that is there.
    """

    told = Signal(object)
    _over = Signal()
    _at_work: ClassVar[set["Aside"]] = set()

    def __init__(self, hear: Tell) -> None:
        super().__init__()
        self.told.connect(hear)
        self._over.connect(self._let_go)

    def begin(self, work: Callable[[Tell], None], name: str) -> threading.Thread:
        """Start the work on a thread of that name; it tells what it finds by what it is given."""

        def run() -> None:
            try:
                work(self.told.emit)
            finally:
                self._over.emit()

        self._at_work.add(self)
        thread = threading.Thread(target=run, name=name, daemon=True)
        thread.start()
        return thread

    @Slot()
    def _let_go(self) -> None:
        self._at_work.discard(self)
