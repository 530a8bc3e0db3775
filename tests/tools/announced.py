"""Tells how many batches ahead the problems of the demo shifts are announced, with a forecast.

``python -m tests.tools.announced`` writes a table. Each shift goes through the very looks of its
replay twice: with the rules alone, and with what they say of the time ahead.
"""

import sys
from collections.abc import Iterator
from typing import NamedTuple

from washmon import data
from washmon.forecast.forecast_cache import ForecastCache
from washmon.line.flags import Level
from washmon.line.fold import begin, step
from washmon.line.journal import Entry
from washmon.line.state import TankState
from washmon.planning.advice import advise, changed_flags
from washmon.sessions.file import Session, read
from washmon.sessions.player import programme

PLAN = "plan"
"""Stands for a plan that asks for somebody's hand."""
_LASTING = (PLAN, "redose-soon", "check-now", "doses-will-not-hold")
_CHANGE = (PLAN, "change-near", "doses-will-not-hold")
WARNS = {
    "chlorine-low": _LASTING,
    "chlorine-critical": (*_LASTING, "chlorine-low"),
    "doses-do-not-hold": (*_CHANGE, "demand-unusual"),
    "cloudy": _CHANGE,
    "hours": _CHANGE,
    "batches": (*_CHANGE, "batches"),
}
"""By a problem that comes slowly: what announces it, a note, a flag that watches first, or a plan
that asks for somebody's hand."""
LEVELS = frozenset({"chlorine-low", "chlorine-critical"})


class Told(NamedTuple):
    """A flag, a note or a plan as it came up: when, and after how many batches of its tank."""

    tank: int
    rule: str
    level: Level
    clock: str
    place: int
    batches: int
    water: int
    """The place of what brought this water in."""
    dose: int
    """The place of the newest dose or exchange; what was told of the level before is over."""


class Announced(NamedTuple):
    """A problem, with how many batches before it each run of the rules had announced it."""

    problem: Told
    without: int | None
    with_forecast: int | None
    by: str = ""


def told(session: Session, *, ahead: bool) -> list[Told]:
    """Return all flags of a shift as they come up, with or without a forecast."""
    found: list[Told] = []
    maintenance, shift, noted = ForecastCache(), None, set[tuple[int, str]]()
    for place, look in enumerate(programme(session.entries)):
        if look.entry is not None:
            chain = session.header.chain
            shift = step(shift, look.entry) if shift else begin(chain, look.entry)
        assert shift is not None
        if shift.ended is not None:
            break
        forecasts = maintenance.renewed(shift, look.at) if ahead else {}
        advice = advise(shift, look.at, forecasts=forecasts)
        change = changed_flags(shift, advice, look.at)
        came = [] if change is None else [(f.tank, f.rule, f.level) for f in change.raised]
        if change is not None:
            came += [(plan.tank, PLAN, Level.WATCH) for plan in change.plans if plan.hand]
        notes = {(one.tank, note.rule) for one in advice.tanks for note in one.notes}
        came += [(number, rule, Level.WATCH) for number, rule in sorted(notes - noted)]
        noted = notes
        for number, rule, level in came:
            tank = shift.tank(number)
            water, dose = _of_what(tank)
            clock = f"{look.at:%H:%M}"
            found.append(Told(number, rule, level, clock, place, tank.batches, water, dose))
        if change is not None:
            shift = step(shift, Entry(-1 - place, look.at, change, ""))
    return found


def _of_what(tank: TankState) -> tuple[int, int]:
    """Return the places of the water in a tank, and of the newest dose into it."""
    if tank.fill is None:
        return -1, -1
    water = tank.fill.used.seq
    return water, max([water, *(one.seq for one in (*tank.fill.doses, *tank.fill.exchanges))])


def announced(session: Session, *, compared: bool = True) -> Iterator[Announced]:
    """Yield the slow problems of a shift in order, ``compared`` with what the rules say alone."""
    looking = told(session, ahead=True)
    alone = told(session, ahead=False) if compared else []
    for problem in looking:
        if problem.rule in WARNS and problem.level is not Level.WATCH:
            first = _first(looking, problem)
            before = _first(alone, problem)
            yield Announced(
                problem,
                None if before is None else problem.batches - before.batches,
                None if first is None else problem.batches - first.batches,
                "" if first is None else first.rule,
            )


def _first(flags: list[Told], problem: Told) -> Told | None:
    """Return what announced a problem first: one of the level since the last dose, others since
    the water came in."""
    by_dose = problem.rule in LEVELS
    return next(
        (
            one
            for one in flags
            if one.tank == problem.tank
            and one.rule in WARNS[problem.rule]
            and one.water == problem.water
            and (one.dose == problem.dose or not by_dose)
            and one.place < problem.place
        ),
        None,
    )


def main() -> None:
    """Write the table."""
    write = sys.stdout.write
    write("| shift | time | tank | problem | batches ahead, rules alone | with forecast | by |\n")
    write("|---|---|---|---|---|---|---|\n")
    for path in data.demo_sessions():
        for one in announced(read(path)):
            problem = one.problem
            without, ahead = (
                "not" if count is None else str(count) for count in (one.without, one.with_forecast)
            )
            write(
                f"| {path.stem} | {problem.clock} | {problem.tank} | {problem.rule} "
                f"| {without} | {ahead} | {one.by} |\n"
            )


if __name__ == "__main__":
    main()
