"""The obedient supervisor in a hundred small worlds: what must never be, whatever the world.

Bounds are those of the aims where the program keeps them in all worlds; a share of a hundred short
shifts proves no rare thing, so shares are left to ``python -m tests.tools.obedience``.
"""

from collections.abc import Iterator

import pytest

from tests.obedience.run import BOARD, work_through
from tests.obedience.tally import Tally
from tests.obedience.world import World, draw_tubs, draw_wild, draw_world

SHORT = (5, 8)
pytestmark = pytest.mark.xdist_group("obedience")
WORLDS, TUBS, SLIPPING, WILD, MOST_TANKS = 76, 6, 12, 6, 3


def small_worlds() -> Iterator[World]:
    seed, found = 0, 0
    while found < WORLDS + SLIPPING:
        seed += 1
        world = draw_world(seed, slips=found >= WORLDS, batches=SHORT)
        if len(world.setup.tanks) <= MOST_TANKS:
            found += 1
            yield world
    yield from (draw_tubs(one, batches=SHORT) for one in range(TUBS))


@pytest.fixture(scope="module")
def obeyed() -> list[Tally]:
    return [work_through(world, BOARD) for world in small_worlds()]


@pytest.fixture(scope="module")
def wild() -> list[Tally]:
    return [work_through(draw_wild(seed, batches=SHORT), BOARD) for seed in range(1, WILD + 1)]


def where(tallies: list[Tally], name: str) -> dict[str, object]:
    """Return the worlds in which something was counted, by seed, to be retold."""
    return {f"{one.seed}, {one.who}": found for one in tallies if (found := getattr(one, name))}


def test_a_hundred_shifts_run_without_a_fault(obeyed: list[Tally]) -> None:
    assert len(obeyed) == WORLDS + TUBS + SLIPPING
    assert where(obeyed, "faults") == {}
    entered = [one for one in obeyed if not one.slips]
    assert where(entered, "refused") == {}
    assert where(entered, "loops") == {}
    assert where(entered, "stuck") == {}


def test_no_step_brings_the_ph_to_where_gas_comes(obeyed: list[Tally]) -> None:
    assert [one.seed for one in obeyed if one.lowest_ph_by_acid < 6.0] == []
    assert [one.seed for one in obeyed if one.lowest_ph < 6.0 and not one.slips] == []


def test_acid_and_hypochlorite_never_meet_while_they_mix(obeyed: list[Tally]) -> None:
    entered = [one for one in obeyed if not one.slips]
    assert where(entered, "acid_meets_chlorine") == {}


def test_no_dose_passes_the_label_beyond_the_error_of_the_reading(obeyed: list[Tally]) -> None:
    entered = [one for one in obeyed if not one.slips]
    assert where(entered, "over_label") == {}


def test_hardly_a_batch_meets_water_under_the_critical_low(obeyed: list[Tally]) -> None:
    entered = [one for one in obeyed if not one.slips]
    batches = sum(one.batches for one in entered)
    assert sum(one.under_critical for one in entered) <= 0.01 * batches
    assert where(entered, "under_after_stop") == {}


def test_whatever_the_readings_there_is_a_plan_that_ends(wild: list[Tally]) -> None:
    for name in ("faults", "refused", "loops", "acid_meets_chlorine", "under_in_stop"):
        assert where(wild, name) == {}


def test_nothing_is_fed_while_a_stop_stands(obeyed: list[Tally]) -> None:
    assert where([one for one in obeyed if not one.slips], "under_in_stop") == {}
