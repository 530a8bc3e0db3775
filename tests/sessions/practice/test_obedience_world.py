"""The worlds of the obedient supervisor: their water, their instruments, and their counts."""

import math
from itertools import pairwise

import numpy as np
import pytest
from statsmodels.stats.proportion import proportion_confint

from tests.chemistry.geochemistry import ph_after
from tests.obedience.basin import CL2_MG_PER_MOL, Basin, ph_of, tap
from tests.obedience.bench import Bench
from tests.obedience.floor import Floor, most_within
from tests.obedience.habits import HABITS, acid_to
from tests.obedience.mechanism import Family, draw_mechanism
from tests.obedience.run import BOARD, retold, work_through
from tests.obedience.tables import table
from tests.obedience.tally import Tally, wilson
from tests.obedience.world import draw_tubs, draw_world
from tests.some import some
from washmon.chemistry.acid import AcidKind
from washmon.line.events import Method
from washmon.line.validate import faults

SEEDS = range(1, 60)


def basin(family: Family = Family.SECOND_ORDER, *, level: float = 50.0) -> Basin:
    random = np.random.default_rng(3)
    mechanism = next(m for _ in range(200) if (m := draw_mechanism(random)).family is family)
    found = Basin(mechanism, peracetic=False, mix_min=5.0)
    found.fill(500.0, tap(100.0, 7.5, [0.0] * len(mechanism.pools), 1.0))
    found.add_chlorine(level * 500.0, 0.08)
    return found


@pytest.mark.parametrize("alkalinity", [30.0, 100.0, 250.0])
@pytest.mark.parametrize("rise", [0.0, 50.0, 150.0])
def test_the_hidden_ph_is_about_that_of_phreeqc(alkalinity: float, rise: float) -> None:
    # The hidden water knows no activities: a tenth of a pH is what that may cost here.
    held = tap(alkalinity, 7.5, [0.0], 1.0)
    held.free = rise
    dose = rise / CL2_MG_PER_MOL
    held.alkalinity += 1.08 * dose
    reaction = {"NaHyp": dose, "NaOH": 0.08 * dose} if rise else {"NaCl": 1e-9}
    assert ph_of(held) == pytest.approx(ph_after(alkalinity, 7.5, 20.0, reaction), abs=0.1)


@pytest.mark.parametrize(
    ("kind", "formula"), [(AcidKind.VINEGAR, "HAcet"), (AcidKind.HYDROCHLORIC, "HCl")]
)
def test_acid_does_what_phreeqc_says(kind: AcidKind, formula: str) -> None:
    water = basin(level=0.0)
    water.add_acid(kind, 0.5e-3 * 500.0)
    assert water.ph == pytest.approx(ph_after(100.0, 7.5, 20.0, {formula: 0.5e-3}), abs=0.1)


def test_who_knows_the_truth_finds_the_acid_that_is_right() -> None:
    water = basin()
    water.add_acid(AcidKind.CITRIC, acid_to(water, AcidKind.CITRIC, 7.0))
    assert water.ph == pytest.approx(7.0, abs=0.01)


@pytest.mark.parametrize("family", Family)
def test_demand_uses_up_no_more_than_there_is_and_no_more_than_it_takes(family: Family) -> None:
    water = basin(family)
    water.soil(5.0 * 500.0, 500.0, 0.0)
    levels = [water.free]
    for _ in range(600):
        water.rest(1.0)
        levels.append(water.free)
    assert all(0.0 <= later <= sooner for sooner, later in some(pairwise(levels)))
    gone = 50.0 - levels[-1]
    assert gone > 2.0
    assert water.held.ntu == pytest.approx(2.0)


def test_a_strip_shows_its_pads_and_a_meter_half_milligrams() -> None:
    for seed in SEEDS:
        world = draw_world(seed)
        mixed = basin()
        mixed.rest(30.0)
        said = Bench(world.gauges, seed).level(mixed)
        if world.gauges.level_by is Method.STRIP:
            assert said in world.gauges.pads
        elif world.gauges.level_by is Method.METER:
            assert said == pytest.approx(50.0, rel=0.25)
            assert math.isclose(2.0 * said, round(2.0 * said))


def test_every_set_up_that_is_drawn_is_a_valid_one() -> None:
    for world in (*map(draw_world, SEEDS), draw_tubs(1)):
        assert [*faults(world.setup)] == []


def test_worlds_are_as_many_as_were_asked_for() -> None:
    worlds = [draw_world(seed) for seed in range(1, 500)]
    tanks = [len(world.setup.tanks) for world in worlds]
    assert np.mean(tanks) == pytest.approx(1.9, abs=0.15)
    assert {world.mechanism.family for world in worlds} == set(Family)
    assert {world.gauges.level_by for world in worlds} == set(Method)
    assert {world.setup.acids[0].kind for world in worlds if world.setup.acids} == set(AcidKind)
    assert min(tanks) == 1
    assert max(tanks) >= 6


def test_a_world_is_the_same_each_time() -> None:
    one, other = (work_through(draw_world(7, batches=(4, 4)), BOARD) for _ in range(2))
    for name in ("batches", "minutes", "checks", "doses", "acids", "lowest_ph", "flags"):
        assert getattr(one, name) == getattr(other, name)


@pytest.mark.parametrize("who", HABITS)
def test_habits_keep_the_hard_limits(who: str) -> None:
    for seed in range(1, 12):
        tally = work_through(draw_world(seed), who)
        assert tally.faults == []
        assert tally.acid_meets_chlorine == 0
        assert tally.batches == len(draw_world(seed).batches)
        assert tally.checks > 0


def test_acid_right_after_a_dose_is_counted() -> None:
    world = next(world for seed in SEEDS if (world := draw_world(seed)).setup.acids)
    floor = Floor(world, BOARD)
    floor.fill(1)
    floor.dose(1, 10.0)
    floor.acid(1, 1.0)
    assert floor.tally.acid_meets_chlorine == 1
    floor.spend(20.0)
    floor.dose(1, 10.0)
    assert floor.tally.acid_meets_chlorine == 1


def test_a_dose_far_over_the_label_is_counted_once() -> None:
    floor = Floor(draw_tubs(1), BOARD)
    floor.fill(1)
    floor.dose(1, 100.0)
    floor.spend(5.0)
    assert floor.tally.over_label == 1
    assert floor.tally.worst_over > 2.0


def test_what_a_batch_meets_is_counted_by_the_true_water() -> None:
    floor = Floor(draw_tubs(1), BOARD)
    for number in floor.tanks:
        floor.fill(number)
        floor.dose(number, 12.0)
    floor.spend(10.0)
    floor.wash()
    assert floor.tally.under_critical == 0
    floor.fill(2)
    floor.wash()
    assert (floor.tally.under_critical, floor.tally.under_beyond) == (1, 1)
    assert floor.tally.tank_batches == 6
    assert floor.tally.changes == 1
    assert 0.0 < floor.tally.asked_changes < 1.0


def test_batches_past_the_schedule_are_counted() -> None:
    world = draw_tubs(1)
    floor = Floor(world, BOARD)
    for number in floor.tanks:
        floor.fill(number)
    for _ in range(22):
        floor.wash()
    assert floor.tally.past_schedule == 2 * len(floor.tanks)


def test_a_shift_is_retold_line_by_line() -> None:
    lines = retold(draw_tubs(2, batches=(2, 2)), BOARD)
    assert lines[0].startswith("seed 2: 2 batches")
    assert sum("washed" in line for line in lines) == 2
    assert any("BOARD T1" in line for line in lines)


def test_moments_within_a_span_are_counted() -> None:
    assert most_within([], 10.0) == 0
    assert most_within([0.0, 1.0, 9.0, 10.5, 11.0, 30.0], 10.0) == 4


def test_wilsons_interval_is_that_of_statsmodels() -> None:
    for count, total in ((0, 50), (3, 1000), (40, 50)):
        low, high = proportion_confint(count, total, method="wilson")
        assert wilson(count, total) == pytest.approx((count / total, low, high), abs=1e-4)


def test_a_table_names_what_was_counted() -> None:
    tallies = [
        Tally(seed=seed, who=BOARD, tanks=1, batches=100, tank_batches=100, checks=25, minutes=500)
        for seed in range(3)
    ]
    text = table("A few", {BOARD: tallies})
    assert "| checks per tank and batch | 0.250 (0.250–0.250) |" in text
    assert "| batches an hour | 12.00 (12.00–12.00) |" in text
