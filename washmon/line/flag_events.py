"""What happens to flags: the rules raise and clear them, people see them and put them aside."""

from datetime import datetime

from washmon.line.event_base import Happened
from washmon.line.flags import Flag, Level
from washmon.line.plan import Plan


class Acknowledged(Happened, frozen=True, kw_only=True, tag="flag acknowledged"):
    """Somebody has seen a flag."""

    tank: int
    rule: str


class FlagShelved(Happened, frozen=True, kw_only=True, tag="flag shelved"):
    """Somebody put a flag aside until a time, and says why; it stays raised meanwhile.

    ``level`` is how much it pressed then: a flag that comes to press more is back at once.
    """

    tank: int
    rule: str
    until: datetime
    reason: str
    level: Level
    doubts: tuple[str, ...] = ()


class FlagUnshelved(Happened, frozen=True, kw_only=True, tag="flag unshelved"):
    """Somebody brought a shelved flag back before its time."""

    tank: int
    rule: str


class FlagsChanged(Happened, frozen=True, kw_only=True, tag="flags changed"):
    """What the rules raised and cleared after looking at the journal up to ``upto``."""

    upto: int
    raised: tuple[Flag, ...] = ()
    cleared: tuple[tuple[int, str], ...] = ()
    plans: tuple[Plan, ...] = ()
    """Plans that say something else than before."""
