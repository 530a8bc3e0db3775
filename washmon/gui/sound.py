"""The sound for a stop or an overdue check: heard once when it comes up, never needed."""

from PySide6.QtWidgets import QApplication

from washmon.line.flags import Level
from washmon.planning.snapshot import Mode, Snapshot

HEARD = frozenset({"overdue"})


class Alarm:
    """Remembers what was up, so that only what is new is heard."""

    def __init__(self) -> None:
        self._up: frozenset[tuple[int, str]] = frozenset()

    def hears(self, snapshot: Snapshot) -> bool:
        """Take note of a snapshot; tell whether something in it is new and worth a sound."""
        up = frozenset(
            flag.key
            for flag in snapshot.advice.flags
            if flag.level is Level.STOP or (flag.rule in HEARD and flag.level is Level.ACT)
        )
        new, self._up = up - self._up, up
        return bool(new) and snapshot.mode is Mode.LIVE

    @staticmethod
    def sound() -> None:
        """Make the system's alert sound."""
        QApplication.beep()
