"""Asks once whether a line that was paused runs again: to say so is easily forgotten."""

from datetime import timedelta

from PySide6.QtWidgets import QWidget

from washmon.gui.i18n import tr
from washmon.gui.notice import Notice
from washmon.line.events import Pause
from washmon.planning.snapshot import Mode, Snapshot

BREAK = timedelta(minutes=30)
"""So long a break usually is at most (common practice, no published source)."""
REPAIR = timedelta(minutes=60)
"""So long until somebody should look at a line that broke down, or stands for a reason of its own
(common practice, no published source)."""


class PauseQuestion(Notice):
    """Stands over the keys from then on until the line goes on; ``acted`` says that it does."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._asked: int | None = None

    def show_snapshot(self, snapshot: Snapshot) -> None:
        """Ask about a pause that has lasted long; fall silent when it is over."""
        shift = snapshot.shift
        paused = shift.paused if shift is not None and shift.ended is None else None
        if paused is None or snapshot.mode is not Mode.LIVE:
            self._asked = None
            self.clear()
            return
        usual = BREAK if paused.placed.reason == Pause.BREAK else REPAIR
        if self._asked != paused.seq and snapshot.now - paused.placed.at >= usual:
            self._asked = paused.seq
            since = f"{paused.placed.at:%H:%M}"
            self.say(
                tr("Paused since {time}. Is the line running again?", time=since),
                tr("Yes, it runs"),
            )
