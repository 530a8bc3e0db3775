"""Said chances that a batch was washed in bad water, held against what it really met."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from tests.forecast.judging import COMMODITIES, METHODS
from tests.simulated.operator import Habits
from tests.simulated.shift import simulated_shift
from washmon.forecast.shift import FilterCache, forecast_shift
from washmon.line.events import ReadingTaken
from washmon.line.fold import begin, step
from washmon.line.state import ShiftState, TankState
from washmon.rules.base import RuleContext
from washmon.rules.in_question import bridged_below, questioned
from washmon.sessions.practice.parameters import Dirtiness

TANK = 1


class Asked(NamedTuple):
    """One batch when a reading put it in question: what was said of it, and what was so."""

    smoothed: float
    bridge: float | None
    later: float
    """As said at the end of the shift, when the readings after it were known too."""
    bad: bool


def asked_in(seed: int) -> list[Asked]:
    """Return every batch that a reading puts in question in one simulated shift.

    The operator looks seldom and forgets much: else little would be in question.
    """
    simulated = simulated_shift(
        seed,
        commodity=COMMODITIES[seed % len(COMMODITIES)],
        dirtiness=list(Dirtiness)[seed // 2 % 3],
        method=METHODS[seed % 2],
        hours=4.0,
        tanks=1,
        habits=Habits(check_batches=8 + seed % 7, forgets=0.3, seed=seed),
    )
    met = {one.seq: one.free_mg_l for one in simulated.batches}
    critical = simulated.setup.tank(TANK).chlorine.critical_low_mg_l
    cache, said = FilterCache(), dict[int, tuple[float, float | None]]()
    shift = begin("practice", simulated.entries[0])
    for entry in simulated.entries[1:]:
        shift = step(shift, entry)
        if isinstance(entry.event, ReadingTaken) and entry.event.fac_mg_l is not None:
            _listen(shift, entry.event, cache, said)
    last = forecast_shift(shift, simulated.entries[-1].event.at, cache)[TANK].below
    return [
        Asked(smoothed, bridge, last.get(seq, smoothed), met[seq] < critical)
        for seq, (smoothed, bridge) in said.items()
    ]


def _listen(
    shift: ShiftState,
    reading: ReadingTaken,
    cache: FilterCache,
    said: dict[int, tuple[float, float | None]],
) -> None:
    tank = shift.tank(TANK)
    new = [seq for seq in questioned(tank) if seq not in said]
    if not new or tank.fill is None:
        return
    found = forecast_shift(shift, reading.at, cache)[TANK].below
    bridge = bridged_below(_rule_context(shift, tank, reading))
    said |= {seq: (found[seq], bridge.get(seq)) for seq in new if seq in found}


def _rule_context(shift: ShiftState, tank: TankState, reading: ReadingTaken) -> RuleContext:
    assert tank.fill is not None
    return RuleContext(shift, tank, tank.fill, reading.at, frozenset())


class Bin(NamedTuple):
    """Batches of which about the same was said."""

    batches: int
    said: float
    true: float


def reliability(
    said: NDArray[np.float64], true: NDArray[np.bool_], edges: tuple[float, ...]
) -> list[Bin]:
    """Return what was said and what was so, in each bin between two edges."""
    places = np.clip(np.searchsorted(edges, said, side="right") - 1, 0, len(edges) - 2)
    return [
        Bin(int(here.sum()), float(said[here].mean()), float(true[here].mean()))
        for number in range(len(edges) - 1)
        if (here := places == number).any()
    ]
