"""What a reading may really be, by the method it was taken with."""

from washmon.line.events import Method
from washmon.line.strip import strip_range

METHOD_ERROR = {Method.KIT: 0.10, Method.METER: 0.05}
"""Relative error of a reading, common practice; a strip has a range instead."""


def level_range(fac_mg_l: float, method: Method) -> tuple[float, float]:
    """Return between which levels, mg/L, the water may be when a method reads this."""
    if method is Method.STRIP:
        return strip_range(fac_mg_l)
    error = METHOD_ERROR[method] * fac_mg_l
    return fac_mg_l - error, fac_mg_l + error
