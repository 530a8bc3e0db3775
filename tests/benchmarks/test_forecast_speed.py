"""What one entry costs the forecast, late in a long shift."""

import sys
import time
from collections.abc import Callable
from datetime import timedelta

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
from washmon.line.fold import fold
from washmon.line.journal import Entry
from washmon.line.setup import Lot
from washmon.line.state import ShiftState

EVENTS = 4000
MOST_MS, MOST_CARRIED_MS = 5.0, 0.5
"""A look at one tank; and an event alone, a reading included, whose resampling costs most."""

pytestmark = pytest.mark.benchmark_ratio


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


def state(all_entries: list[Entry], count: int) -> ShiftState:
    return fold("speed", all_entries[:count])


def cost_ms(all_entries: list[Entry], upto: int) -> float:
    """Return the median over fourteen entries, of all kinds, from a place of the journal on."""
    cache, times = FilterCache(), []
    forecast_shift(state(all_entries, upto), all_entries[upto - 1].event.at, cache)
    for count in range(upto + 1, upto + 15):
        shift = state(all_entries, count)
        now = all_entries[count - 1].event.at
        started = time.perf_counter()
        forecast_shift(shift, now, cache)
        times.append(1000 * (time.perf_counter() - started))
    return sorted(times)[len(times) // 2]


def carried_ms(all_entries: list[Entry], upto: int) -> float:
    """Return the median of following one event, without looking ahead."""
    cache, times = FilterCache(), []
    forecast_shift(state(all_entries, upto), all_entries[upto - 1].event.at, cache)
    known = cache.followed[1]
    for count in range(upto + 1, upto + 15):
        tank = state(all_entries, count).tanks[0]
        started = time.perf_counter()
        known = follow_tank(known[0].forecaster, tank, known)
        times.append(1000 * (time.perf_counter() - started))
    return sorted(times)[len(times) // 2]


@pytest.mark.parametrize(("cost", "most_ms"), [(cost_ms, MOST_MS), (carried_ms, MOST_CARRIED_MS)])
def test_an_entry_costs_little_and_no_more_after_thousands(
    cost: Callable[[list[Entry], int], float], most_ms: float
) -> None:
    made = entries(EVENTS + 20)
    turns = [(cost(made, 60), cost(made, EVENTS)) for _ in range(5)]
    early, late = (min(costs) for costs in zip(*turns, strict=True))
    sys.stdout.write(f"{cost.__name__}: {early:.2f} early, {late:.2f} after {EVENTS} entries\n")
    assert late < most_ms
    assert late < 2 * early
