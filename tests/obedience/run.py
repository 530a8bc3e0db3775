"""One world, one way of working, one shift."""

import traceback
from time import perf_counter

from tests.obedience.floor import Floor
from tests.obedience.habits import HABITS, Worker
from tests.obedience.supervisor import Supervisor
from tests.obedience.tally import Tally
from tests.obedience.timeline import Timeline, heading
from tests.obedience.twins import Twins
from tests.obedience.world import World

BOARD = "board"
EVERYBODY = (BOARD, *HABITS)


def work_through(world: World, who: str, *, twins: bool = False) -> Tally:
    """Return the count of a shift; whatever is thrown is a fault that the count tells of.

    With ``twins`` each flag is followed with a twin of the program that never raised it.
    """
    floor = Floor(world, who)
    begun = perf_counter()
    try:
        tally = _worker(floor, who, Timeline(kept=False), Twins() if twins else None).work()
    except Exception:  # noqa: BLE001 - whatever it is, thousands of other worlds go on
        tally = floor.end()
        tally.faults.append(traceback.format_exc(limit=-4))
    tally.seconds = perf_counter() - begun
    return tally


def retold(world: World, who: str) -> list[str]:
    """Return one shift as lines to read."""
    floor, timeline = Floor(world, who), Timeline(kept=True)
    lines = heading(world)
    try:
        _worker(floor, who, timeline).work()
    except Exception:  # noqa: BLE001 - what led there is what is asked for
        timeline.lines.append(traceback.format_exc())
    return lines + timeline.lines


def _worker(
    floor: Floor, who: str, timeline: Timeline, twins: Twins | None = None
) -> Supervisor | Worker:
    if who == BOARD:
        return Supervisor(floor, timeline, twins)
    return Worker(floor, HABITS[who], timeline)
