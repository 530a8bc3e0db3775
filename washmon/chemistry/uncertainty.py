"""How sure an amount is: the errors of reading, volume and strength, carried to the amount."""

import math
from dataclasses import dataclass

from washmon.chemistry.checks import ChemistryError, require
from washmon.chemistry.hypochlorite import dose_g, dose_ml

# Common practice, no published source: a volume from a tape measure, a strength from a label.
VOLUME_ERROR = 0.05
LABEL_ERROR = 0.10
TESTED_ERROR = 0.05
WORTH_TELLING = 0.10


@dataclass(frozen=True, slots=True)
class Range:
    """A best value and the range that it very probably lies in (about 95 %)."""

    low: float
    best: float
    high: float

    @property
    def matters(self) -> bool:
        """Whether the range is so wide that a person should see it: over 10 % to either side."""
        return max(self.high - self.best, self.best - self.low) > WORTH_TELLING * self.best


def dose_range(
    volume_l: float,
    level_mg_l: Range,
    target_mg_l: float,
    strength: float,
    *,
    volume_error: float = VOLUME_ERROR,
    strength_error: float = LABEL_ERROR,
    solid: bool = False,
) -> Range:
    """Return the dose (mL, or g of a solid) with its range.

    ``level_mg_l`` is the reading with its own range (a strip's neighbouring colours, a meter's
    error); the other errors are fractions. Each is carried alone to the amount, and the parts are
    added as squares, because they do not depend on each other. An amount never goes below 0.

    Raises:
        ChemistryError: as ``dose_ml`` and ``dose_g`` do, or an error that is no fraction.
    """
    require(volume_error, "error of the volume", 0.0, 0.5)
    require(strength_error, "error of the strength", 0.0, 0.5)
    best = (dose_g if solid else dose_ml)(volume_l, level_mg_l.best, target_mg_l, strength)
    per_mg_l = best / (target_mg_l - level_mg_l.best)
    others = math.hypot(volume_error, strength_error) * best
    return Range(
        low=max(0.0, best - math.hypot(others, per_mg_l * (level_mg_l.high - level_mg_l.best))),
        best=best,
        high=best + math.hypot(others, per_mg_l * (level_mg_l.best - level_mg_l.low)),
    )


def reached(level: Range, rise: float, under: float, over: float) -> Range:
    """Return where a rise takes a level.

    ``under`` and ``over`` are how far the rise may be off, as shares of it. Level and rise do not
    depend on each other: their errors are added as squares.
    """
    best = level.best + rise
    return Range(
        low=max(0.0, best - math.hypot(level.best - level.low, under * rise)),
        best=best,
        high=best + math.hypot(level.high - level.best, over * rise),
    )


def largest_rise(level: Range, maximum: float, over: float) -> float:
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
