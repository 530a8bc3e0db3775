"""What a batch met in the tanks: active chlorine times contact, as far as readings tell."""

from bisect import bisect_left
from datetime import datetime

from washmon.chemistry.checks import ChemistryError
from washmon.chemistry.exposure import hocl_ct_mg_min_l
from washmon.line.events import BatchWashed, ReadingTaken
from washmon.line.fill_water import USUAL_WATER_C
from washmon.line.state import Fill, Placed, ShiftState, TankState


def ct_hocl_mg_min_l(shift: ShiftState, batch: BatchWashed) -> float | None:
    """Return HOCl times contact time of a batch, mg min/L, all its tanks together.

    Each tank counts with the last free chlorine, pH and water temperature that were read in its
    fill before the batch (20 °C where none was). None where the contact was not timed, or where
    a tank of chlorine lacks a reading; tanks of peracetic acid add nothing.
    """
    if batch.contact_s is None:
        return None
    tanks = [tank for tank in shift.tanks if tank.number in batch.tanks]
    found = [
        _in_tank(tank, batch, batch.contact_s) for tank in tanks if tank.spec.peracetic is None
    ]
    known = [ct for ct in found if ct is not None]
    return sum(known) if known and len(known) == len(found) else None


def _in_tank(tank: TankState, batch: BatchWashed, contact_s: float) -> float | None:
    fill = next((fill for fill in reversed(tank.fills) if fill.at <= batch.at), None)
    if fill is None:
        return None
    level, ph = _last(fill, batch, "fac_mg_l"), _last(fill, batch, "ph")
    water_c = _last(fill, batch, "water_c")
    if level is None or ph is None:
        return None
    try:
        return hocl_ct_mg_min_l(level, contact_s, ph, USUAL_WATER_C if water_c is None else water_c)
    except ChemistryError:
        return None


def _last(fill: Fill, batch: BatchWashed, field: str) -> float | None:
    upto = bisect_left(fill.readings, batch.at, key=_when)
    for reading in reversed(fill.readings[:upto]):
        value: float | None = getattr(reading.event, field)
        if value is not None:
            return float(value)
    return None


def _when(placed: Placed[ReadingTaken]) -> datetime:
    return placed.event.at
