"""Days of washing to learn from."""

from collections.abc import Callable
from datetime import timedelta

from msgspec.structs import replace

from tests.shed import START, Shed, a_setup, a_tank
from washmon.line.events import BatchWashed, Method, ReadingTaken
from washmon.line.setup import LineSetup
from washmon.line.state import ShiftState

PADS = (0.0, 30.0, 40.0, 50.0, 60.0, 70.0, 100.0)


def setup(**changes: object) -> LineSetup:
    return replace(a_setup(a_tank(1, "Only")), strip_pads_mg_l=PADS, **changes)


def strip(shed: Shed, fac: float, by: str) -> None:
    reading = ReadingTaken(at=shed.now, by=by, tank=1, fac_mg_l=fac, fac_method=Method.STRIP)
    shed.tell(reading)


def batch(shed: Shed, lot: str, kg: float = 12.0) -> None:
    shed.wait(5)
    shed.tell(BatchWashed(at=shed.now, by="RM", tanks=(1,), lot=lot, weight_kg=kg))


def a_day(story: Callable[[Shed], None], days_ago: int = 1, **changes: object) -> ShiftState:
    shed = Shed(setup(**changes), start=START - timedelta(days=days_ago))
    shed.fill()
    shed.dose(ml=220)
    shed.wait(8)
    story(shed)
    return shed.shift


def two_eyes(shed: Shed) -> None:
    """Water of 50 by the kit: RM calls it 60, TK calls it 40."""
    for _ in range(6):
        shed.wait(2).read(fac=50.0)
        strip(shed.wait(1), 60.0, "RM")
        strip(shed.wait(1), 40.0, "TK")
        batch(shed, "L-1", 0.5)
        shed.dose(ml=4)


def two_lots(shed: Shed) -> None:
    """Lot L-1 takes 1 mg/L a batch, lot L-2 five, twice in turn."""
    level = 52.0
    for lot, fall in (("L-1", 1.0), ("L-2", 5.0), ("L-1", 1.0), ("L-2", 5.0)):
        for number in range(6):
            batch(shed, lot)
            level -= fall
            if number % 2:
                shed.wait(2).read(fac=round(level, 1))
        shed.dose(ml=(55.0 - level) * 4)
        shed.wait(8).read(fac=55.0)
        level = 55.0
