"""Collects garbage on the window's thread only.

Python collects cycles on whichever thread happens to allocate. On the recorder's thread that may
delete a widget that was dropped, and Qt ends the program for it.
"""

import gc

from PySide6.QtCore import QObject, QTimer, Slot

EVERY_MS = 1000


def collect_what_is_due() -> None:
    """Collect as Python itself would have by now: the young first, the old more seldom."""
    counts, thresholds = gc.get_count(), gc.get_threshold()
    due = [at for at in range(3) if counts[at] > thresholds[at]]
    if due:
        gc.collect(due[-1])


class Collector(QObject):
    """Takes automatic collection over from Python, generation by generation."""

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self._timer = QTimer(self, interval=EVERY_MS)
        self._timer.timeout.connect(self.collect)
        gc.disable()
        self._timer.start()

    @Slot()
    def collect(self) -> None:
        """Collect on this thread."""
        collect_what_is_due()
