"""Free chlorine of the practice water against closed solutions and scipy's integrator."""

import math
from itertools import pairwise

import numpy as np
import pytest
from msgspec.structs import replace
from scipy.integrate import solve_ivp

from tests.sessions.practice.pools import STEADY, a_pool, still_model
from tests.some import some
from washmon.sessions.practice import water
from washmon.sessions.practice.parameters import parameters
from washmon.sessions.practice.water import TankWater

FAST = 0.0133
MIXES = [
    (50.0, 10.0, 10.0),
    (50.0, 60.0, 60.0),
    (100.0, 200.0, 200.0),
    (200.0, 100.0, 0.0),
    (20.0, 2.0, 50.0),
    (5.0, 300.0, 300.0),
]


def chlorine_after(pool: TankWater, minutes: list[float], fresh: water.Contents) -> list[float]:
    found, now = [], 0.0
    for moment in minutes:
        pool.rest(moment - now, STEADY, fresh)
        now = moment
        found.append(pool.level)
    return found


@pytest.mark.parametrize(("chlorine", "demand"), [(50.0, 20.0), (50.0, 80.0), (100.0, 99.0)])
def test_one_demand_follows_the_closed_second_order_solution(
    chlorine: float, demand: float
) -> None:
    # Two reactants, second order: C = (C0 - O0) / (1 - O0/C0 exp(-k (C0 - O0) t)), any textbook of
    # kinetics; used for chlorine by Clark (1998), J. Environ. Eng. 124(1):16.
    model = still_model(slow_share=0.0)
    pool, fresh = a_pool(model, level=chlorine, fast=demand, slow=0.0)
    minutes = [0.5, 1.0, 2.0, 5.0, 10.0, 30.0, 90.0]
    over = chlorine - demand
    expected = [
        over / (1.0 - demand / chlorine * math.exp(-FAST * over * minute)) for minute in minutes
    ]
    assert chlorine_after(pool, minutes, fresh) == pytest.approx(expected, abs=0.03)


def test_chlorine_without_demand_decays_as_an_exponential() -> None:
    model = parameters()
    pool, fresh = a_pool(model, level=50.0, fast=0.0, slow=0.0)
    pool.rest(240.0, STEADY, fresh)
    # Closed first-order solution; gas and make-up against evaporation are under a thousandth.
    assert pool.level == pytest.approx(50.0 * math.exp(-model.air.decay_per_min * 240.0), rel=2e-3)


@pytest.mark.parametrize(("chlorine", "fast", "slow"), MIXES)
def test_the_step_is_small_enough_by_scipy(chlorine: float, fast: float, slow: float) -> None:
    model = still_model()
    pool, fresh = a_pool(model, level=chlorine, fast=fast, slow=slow)
    minutes = [0.25, 0.5, 1.0, 2.0, 3.0, 5.0, 8.0, 13.0, 21.0, 34.0, 60.0]
    exact = by_scipy((chlorine, fast, slow), minutes)
    found = chlorine_after(pool, minutes, fresh)
    # A twentieth of a mg/L: a twentieth of what the finest kit shows.
    assert max(abs(np.array(found) - exact)) < 0.05


def test_half_the_step_makes_a_fraction_of_the_error(monkeypatch: pytest.MonkeyPatch) -> None:
    minutes = [float(minute) for minute in range(1, 31)]
    exact = by_scipy((50.0, 60.0, 60.0), minutes)
    errors = []
    for turn in (1.0, 0.5, 0.25):
        monkeypatch.setattr(water, "TURN", turn)
        pool, fresh = a_pool(still_model(), level=50.0, fast=60.0, slow=60.0)
        errors.append(max(abs(np.array(chlorine_after(pool, minutes, fresh)) - exact)))
    # Third order: an eighth for each halving, in the limit.
    assert all(finer < coarser / 5 for coarser, finer in some(pairwise(errors)))


def by_scipy(start: tuple[float, float, float], minutes: list[float]) -> np.ndarray:
    slow_rate = FAST * parameters().kinetics.slow_share

    def rates(_: float, y: np.ndarray) -> list[float]:
        free, fast, slow = y
        by_fast, by_slow = FAST * free * fast, slow_rate * free * slow
        return [-by_fast - by_slow, -by_fast, -by_slow]

    span = (0.0, minutes[-1])
    solved = solve_ivp(rates, span, start, "DOP853", minutes, rtol=1e-10, atol=1e-12)
    free: np.ndarray = solved.y[0]
    return free


def test_make_up_water_and_decay_apart_cost_little_accuracy() -> None:
    model = parameters()
    world = replace(STEADY, makeup_l_min=20.0)
    pool, fresh = a_pool(model, level=60.0, fast=20.0, slow=30.0)
    k, q = model.kinetics, 20.0 / 1000.0

    def rates(_: float, y: np.ndarray) -> list[float]:
        free, fast, slow, combined = y
        by_fast, by_slow = FAST * free * fast, FAST * k.slow_share * free * slow
        return [
            -by_fast - by_slow - (model.air.decay_per_min + q) * free,
            -by_fast - q * fast,
            -by_slow - q * slow,
            k.combined_yield * by_fast - (k.combined_loss_per_min + q) * combined,
        ]

    minutes = [float(minute) for minute in range(2, 121, 2)]
    start = [60.0, 20.0, 30.0, 0.0]
    solved = solve_ivp(rates, (0.0, 120.0), start, "LSODA", minutes, rtol=1e-9, atol=1e-10)
    free, combined = [], []
    for _ in minutes:
        pool.rest(2.0, world, fresh)
        free.append(pool.level)
        combined.append(pool.contents.combined)
    assert max(abs(np.array(free) - solved.y[0])) < 0.05
    assert max(abs(np.array(combined) - solved.y[3])) < 0.02


def test_warm_water_uses_up_chlorine_faster() -> None:
    # Rates double with 10 degrees (common practice): the exposure of 1 min at 30 is 2 min at 20.
    model = still_model(slow_share=0.0)
    cold, fresh = a_pool(model, level=50.0, fast=20.0, slow=0.0, celsius=20.0)
    warm, _ = a_pool(model, level=50.0, fast=20.0, slow=0.0, celsius=30.0)
    cold.rest(2.0, STEADY, fresh)
    warm.rest(1.0, STEADY, fresh)
    assert warm.level == pytest.approx(cold.level, abs=0.01)


def test_demand_left_over_eats_a_top_up() -> None:
    pool, fresh = a_pool(still_model(), level=20.0, fast=80.0, slow=80.0)
    pool.rest(30.0, STEADY, fresh)
    assert pool.level < 0.05
    pool.add_chlorine(20_000.0, 0.0)
    assert pool.level == pytest.approx(20.0, abs=0.1)
    pool.rest(15.0, STEADY, fresh)
    assert pool.level < 5.0
