"""A clock that a hand can work: practice time runs as fast as is chosen, or stands."""

import time
from collections.abc import Callable

from PySide6.QtCore import QObject, QTimer, Signal, Slot

SPEEDS = (1, 5, 20, 60)
FRAME_MS = 100


class PlayClock(QObject):
    """Counts the seconds in front of the window, and tells how much practice time that is.

    Signals:
        passed(float): so many minutes of practice passed.
        running_changed(bool): time passes by itself, or stands.
    """

    passed = Signal(float)
    running_changed = Signal(bool)

    def __init__(self, parent: QObject, wall: Callable[[], float] = time.monotonic) -> None:
        """``wall`` counts the seconds that pass in front of the window."""
        super().__init__(parent)
        self.wall = wall
        self.speed = SPEEDS[0]
        """Seconds of practice that pass in one."""
        self._last_frame = 0.0
        self._timer = QTimer(self)
        self._timer.setInterval(FRAME_MS)
        self._timer.timeout.connect(self.frame)

    @property
    def running(self) -> bool:
        """Whether time passes by itself."""
        return self._timer.isActive()

    @Slot()
    def toggle(self) -> None:
        """Let time pass, or stop it."""
        if self.running:
            self.pause()
        else:
            self.leave_out()
            self._timer.start()
            self.running_changed.emit(True)

    @Slot()
    def pause(self) -> None:
        """Stop time."""
        if self.running:
            self._timer.stop()
            self.running_changed.emit(False)

    @Slot()
    def frame(self) -> None:
        """Tell what passed since the last time."""
        passed_s = self.wall() - self._last_frame
        self.leave_out()
        self.passed.emit(passed_s * self.speed / 60.0)

    def leave_out(self) -> None:
        """Count from now on, without what passed since the last frame."""
        self._last_frame = self.wall()
