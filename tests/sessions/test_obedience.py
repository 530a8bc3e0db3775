"""The obedient supervisor in a hundred small worlds: what must never be, whatever the world."""

from collections.abc import Iterator

import numpy as np
import pytest

from washmon.sessions.practice.obedience.basin import Basin, Held, charge, ph_of, tap
from washmon.sessions.practice.obedience.mechanism import Family, draw_mechanism
from washmon.sessions.practice.obedience.run import BOARD, HABITS, retold, work_through
from washmon.sessions.practice.obedience.tables import table
from washmon.sessions.practice.obedience.tally import Tally, wilson
from washmon.sessions.practice.obedience.world import draw_tubs, draw_world

SHORT = (9, 14)
WORLDS, MOST_TANKS = 100, 3


@pytest.fixture(scope="module")
def obeyed() -> list[Tally]:
    return [work_through(world, BOARD) for world in small_worlds()]


def small_worlds() -> Iterator[object]:
    seed = found = 0
    while found < WORLDS:
        seed += 1
        world = draw_world(seed, batches=SHORT)
        if len(world.setup.tanks) <= MOST_TANKS:
            found += 1
            yield world
