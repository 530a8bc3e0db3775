"""What a reading may really be, by the method it was taken with."""

from washmon.line.events import Method, ReadingTaken
from washmon.line.setup import Tank
from washmon.line.strip import strip_range

METHOD_ERROR = {Method.KIT: 0.10, Method.METER: 0.05}
"""Relative error of a reading, common practice; a strip has a range instead."""
PERACETIC_STRIP_ERROR = 0.25
"""Relative error of a strip for peracetic acid, half way to the next shade (common practice)."""
PH_ERROR = {Method.STRIP: 0.3, Method.KIT: 0.2, Method.METER: 0.1}
"""Error of one pH reading: common practice, no published source."""


def level_range(fac_mg_l: float, method: Method) -> tuple[float, float]:
    """Return between which levels, mg/L, the water may be when a method reads this."""
    if method is Method.STRIP:
        return strip_range(fac_mg_l)
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


def range_of(spec: Tank, reading: ReadingTaken) -> tuple[float, float]:
    """Return between which levels, mg/L, a tank's sanitizer may be when its level was read."""
    level = level_of(spec, reading) or 0.0
    if spec.peracetic is not None:
        return peracetic_range(level, reading.paa_method)
    return level_range(level, reading.fac_method)
