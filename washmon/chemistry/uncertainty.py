"""How sure an amount is: the errors of reading, volume and strength, carried to the amount."""

import math
from dataclasses import dataclass

from washmon.chemistry.checks import ChemistryError

# Common practice, no published source: a volume from a tape measure, a strength from a label.
VOLUME_ERROR = 0.05
LABEL_ERROR = 0.10
TESTED_ERROR = 0.05


@dataclass(frozen=True, slots=True)
class ErrorRange:
    """A best value and the range that it very probably lies in (about 95 %)."""

    low: float
    best: float
    high: float


def reached(level: ErrorRange, rise: float, under: float, over: float) -> ErrorRange:
    """Return where a rise takes a level.

    Level and rise do not
    depend on each other: their errors are added as squares.

    Args:
        level: before, mg/L, with the ends between which it lies.
        rise: mg/L.
        under: how far the rise may be too small, as a share of it.
        over: how far the rise may be too large, as a share of it.
    """
    best = level.best + rise
    return ErrorRange(
        low=max(0.0, best - math.hypot(level.best - level.low, under * rise)),
        best=best,
        high=best + math.hypot(level.high - level.best, over * rise),
    )


def largest_rise(level: ErrorRange, maximum: float, over: float) -> float:
    """Return the rise whose upper end (see :func:`reached`) comes to a maximum.

    Raises:
        ChemistryError: the level may be there already.
    """
    room, off = maximum - level.best, level.high - level.best
    if room <= off:
        raise ChemistryError(
            "By what was read the level may be at its maximum already: add nothing, read it again."
        )
    # room = rise + hypot(off, over rise), solved for the rise
    square = 1.0 - over**2
    return (room - math.sqrt(room**2 - square * (room**2 - off**2))) / square
