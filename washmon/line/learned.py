"""What past shifts taught about a tank, as the journal of the shift that began with it keeps it."""

from msgspec import Struct

from washmon.line.event_base import Happened
from washmon.line.flag_events import FlagsChanged


class LearnedTank(Struct, frozen=True, kw_only=True):
    """What the forecast of one tank begins with: equally likely particles of its traits.

    Traits are logarithms, log-odds for a share (see :mod:`washmon.forecast.prior`). ``rows`` names
    them: those of every fill first, then what is kept of a person, a lot or a kind of produce.
    ``particles`` holds them in thousandths, two bytes each (little-endian), row by row.
    """

    tank: int
    rows: tuple[str, ...]
    particles: bytes
    usual_kg: float | None = None
    """What a batch weighed, where it was weighed."""
    container: str = ""
    """Of which product and container the strength was learned."""
    pack: str = ""
    """Of which strips the bias was learned."""


class UsualLearned(Happened, frozen=True, kw_only=True, tag="usual learned"):
    """What the shifts before taught, so that a replay begins with what this one began with.

    Earlier versions wrote none. ``shifts`` names their chains, the oldest first.
    """

    taught: tuple[LearnedTank, ...]
    shifts: tuple[str, ...] = ()


OfProgram = FlagsChanged | UsualLearned
"""What the program writes down by itself: nobody's entry, and no reason to sign anew."""
