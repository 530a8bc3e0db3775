"""Control charts against published figures: limits, constants, run rules and their run lengths."""

import math
import random
from itertools import pairwise
from statistics import fmean

import pytest
from hypothesis import given
from hypothesis import strategies as st

from washmon.reports.control import D2, D4, FEWEST, RULES, RuleSet, broken, chart

# NIST/SEMATECH e-Handbook of Statistical Methods, section 6.3.2.2, flow rates of ten batches
# (data and limits there: values from memory).
FLOW = (49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1)


def test_limits_are_those_of_the_published_example() -> None:
    found = chart(FLOW, RuleSet.LIMITS)
    assert found is not None
    assert found.centre == pytest.approx(50.81, abs=0.005)
    assert found.mean_range == pytest.approx(1.8778, abs=0.00005)
    assert found.high == pytest.approx(55.8041, abs=0.0005)
    assert found.low == pytest.approx(45.8159, abs=0.0005)
    assert found.broken == ()


def test_the_constants_are_those_of_ranges_of_two() -> None:
    # The range of two normal values is half-normal: mean 2/√π, spread √(2 − 4/π); D4 = 1 + 3 d3/d2.
    d2, d3 = 2 / math.sqrt(math.pi), math.sqrt(2 - 4 / math.pi)
    assert pytest.approx(d2, abs=0.0005) == D2
    assert pytest.approx(1 + 3 * d3 / d2, abs=0.001) == D4


def keys(points: list[float], rules: RuleSet) -> set[tuple[int, str]]:
    return {(one.at, one.rule.key) for one in broken(points, RULES[rules])}


@pytest.mark.parametrize(
    # Western Electric (1956) and Nelson (1984), each rule by its own words: what completes it,
    # and the same one point short of it.
    ("rules", "key", "points"),
    [
        (RuleSet.WESTERN_ELECTRIC, "1", [3.1]),
        (RuleSet.WESTERN_ELECTRIC, "2 of 3", [2.1, 0, 2.1]),
        (RuleSet.WESTERN_ELECTRIC, "4 of 5", [-1.1, -1.1, 0, -1.1, -1.1]),
        (RuleSet.WESTERN_ELECTRIC, "8", [0.1] * 8),
        (RuleSet.NELSON, "9", [-0.1] * 9),
        (RuleSet.NELSON, "6", [0, 0.1, 0.2, 0.3, 0.4, 0.5]),
        (RuleSet.NELSON, "14", [0.1, -0.1] * 7),
        (RuleSet.NELSON, "15", [0.9, -0.9, 0.9] * 5),
        (RuleSet.NELSON, "8", [1.1, -1.1, -1.2, 1.2] * 2),
    ],
)
def test_each_rule_is_broken_by_what_it_names_and_not_one_point_sooner(
    rules: RuleSet, key: str, points: list[float]
) -> None:
    assert (len(points) - 1, key) in keys(points, rules)
    assert key not in {one for _, one in keys(points[:-1], rules)}


@pytest.mark.parametrize("points", [[2.1, 0, -2.1], [1.1, -1.1, 1.1, -1.1, 1.1], [3.0, -3.0]])
def test_both_sides_do_not_add_up_and_a_point_on_the_line_is_not_beyond(
    points: list[float],
) -> None:
    assert not keys(points, RuleSet.WESTERN_ELECTRIC)


@pytest.mark.parametrize(
    # In-control average run lengths: Champ and Woodall, Technometrics 29 (1987): 370.4 for the
    # limits alone, 91.75 for the four Western Electric rules.
    ("rules", "published", "runs"),
    [(RuleSet.WESTERN_ELECTRIC, 91.75, 900), (RuleSet.LIMITS, 370.4, 900)],
)
def test_false_alarms_come_as_seldom_as_published(
    rules: RuleSet, published: float, runs: int
) -> None:
    chance = random.Random(19870401)  # noqa: S311 - a simulation
    lengths = []
    for _ in range(runs):
        points: list[float] = []
        while True:
            points.append(chance.gauss())
            recent = points[-8:]
            if any(one.at == len(recent) - 1 for one in broken(recent, RULES[rules])):
                lengths.append(len(points))
                break
    # Run lengths are nearly geometric: their mean strays by about itself / √runs.
    assert fmean(lengths) == pytest.approx(published, abs=3 * published / math.sqrt(runs))


def test_too_few_points_give_no_limits() -> None:
    assert chart(FLOW[: FEWEST - 1]) is None
    assert chart(FLOW[:FEWEST]) is not None


def test_points_that_never_change_break_no_rule() -> None:
    found = chart([7.0] * 20)
    assert found is not None
    assert (found.sigma, found.broken, found.follows) == (0, (), None)


def test_a_sawtooth_is_said_to_follow_itself_and_chance_is_not() -> None:
    sawtooth = [float(50 - step) for _ in range(6) for step in range(10)]
    found = chart(sawtooth)
    assert found is not None
    assert found.follows is not None
    assert found.follows > 0.4
    chance = random.Random(5)  # noqa: S311 - a simulation
    free = chart([chance.gauss() for _ in range(60)])
    assert free is not None
    assert free.follows is None


def test_a_jump_shows_in_the_ranges() -> None:
    found = chart([5.0, 5.1, 5.0, 5.1, 5.0, 9.0, 9.1, 9.0, 9.1, 9.0, 9.1], RuleSet.LIMITS)
    assert found is not None
    assert found.broken_ranges == (5,)


@given(st.lists(st.floats(-1e6, 1e6), min_size=FEWEST, max_size=60), st.sampled_from(RuleSet))
def test_any_values_make_a_chart(values: list[float], rules: RuleSet) -> None:
    found = chart(values, rules)
    assert found is not None
    assert found.low <= found.centre <= found.high
    assert len(found.ranges) == len(values) - 1
    assert found.ranges == tuple(abs(after - before) for before, after in pairwise(values))
    assert all(0 <= one.at < len(values) for one in found.broken)
