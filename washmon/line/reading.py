"""What a reading may really be, by the method it was taken with.

What a test strip can tell: a pad's colour stands for a range, not for a number.
"""

import math

from washmon.line.events import Method, ReadingTaken
from washmon.line.setup import LineSetup, Tank

Pads = tuple[float, ...]
"""What the pads printed on a pack of strips stand for, mg/L of free chlorine, rising from 0."""

PADS_MG_L: Pads = (0.0, 10.0, 25.0, 50.0, 100.0, 200.0)
"""Of a high-range chlorine strip, where the set-up names no pack: common practice, no published
source."""


PERACETIC_PADS_MG_L: Pads = (0.0, 5.0, 10.0, 20.0, 30.0, 50.0, 85.0, 160.0)
"""Of a strip for peracetic acid: common practice, no published source."""

SCALES_MG_L: tuple[Pads, ...] = (
    PADS_MG_L,
    (0.0, 25.0, 50.0, 100.0, 200.0),
    (0.0, 20.0, 40.0, 60.0, 80.0, 120.0, 200.0),
    (0.0, 1.0, 3.0, 5.0, 10.0),
)
"""Printed pads that a set-up offers; whoever has others types them. Common practice, no published
source."""


def usable_pads(pads: Pads) -> Pads:
    """Return pads in rising order from 0; the usual ones where fewer than two are usable."""
    rising = sorted({0.0, *(pad for pad in pads if 0 < pad < math.inf)})
    return tuple(rising) if len(rising) > 1 else PADS_MG_L


def strip_range(fac_mg_l: float, pads: Pads = PADS_MG_L) -> tuple[float, float]:
    """Return the lowest and highest level, mg/L, that a strip read as this may stand for.

    Between two pads the eye decides at half way, so "50" means 37.5 to 75; a value between pads
    was itself guessed to about half the distance. Above the last pad the top is open: half as much
    again is taken.
    """
    below = max((pad for pad in pads if pad <= fac_mg_l), default=0.0)
    above = min((pad for pad in pads if pad > fac_mg_l), default=fac_mg_l * 2)
    if fac_mg_l != below:
        quarter = (above - below) / 4
        return max(below, fac_mg_l - quarter), min(above, fac_mg_l + quarter)
    lower = max((pad for pad in pads if pad < fac_mg_l), default=0.0)
    return (lower + fac_mg_l) / 2, (fac_mg_l + above) / 2


METHOD_ERROR = {Method.KIT: 0.10, Method.METER: 0.05}
"""Relative error of a reading, common practice; a strip has a range instead."""
PERACETIC_STRIP_ERROR = 0.25
"""Relative error of a strip for peracetic acid, half way to the next shade (common practice)."""
PH_ERROR = {Method.STRIP: 0.3, Method.KIT: 0.2, Method.METER: 0.1}
"""Error of one pH reading: common practice, no published source."""


def level_range(fac_mg_l: float, method: Method, pads: Pads = PADS_MG_L) -> tuple[float, float]:
    """Return between which levels, mg/L, the water may be when a method reads this."""
    if method is Method.STRIP:
        return strip_range(fac_mg_l, pads)
    error = METHOD_ERROR[method] * fac_mg_l
    return fac_mg_l - error, fac_mg_l + error


def peracetic_range(paa_mg_l: float, method: Method) -> tuple[float, float]:
    """Return between which levels of peracetic acid, mg/L, the water may be."""
    error = METHOD_ERROR.get(method, PERACETIC_STRIP_ERROR) * paa_mg_l
    return paa_mg_l - error, paa_mg_l + error


def level_of(spec: Tank, reading: ReadingTaken) -> float | None:
    """Return the level of a tank's own sanitizer that a reading tells, mg/L."""
    level: float | None = getattr(reading, spec.level_field)
    return level


def range_of(setup: LineSetup, spec: Tank, reading: ReadingTaken) -> tuple[float, float]:
    """Return between which levels, mg/L, a tank's sanitizer may be when its level was read.

    A strip is read by the pads of the pack in use.
    """
    level = level_of(spec, reading) or 0.0
    if spec.peracetic is not None:
        return peracetic_range(level, reading.paa_method)
    return level_range(level, reading.fac_method, usable_pads(setup.strip_pads_mg_l))
