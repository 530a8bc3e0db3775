"""What one entry costs the forecast, late in a long shift."""

import sys
import time
from collections.abc import Callable
from datetime import timedelta
from functools import cache

import numpy as np
import pytest

from tests.shed import START, a_setup, a_tank
from washmon.forecast.shift import FilterCache, follow_tank, forecast_shift
from washmon.line.events import (
    BatchWashed,
    DoseAdded,
    Event,
    Method,
    ReadingTaken,
    ShiftStarted,
    TankFilled,
)
from washmon.line.flags import Amount
from washmon.line.fold import fold, step
from washmon.line.journal import Entry
from washmon.line.setup import Lot
from washmon.line.state import ShiftState

EVENTS = 4000
MOST_LOOK, MOST_CARRIED = 1000.0, 80.0
"""A look at one tank, and an event alone, against one pass over as many numbers as a filter has."""

pytestmark = pytest.mark.benchmark_ratio


@cache
def entries(count: int) -> list[Entry]:
    """One fill: six batches, a reading, and a dose after every second reading."""
    setup = a_setup(a_tank(1, "Only"))
    lots = (Lot(code="L-1", produce="baby chard"),)
    events: list[Event] = [
        ShiftStarted(at=START, by="RM", setup=setup, lots=lots),
        TankFilled(at=START, by="RM", tank=1, volume_l=500.0),
        _dose(0, 200),
    ]
    for number in range(3, count):
        at = START + timedelta(minutes=number)
        if number % 14 == 7:
            events.append(ReadingTaken(at=at, by="RM", tank=1, fac_mg_l=41.0))
        elif number % 14 == 13:
            reading = ReadingTaken(at=at, by="RM", tank=1, fac_mg_l=34.0, fac_method=Method.KIT)
            events.append(reading)
        elif number % 14 == 0:
            events.append(_dose(number, 60))
        else:
            events.append(BatchWashed(at=at, by="RM", tanks=(1,), lot="L-1", weight_kg=9.0))
    return [Entry(seq, event.at, event, "") for seq, event in enumerate(events)]


def _dose(minute: float, ml: float) -> DoseAdded:
    at = START + timedelta(minutes=minute)
    return DoseAdded(at=at, by="RM", tank=1, product="bleach", amount=Amount(ml, "mL"))


@cache
def followed(upto: int) -> tuple[ShiftState, FilterCache]:
    """Return the shift up to a place of its journal, and what its forecast keeps by then."""
    made, kept = entries(EVENTS + 20), FilterCache()
    shift = fold("speed", made[:upto])
    forecast_shift(shift, made[upto - 1].event.at, kept)
    return shift, kept


def cost_ms(upto: int) -> float:
    """Return the median over fourteen entries, of all kinds, from a place of the journal on."""
    shift, kept = followed(upto)
    known, times = FilterCache(dict(kept.followed), dict(kept.forecasts)), []
    for entry in entries(EVENTS + 20)[upto : upto + 14]:
        shift, now = step(shift, entry), entry.event.at
        started = time.perf_counter()
        forecast_shift(shift, now, known)
        times.append(1000 * (time.perf_counter() - started))
    return sorted(times)[len(times) // 2]


def carried_ms(upto: int) -> float:
    """Return the median of following one event, without looking ahead."""
    shift, kept = followed(upto)
    known, times = kept.followed[1], []
    for entry in entries(EVENTS + 20)[upto : upto + 14]:
        shift = step(shift, entry)
        tank = shift.tanks[0]
        started = time.perf_counter()
        known = follow_tank(known[0].forecaster, tank, known)
        times.append(1000 * (time.perf_counter() - started))
    return sorted(times)[len(times) // 2]


def pass_ms() -> float:
    """Return the least time of one exponential over all traits of all particles."""
    numbers, times = np.linspace(-1.0, 1.0, 8 * 1500), []
    for _ in range(50):
        started = time.perf_counter()
        np.exp(numbers)
        times.append(1000 * (time.perf_counter() - started))
    return min(times)


@pytest.mark.parametrize(("cost", "most"), [(cost_ms, MOST_LOOK), (carried_ms, MOST_CARRIED)])
def test_an_entry_costs_little_and_no_more_after_thousands(
    cost: Callable[[int], float], most: float
) -> None:
    turns = [(cost(60), cost(EVENTS)) for _ in range(20)]
    early, late = (min(costs) for costs in zip(*turns, strict=True))
    sys.stdout.write(
        f"{cost.__name__}: {early:.2f} early, {late:.2f} after {EVENTS}, a pass {pass_ms():.3f}\n"
    )
    assert late < most * pass_ms()
    assert late < 2 * early
