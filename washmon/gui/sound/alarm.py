"""What is to be heard, and when: reckoned from snapshots, without a device or a clock."""

from datetime import datetime, timedelta
from enum import IntEnum, StrEnum

from msgspec import Struct

from washmon.line.event_base import RULES
from washmon.line.flags import Flag, Level
from washmon.planning.snapshot import Mode, Snapshot

EVERY = timedelta(seconds=12)
"""What nobody answers is heard again after so long."""
RISE_DB = (-18.0, -12.0, -6.0, 0.0)
"""How loud it is the first time and each time after, against the volume that was chosen."""
AT_HAND = timedelta(seconds=10)
"""So long after an entry somebody stands before the window still."""
_OVERDUE = frozenset({"overdue"})


class Sound(StrEnum):
    """The sounds by the names of their files under ``resources/sounds``."""

    WAIT_OVER = "wait-over"
    OVERDUE = "overdue"
    STOP = "stop"


class Volume(IntEnum):
    """How loud the program may be, in decibels under the files as they are."""

    SOFT = -12
    MEDIUM = -6
    LOUD = 0


class Cue(Struct, frozen=True):
    """A sound to be made now; ``gain_db`` is 0 or less."""

    sound: Sound
    gain_db: float = 0.0


def sound_of(flag: Flag) -> Sound | None:
    """Return what a flag sounds like; nothing where it is for the eye alone."""
    if flag.level is Level.STOP:
        return Sound.STOP
    if flag.rule in _OVERDUE and flag.level is Level.ACT:
        return Sound.OVERDUE
    return None


class Alarm:
    """Remembers what was up and what is waited for, so that only what is new is heard.

    What comes up by itself rings: it sounds again and again, rising, until somebody hushes it.
    What follows an entry sounds once at first, since who made the entry stands there.
    """

    def __init__(self) -> None:
        self._up: dict[tuple[int, str], Sound] = {}
        self._unheeded: set[tuple[int, str]] = set()
        self._next: datetime | None = None
        self._times = 0
        self._rings = False
        self._waits: set[tuple[int, datetime]] = set()

    @property
    def is_pending(self) -> bool:
        """Whether there is anything to be heard, now or later."""
        return bool(self._unheeded or self._waits)

    @property
    def is_unheeded(self) -> bool:
        """Whether something sounded that nobody has answered by a key yet."""
        return bool(self._unheeded) and self._times > 0

    @property
    def rings(self) -> bool:
        """Whether the next key only silences it."""
        return self._rings and self.is_unheeded

    def look(self, snapshot: Snapshot) -> None:
        """Take note of a snapshot; a shift that is not recorded here is silent."""
        now, live = snapshot.now, snapshot.mode is Mode.LIVE
        sounds = {flag.key: sound_of(flag) for flag in snapshot.advice.flags if live}
        up = {key: sound for key, sound in sounds.items() if sound is not None}
        new = {key for key, sound in up.items() if self._up.get(key) is not sound}
        self._unheeded = (self._unheeded & up.keys()) | new
        self._up = up
        if new:
            self._begin(now, by_hand=_was_entered(snapshot))
        waits = {
            (each.tank, until)
            for each in snapshot.advice.tanks
            if live and (until := each.plan.wait_until) is not None and until > now
        }
        over = {wait for wait in self._waits if wait[1] <= now} if live else set()
        self._waits = waits | over

    def due(self, now: datetime) -> Cue | None:
        """Return what is to be heard now, once."""
        if self._unheeded and self._next is not None and now >= self._next:
            gain = RISE_DB[min(self._times, len(RISE_DB) - 1)]
            self._rings = self._rings or self._times > 0
            self._times += 1
            self._next = now + EVERY
            stopped = Sound.STOP in {self._up[key] for key in self._unheeded}
            return Cue(Sound.STOP if stopped else Sound.OVERDUE, gain)
        if over := {wait for wait in self._waits if wait[1] <= now}:
            self._waits -= over
            return Cue(Sound.WAIT_OVER)
        return None

    def hush(self) -> None:
        """Take it that somebody has heard all that sounds."""
        self._unheeded.clear()
        self._rings = False

    def _begin(self, now: datetime, *, by_hand: bool) -> None:
        if not self.rings:
            self._times = 0
            self._rings = not by_hand
        self._next = now


def _was_entered(snapshot: Snapshot) -> bool:
    """Tell whether somebody made an entry just now."""
    entries = snapshot.shift.entries if snapshot.shift is not None else ()
    newest = next((one for one in reversed(entries) if one.event.by != RULES), None)
    return newest is not None and snapshot.now - newest.recorded_at <= AT_HAND
