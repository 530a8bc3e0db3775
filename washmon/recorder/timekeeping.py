"""The clock on the wall held against the time that passes, which nobody sets."""

import time
from collections.abc import Callable
from datetime import datetime

from washmon.line.clock_changes import span
from washmon.line.event_base import RULES
from washmon.line.events import ClockChanged
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
        self.clock, self.elapsed_s = clock, elapsed_s
        self._then = self._look()
        self.alone = True
        """Whether all entries of the shift were made by this clock."""
        self._last: datetime | None = None

    def set_since(self) -> ClockChanged | None:
        """Return that the clock was set since it was last settled, for the journal."""
        now, then = self._look(), self._then
        if self.elapsed_s is None:
            return None
        by_s = (now[0] - then[0]).total_seconds() - (now[1] - then[1])
        if abs(by_s) < _DRIFT_S:
            self._then = now
        by_s = by_s if abs(by_s) >= LEAST_S else self._behind_s(now[0])
        return ClockChanged(at=now[0], by=RULES, by_s=round(by_s)) if by_s else None

    def take_up(self, shift: ShiftState | None, *, alone: bool) -> None:
        """Hold the clock, at the next look, against the last entry of a shift that runs."""
        self.alone = alone
        if shift is not None and self.moves(shift):
            self._last = shift.entries[-1].recorded_at

    def moves(self, shift: ShiftState | None) -> bool:
        """Tell whether the times of a shift are moved where the clock was set."""
        return shift is not None and shift.ended is None and self.alone

    def settle(self) -> None:
        """Go by the clock as it is now."""
        self._then, self._last = self._look(), None

    def _behind_s(self, now: datetime) -> float:
        """Return by how much, at least, the clock was set back while nobody watched it."""
        last, self._last = self._last, None
        by_s = 0.0 if last is None else (now - last).total_seconds()
        return by_s if by_s <= -LEAST_S else 0.0

    def _look(self) -> tuple[datetime, float]:
        return self.clock(), 0.0 if self.elapsed_s is None else self.elapsed_s()


def told(change: ClockChanged, *, moved: bool) -> Message:
    """Say that the clock was set."""
    text = "At {time} the computer's clock was set {by} forward."
    if change.by_s < 0:
        text = "At {time} the computer's clock was set {by} back."
    rest = (
        " What was entered before counts by the time that has passed."
        if moved
        else " What was entered before stands as it was; where its times are wrong, choose Times "
        "were wrong in the menu."
    )
    return Message(text + rest, {"time": Moment(change.at), "by": span(change.by_s)})
