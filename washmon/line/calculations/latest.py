"""What the log of a running shift knows of a tank's water, for the calculator to start from."""

from collections.abc import Mapping

from washmon.line.calculations.acid import CHLORINE
from washmon.line.calculations.fields import LEVEL, METHOD, PH
from washmon.line.calculations.peracetic import PAA_NOW
from washmon.line.events import ReadingTaken
from washmon.line.state import Fill, Placed, ShiftState, order, value_of

READ = (LEVEL, CHLORINE, PAA_NOW, PH)
"""What is read in the water: filled in from a reading or not at all."""


def latest(shift: ShiftState | None, number: int) -> Mapping[tuple[str, str], float | str]:
    """Return what was last read in a tank, by the topic of the field that asks for it.

    What an addition has changed since is left out: it must be read again.
    """
    tank = next((each for each in shift.tanks if each.number == number), None) if shift else None
    if tank is None or tank.fill is None:
        return {}
    values: dict[tuple[str, str], float | str] = {}
    if reading := _still_true(tank.fill, "fac_mg_l"):
        level = value_of(reading, "fac_mg_l")
        values |= {LEVEL.topic: level, CHLORINE.topic: level}
        values[METHOD.topic] = reading.event.fac_method.value
    if reading := _still_true(tank.fill, "paa_mg_l"):
        values[PAA_NOW.topic] = value_of(reading, "paa_mg_l")
    if reading := _still_true(tank.fill, "ph"):
        values[PH.topic] = value_of(reading, "ph")
    return values


def _still_true(fill: Fill, field: str) -> Placed[ReadingTaken] | None:
    read, added = fill.latest(field), fill.last_addition()
    if read is None:
        return None
    overtaken = added is not None and order(read) < order(added)
    return None if overtaken else read
