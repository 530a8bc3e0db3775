"""The clock on the wall held against the time that passes, which nobody sets."""

import time
from collections.abc import Callable
from datetime import datetime

from washmon.line.clock_changes import span
from washmon.line.events import RULES, ClockChanged
from washmon.line.message import Message, Moment
from washmon.line.state import ShiftState

LEAST_S = 60.0
"""A clock that was set by less is let be: common practice, no published source."""
_DRIFT_S = 1.0
"""So much a clock goes wrong between two looks by itself, and is kept right by the network."""


def elapsed_s() -> float:
    """Return seconds that nobody sets, and that go on while the computer sleeps.

    On Linux the usual ones stand still then; on macOS, too.
    """
    name = getattr(time, "CLOCK_BOOTTIME", None) or getattr(time, "CLOCK_MONOTONIC", None)
    return time.monotonic() if name is None else time.clock_gettime(name)


class Timekeeper:
    """Notices when the ``clock`` is set; without ``elapsed_s`` the clock is trusted.

    Summer time and other time zones set no clock: moments are compared, not what stands on a dial.
    """

    def __init__(
        self, clock: Callable[[], datetime], elapsed_s: Callable[[], float] | None
    ) -> None:
        self._clock, self._elapsed_s = clock, elapsed_s
        self._then = self._look()
        self.alone = True
        """Whether all entries of the shift were made by this clock."""

    def set_by_s(self) -> int:
        """Return by how many seconds the clock was set forward since it was last settled, or 0."""
        now, then = self._look(), self._then
        by_s = (now[0] - then[0]).total_seconds() - (now[1] - then[1])
        if self._elapsed_s is None:
            return 0
        if abs(by_s) < _DRIFT_S:
            self._then = now
        return round(by_s) if abs(by_s) >= LEAST_S else 0

    def settle(self) -> None:
        """Go by the clock as it is now."""
        self._then = self._look()

    def behind_s(self, shift: ShiftState) -> int:
        """Return by how much the clock was set back at least since a shift's last entry, or 0.

        Nobody watched it then.
        """
        if self._elapsed_s is None:
            return 0
        by_s = (self._clock() - shift.entries[-1].recorded_at).total_seconds()
        return round(by_s) if by_s <= -LEAST_S else 0

    def _look(self) -> tuple[datetime, float]:
        return self._clock(), 0.0 if self._elapsed_s is None else self._elapsed_s()


def noticed(now: datetime, by_s: int) -> ClockChanged:
    """Return what is journaled of it."""
    return ClockChanged(at=now, by=RULES, by_s=by_s)


def told(now: datetime, by_s: int, *, moved: bool) -> Message:
    """Say that the clock was set."""
    text = "At {time} the computer's clock was set {by} forward."
    if by_s < 0:
        text = "At {time} the computer's clock was set {by} back."
    rest = (
        " What was entered before counts by the time that has passed."
        if moved
        else " What was entered before stands as it was; where its times are wrong, choose Times "
        "were wrong in the menu."
    )
    return Message(text + rest, {"time": Moment(now), "by": span(by_s)})
