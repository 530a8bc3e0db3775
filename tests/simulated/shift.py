"""Whole simulated shifts: a plain operator at the practice line, with the truth beside the record.

Made by the hundred to judge a forecast, and as the scripted trainee of a scenario.
"""

import math
from collections.abc import Sequence
from datetime import datetime, timedelta, timezone
from typing import NamedTuple

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from tests.simulated.operator import Habits, Operator, Plan
from washmon.line.events import Method
from washmon.line.journal import Entry
from washmon.line.setup import (
    LineSetup,
    Lot,
)
from washmon.sessions.practice.line import Truth, WashLine
from washmon.sessions.practice.parameters import Dirtiness, PracticeError, parameters
from washmon.sessions.practice.practice_setup import practice_setup
from washmon.sessions.practice.world import Source, World

CHAIN = "practice"
BEGINS = datetime(2026, 5, 7, 6, 0, tzinfo=timezone(timedelta(hours=-4)))
MOST_BATCHES = 400
_WORLD, _PLAN = 4, 5
_LOT_EVERY = 25
_BREAK_CHANCE, _BREAK_MIN = 0.04, 15.0
_GAP_SPREAD, _WEIGHT_SPREAD = 0.2, 0.12


class Ahead(NamedTuple):
    """What a forecast should have said at a check: how long the water would really have lasted.

    If nothing were added. ``seq`` is the newest entry at that time. ``batches`` counts those washed
    until free chlorine, just before the next one, is under the limit; a part of a batch by straight
    line between two. ``None`` is longer than was looked.
    """

    seq: int
    at: datetime
    tank: int
    free_mg_l: float
    low_batches: float | None
    low_minutes: float | None
    critical_batches: float | None
    critical_minutes: float | None


class BatchTruth(NamedTuple):
    """The free chlorine that a batch really met in a tank as it went in."""

    seq: int
    tank: int
    free_mg_l: float


class Simulated(Struct, frozen=True, kw_only=True):
    """A shift as it stands in the journal, and as it really was."""

    setup: LineSetup
    world: World
    strength_share: float
    entries: tuple[Entry, ...]
    truth: tuple[Truth, ...]
    batches: tuple[BatchTruth, ...]
    ahead: tuple[Ahead, ...]

    def at(self, minutes: float) -> datetime:
        """Return the moment so many minutes into the shift."""
        return self.entries[0].event.at + timedelta(minutes=minutes)


def simulated_shift(
    seed: int,
    *,
    commodity: str = "leafy_greens",
    dirtiness: Dirtiness = Dirtiness.USUAL,
    method: Method = Method.KIT,
    hours: float = 6.0,
    tanks: int = 2,
    ahead: int = 0,
    habits: Habits | None = None,
) -> Simulated:
    """Return a shift that a plain operator ran; the same arguments give the same shift.

    ``method`` is how chlorine is measured, ``tanks`` how many at most (rinses left out), ``ahead``
    how many batches to look ahead at each check for the truth of a forecast.

    Raises:
        PracticeError: the model does not know the commodity, or no time is given.
    """
    if not 0.0 < hours <= 24.0:
        raise PracticeError("A shift lasts up to 24 hours.")
    setup = practice_setup(commodity, tanks)
    world = drawn_world(seed, commodity, dirtiness)
    line = WashLine(setup, world, seed)
    plan = _plan(seed, commodity, setup)
    who = habits or _habits(seed)
    operator = Operator(line, plan, replace(who, method=method), chain=CHAIN, begins=BEGINS)
    found: list[Ahead] = []
    operator.start()
    while line.minutes < hours * 60.0:
        if operator.next_batch() and ahead:
            found += _ahead(operator, plan, ahead)
    operator.end()
    return Simulated(
        setup=setup,
        world=world,
        strength_share=line.strength_share,
        entries=tuple(operator.entries),
        truth=tuple(operator.truth),
        batches=tuple(BatchTruth(*one) for one in operator.batches),
        ahead=tuple(found),
    )


def drawn_world(seed: int, commodity: str, dirtiness: Dirtiness) -> World:
    """Return a shed's water and weather, drawn from the seed (ranges by common practice)."""
    random = np.random.default_rng([seed, _WORLD])

    def spread(usual: float, by: float) -> float:
        return usual * math.exp(by * float(random.standard_normal()))

    def between(low: float, high: float) -> float:
        return float(random.uniform(low, high))

    return World(
        commodity=commodity,
        dirtiness=dirtiness,
        source=Source(
            alkalinity_mg_l=min(spread(90.0, 0.5), 350.0),
            ph=between(6.8, 7.6),
            celsius=between(6.0, 16.0),
            ntu=between(0.3, 2.0),
            demand_mg_l=spread(1.0, 0.4),
        ),
        pulp_c=between(8.0, 20.0),
        air_c=between(12.0, 26.0),
        decay_share=spread(1.0, 0.4),
    )


def _plan(seed: int, commodity: str, setup: LineSetup) -> Plan:
    """Draw when batches come, how heavy they are, and of which lot, whatever the operator does."""
    random = np.random.default_rng([seed, _PLAN])
    usual = parameters().commodity[commodity]
    kg = usual.batch_kg_m3 * setup.tanks[0].volume_l / 1000.0
    normal = random.standard_normal((2, MOST_BATCHES))
    breaks = random.random(MOST_BATCHES) < _BREAK_CHANCE
    gaps = usual.batch_minutes * np.exp(_GAP_SPREAD * normal[0]) + _BREAK_MIN * breaks
    weights = np.maximum(0.1, np.round(kg * np.exp(_WEIGHT_SPREAD * normal[1]), 1))
    lots = tuple(f"P-{1 + number // _LOT_EVERY}" for number in range(MOST_BATCHES))
    return Plan(tuple(gaps.tolist()), tuple(weights.tolist()), lots, _lots(lots, setup))


def _lots(codes: Sequence[str], setup: LineSetup) -> tuple[Lot, ...]:
    return tuple(Lot(code=code, produce=setup.commodity) for code in dict.fromkeys(codes))


def _habits(seed: int) -> Habits:
    random = np.random.default_rng([seed, _PLAN, 1])
    return Habits(
        check_batches=int(random.integers(3, 8)),
        forgets=float(random.uniform(0.0, 0.15)),
        seed=seed,
    )


def _ahead(operator: Operator, plan: Plan, most: int) -> list[Ahead]:
    """Run a twin of the line on, with the batches that will come and nothing added."""
    last = operator.last_check
    line, when = last.line, last.line.minutes
    numbers = [tank.number for tank in line.setup.tanks]
    levels = [[line.level_mg_l(number) for number in numbers]]
    times = [0.0]
    due = last.last_batch
    for batch in range(last.batch, min(last.batch + most, MOST_BATCHES)):
        due = max(line.minutes, due + plan.gaps[batch])
        line.advance(due - line.minutes)
        if batch > last.batch:
            levels.append([line.level_mg_l(number) for number in numbers])
            times.append(line.minutes - when)
        line.wash(numbers, plan.weights[batch], plan.lots[batch])
    found = []
    for place, tank in enumerate(line.setup.tanks):
        course = [level[place] for level in levels]
        low = _crossing(course, times, tank.chlorine.low_mg_l)
        critical = _crossing(course, times, tank.chlorine.critical_low_mg_l)
        at = operator.moment(when)
        found.append(Ahead(last.seq, at, tank.number, course[0], *low, *critical))
    return found


def _crossing(
    course: Sequence[float], times: Sequence[float], limit: float
) -> tuple[float | None, float | None]:
    """Return after how many batches and minutes a course is under a limit."""
    if course[0] < limit:
        return 0.0, 0.0
    for number in range(1, len(course)):
        before, after = course[number - 1], course[number]
        if after < limit:
            part = (before - limit) / (before - after)
            minutes = times[number - 1] + part * (times[number] - times[number - 1])
            return number - 1 + part, minutes
    return None, None
