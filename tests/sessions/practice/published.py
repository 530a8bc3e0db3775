"""Published courses of falling chlorine, and the simulated water under the same conditions."""

import tomllib
from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path
from typing import Any, NamedTuple

from scipy.optimize import brentq

from tests.sessions.practice.pools import STEADY
from washmon.sessions.practice.parameters import parameters
from washmon.sessions.practice.water import Contents, TankWater, tap_water

MG_PER_MICROMOL = 70.906 / 1000.0
"""Of Cl2, CRC Handbook of Chemistry and Physics."""
_STEP_MIN = 0.5
DATA: dict[str, Any] = tomllib.loads(
    (Path(__file__).parent / "published.toml").read_text(encoding="utf-8")
)


class Course(NamedTuple):
    """Minutes, and free chlorine as measured and as simulated, mg/L as Cl2."""

    minutes: tuple[float, ...]
    measured: tuple[float, ...]
    simulated: tuple[float, ...]


def time_to_half(minutes: Sequence[float], levels: Sequence[float]) -> float:
    """Return after how many minutes a course has fallen to half of its first level."""
    half = levels[0] / 2
    for place in range(1, len(levels)):
        if levels[place] <= half:
            before, after = levels[place - 1], levels[place]
            share = (before - half) / (before - after)
            first = minutes[place - 1] - minutes[0]
            return first + share * (minutes[place] - minutes[place - 1])
    raise ValueError("It never falls to half.")


def continuous() -> tuple[Course, ...]:
    """Return the stretches of the first set; the water keeps what was washed into it."""
    told = DATA["continuous"]
    pool, fresh = _pool(told["volume_l"], 0.0)
    courses, now = [], 0.0
    for one in told["stretches"]:
        minutes = one["minutes"]
        measured = [MG_PER_MICROMOL * level for level in one["micromol_l"]]
        now = _go_on(pool, fresh, now, minutes[0])
        pool.contents.level = measured[0]
        simulated = [measured[0]]
        for until in minutes[1:]:
            now = _go_on(pool, fresh, now, until)
            simulated.append(pool.level)
        courses.append(Course(tuple(minutes), tuple(measured), tuple(simulated)))
    return tuple(courses)


def batch() -> Course:
    """Return the second set; only the water's whole demand is set, by the last level."""
    told = DATA["batch"]
    minutes = told["minutes"]
    measured = [MG_PER_MICROMOL * level for level in told["micromol_l"]]

    def course(demand_mg_l: float) -> list[float]:
        pool, fresh = _pool(1000.0, measured[0])
        part = parameters().kinetics.fast_part
        mg = 1000.0 * demand_mg_l
        pool.add_dirt(part * mg, (1.0 - part) * mg, 0.0, 0.0)
        levels = [measured[0]]
        for before, after in pairwise(minutes):
            pool.rest(after - before, STEADY, fresh)
            levels.append(pool.level)
        return levels

    demand = float(brentq(lambda mg_l: course(mg_l)[-1] - measured[-1], 1.0, 200.0))
    return Course(tuple(minutes), tuple(measured), tuple(course(demand)))


def _pool(volume_l: float, level_mg_l: float) -> tuple[TankWater, Contents]:
    """Return water of 20 degrees: the temperature is not told."""
    model = parameters()
    fresh = tap_water(STEADY.source, model)
    pool = TankWater(model)
    pool.wanted_l = volume_l
    pool.take(volume_l, fresh)
    pool.contents.level = level_mg_l
    return pool, fresh


def _go_on(pool: TankWater, fresh: Contents, now: float, until: float) -> float:
    told = DATA["continuous"]
    usual = parameters().commodity[told["commodity"]]
    while now < until - 1e-9:
        span = min(_STEP_MIN, until - now)
        if any(first <= now < last for first, last in told["washing"]):
            kg = told["kg_min"] * span * usual.released
            part = parameters().kinetics.fast_part
            mg = 1000.0 * usual.demand_g_kg * kg
            pool.add_dirt(part * mg, (1.0 - part) * mg, 1000.0 * usual.cod_g_kg * kg, 0.0)
        pool.rest(span, STEADY, fresh)
        now += span
    return now
