"""How much chlorine a batch meets: concentration times contact time, weighed by what is active."""

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from washmon.chemistry.checks import ChemistryError, Number, require
from washmon.chemistry.hypochlorite import HIGHEST_LEVEL_MG_L
from washmon.chemistry.speciation import hocl_share

_LONGEST_S = 86_400.0


class LevelAt(NamedTuple):
    """Free chlorine (mg/L) at a time in the contact, s."""

    at_s: float
    free_chlorine_mg_l: float


def ct_mg_min_l(free_chlorine_mg_l: Number, contact_s: Number) -> Number:
    """Return concentration times time (mg min/L) at a steady level.

    Tables of CT are for clean drinking water; produce wash water is not. Compare with it, do not
    conclude a kill from it.

    Raises:
        ChemistryError: a negative or absurd level or time.
    """
    require(free_chlorine_mg_l, "free chlorine", 0.0, HIGHEST_LEVEL_MG_L, "ppm")
    require(contact_s, "contact time", 0.0, _LONGEST_S, "s")
    return free_chlorine_mg_l * contact_s / 60.0


def hocl_ct_mg_min_l(
    free_chlorine_mg_l: Number, contact_s: Number, ph: Number, temperature_c: Number
) -> Number:
    """Return CT (mg min/L) of hypochlorous acid alone.

    Args:
        free_chlorine_mg_l: as Cl2, mg/L.
        contact_s: the time in the water, s.
        ph: of the water.
        temperature_c: of the water, °C; numbers and arrays must be of one shape.

    Raises:
        ChemistryError: a negative or absurd level, time, pH or temperature.
    """
    return ct_mg_min_l(free_chlorine_mg_l, contact_s) * hocl_share(ph, temperature_c)


def ct_over_mg_min_l(moments: Sequence[LevelAt]) -> float:
    """Return CT (mg min/L) over a level that changes, by the trapezoid between moments.

    Raises:
        ChemistryError: fewer than two moments, or one before another.
    """
    if not moments:
        raise ChemistryError("Exposure needs a level at the start and at the end.")
    total = 0.0
    for first, last in pairwise(moments):
        if last.at_s < first.at_s:
            raise ChemistryError("A level is dated before the one that it follows.")
        mean = (first.free_chlorine_mg_l + last.free_chlorine_mg_l) / 2.0
        total += ct_mg_min_l(mean, last.at_s - first.at_s)
    return total
