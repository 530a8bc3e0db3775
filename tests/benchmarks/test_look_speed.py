"""A look of the rules at unchanged water against the first look at it, where acid is estimated."""

import sys
import time
from datetime import datetime, timedelta
from statistics import median

import pytest
from msgspec.structs import replace

from tests.shed import START, a_setup, a_tank
from washmon.line.events import (
    AcidAdded,
    BatchWashed,
    DoseAdded,
    Event,
    Method,
    ReadingTaken,
    ShiftStarted,
    TankFilled,
)
from washmon.line.flags import Amount
from washmon.line.fold import fold
from washmon.line.journal import Entry
from washmon.line.setup import Lot
from washmon.line.state import ShiftState
from washmon.planning.advice import advise

TANKS = tuple(range(1, 7))
HOURS = 10
LOOKS = 30
LEAST_RATIO = 1.0
"""A first look works out the acid of six tanks; a later one only finds it again."""


def a_long_shift_on_hard_water() -> ShiftState:
    """Ten hours on six tanks: each half hour a dose and acid in each, with readings about them."""
    tanks = (
        a_tank(number, f"Tank {number}", batches_per_fill=None, hours_per_fill=None)
        for number in TANKS
    )
    setup = a_setup(*tanks)  # no water change puts the acid off
    lots = (Lot(code="L-1", produce="chard"),)
    events: list[Event] = [ShiftStarted(at=START, by="RM", setup=setup, lots=lots)]
    events += [TankFilled(at=START, by="RM", tank=tank, volume_l=500.0) for tank in TANKS]
    for turn in range(2 * HOURS):
        at = START + timedelta(minutes=30 * turn + 1)
        for tank in TANKS:
            events += _round(at, tank)
        for minutes in range(16, 29, 4):
            washed = at + timedelta(minutes=minutes)
            events.append(BatchWashed(at=washed, by="RM", tanks=TANKS, lot="L-1"))
    return fold("speed", [Entry(seq, event.at, event, "") for seq, event in enumerate(events)])


def _round(at: datetime, tank: int) -> list[Event]:
    """Read low chlorine and high pH, dose, read, add acid, read."""

    def read(minutes: float, fac: float, ph: float) -> ReadingTaken:
        then = at + timedelta(minutes=minutes)
        return ReadingTaken(
            at=then, by="RM", tank=tank, fac_mg_l=fac, ph=ph, ph_method=Method.METER
        )

    dose = Amount(65.0, "mL")
    acid = Amount(250.0, "mL")
    return [
        read(0, 34.0, 7.9),
        DoseAdded(at=at + timedelta(minutes=1), by="RM", tank=tank, product="bleach", amount=dose),
        read(7, 49.0, 8.2),
        AcidAdded(at=at + timedelta(minutes=8), by="RM", tank=tank, product="vinegar", amount=acid),
        read(14, 48.0, 7.9),
    ]


def as_new(shift: ShiftState) -> ShiftState:
    """Return the same shift in objects that nobody has looked at."""
    tanks = tuple(
        replace(tank, fills=tuple(replace(fill) for fill in tank.fills)) for tank in shift.tanks
    )
    return replace(shift, tanks=tanks)


def looked_ms(shift: ShiftState, now: datetime) -> float:
    started = time.perf_counter()
    advise(shift, now)
    return 1000 * (time.perf_counter() - started)


@pytest.mark.benchmark_ratio
def test_a_look_at_water_in_which_nothing_changed_costs_no_more_than_the_first() -> None:
    shift = a_long_shift_on_hard_water()
    cold, warm = [], []
    for turn in range(LOOKS):
        now, fresh = shift.last_at + timedelta(seconds=turn), as_new(shift)
        cold.append(looked_ms(fresh, now))
        warm.append(looked_ms(fresh, now))
    ratio = median(cold) / median(warm)
    sys.stdout.write(f"A first look {median(cold):.1f} ms, a later one {median(warm):.2f} ms\n")
    assert ratio >= LEAST_RATIO


def test_a_later_look_says_the_same_as_a_first_one() -> None:
    shift = a_long_shift_on_hard_water()
    now = shift.last_at + timedelta(minutes=40)
    first = advise(shift, now)
    assert [flag.rule for flag in first.flags].count("ph-high") == len(TANKS)
    assert advise(shift, now) == first == advise(as_new(shift), now)
