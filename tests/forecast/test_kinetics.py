import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from washmon.forecast.kinetics import Chlorine, Floats, Rates, rest
from washmon.forecast.prior import Trait, prior_for

ABNAVI_L_MG_MIN = 9.45e-4 / 70.906 * 1000
"""(9.45 ± 0.22)e-4 per micromolar and minute: Abnavi, Kothapalli, Munther and Srinivasan 2021,
bioRxiv 10.1101/2021.02.12.430939."""


PRODUCE_PER_M_S = (15.3, 16.6)
"""Apparent rate of free chlorine with the amino acids that iceberg lettuce, green cabbage and
carrots set free, L/(mol s): "Total amino acids concentration as a reliable predictor of free
chlorine levels in dynamic fresh produce washing process", Food Chemistry 335 (15 January 2021)."""
CL2_MG_PER_MOL = 70_906.0


Three = tuple[float, float, float]


def one(water: Three, rates: Three) -> tuple[Chlorine, Rates]:
    return Chlorine(*(np.array([part]) for part in water)), Rates(*(np.array([k]) for k in rates))


def closed_form(level: float, demand: float, k: float, minutes: float) -> float:
    """Two reactants, second order: C. W. Clark, J. Environ. Eng. 124(1):16 (1998); any textbook of
    kinetics derives it from dC/dt = dD/dt = -k C D."""
    excess = level - demand
    return excess / (1 - demand / level * float(np.exp(-k * excess * minutes)))


@pytest.mark.parametrize("minutes", [0.5, 2.0, 6.0, 20.0, 90.0])
@pytest.mark.parametrize("demand", [0.5, 10.0, 40.0, 90.0])
def test_one_demand_follows_the_closed_second_order_solution(demand: float, minutes: float) -> None:
    water, rates = one((50.0, demand, 0.0), (ABNAVI_L_MG_MIN, 1e-9, 0.0))
    expected = closed_form(50.0, demand, ABNAVI_L_MG_MIN, minutes)
    assert rest(water, rates, minutes).level[0] == pytest.approx(expected, rel=1e-4, abs=1e-4)


@pytest.mark.parametrize(
    ("level", "fast", "slow"), [(50, 8, 20), (100, 20, 60), (30, 40, 80), (75, 2, 150), (5, 1, 3)]
)
def test_two_demands_and_loss_follow_an_independent_integrator(
    level: float, fast: float, slow: float
) -> None:
    """scipy's LSODA on the three equations as they stand in the literature."""
    k_fast, k_slow, loss = ABNAVI_L_MG_MIN, ABNAVI_L_MG_MIN / 20, 0.001

    def flow(_: float, state: Floats) -> list[float]:
        free, one_, two = state
        return [
            -k_fast * free * one_ - k_slow * free * two - loss * free,
            -k_fast * free * one_,
            -k_slow * free * two,
        ]

    times = [5.0, 15.0, 60.0]
    found = solve_ivp(
        flow, (0, 60), [level, fast, slow], method="LSODA", t_eval=times, rtol=1e-10, atol=1e-10
    )
    water, rates = one((level, fast, slow), (k_fast, k_slow, loss))
    for minutes, free, quick, lasting in zip(times, *found.y, strict=True):
        after = rest(water, rates, minutes)
        assert after.level[0] == pytest.approx(free, abs=0.01 * level)
        assert (after.fast[0], after.slow[0]) == pytest.approx((quick, lasting), abs=0.04 * level)


def test_without_demand_only_the_loss_is_left_and_it_is_exponential() -> None:
    water, rates = one((60.0, 0.0, 0.0), (ABNAVI_L_MG_MIN, 1e-4, 0.002))
    assert rest(water, rates, 45.0).level[0] == pytest.approx(60 * np.exp(-0.09), rel=1e-9)


def test_a_wash_run_has_the_saw_toothed_shape_of_the_published_model() -> None:
    """Shape of the wash runs in Munther et al. 2015 and Abnavi et al. 2021: with a steady supply
    of organic matter free chlorine falls, ever more slowly as it gets scarce, while what can react
    piles up; a dose into water so loaded is used up faster than the first charge was."""
    water, rates = one((50.0, 0.0, 0.0), (ABNAVI_L_MG_MIN, ABNAVI_L_MG_MIN / 20, 0.0017))
    levels, piles = [50.0], []
    for _ in range(36):
        water = Chlorine(water.level, water.fast + 0.6, water.slow + 0.6)
        water = rest(water, rates, 1.0)
        levels.append(float(water.level[0]))
        piles.append(float(water.fast[0] + water.slow[0]))
    drops = -np.diff(levels)
    assert np.all(drops > 0)
    assert drops[-1] < drops[10]
    assert np.all(np.diff(piles) > 0)
    fresh = one((50.0, 0.0, 0.0), (ABNAVI_L_MG_MIN, ABNAVI_L_MG_MIN / 20, 0.0017))[0]
    loaded = Chlorine(np.array([50.0]), water.fast, water.slow)
    after_fresh, after_loaded = (rest(tank, rates, 10.0).level[0] for tank in (fresh, loaded))
    assert 50 - after_loaded > 5 * (50 - after_fresh)


def test_the_rate_agrees_with_what_washed_lettuce_cabbage_and_carrots_showed() -> None:
    low, high = (rate * 60 / CL2_MG_PER_MOL for rate in PRODUCE_PER_M_S)
    assert low <= ABNAVI_L_MG_MIN <= high
    usual = prior_for("leafy greens")
    middle, spread = usual.middle[Trait.FAST_RATE], usual.spread[Trait.FAST_RATE]
    assert abs(np.log(low) - middle) < 1.96 * spread
    assert abs(np.log(high) - middle) < 1.96 * spread


def test_single_washes_at_the_published_rates_end_alike_and_differ_little_before() -> None:
    """Free chlorine falls fast, then levels off where the demand is used up, and within the
    published range of rates the curves of the three kinds of produce nearly coincide."""
    courses = []
    for rate in PRODUCE_PER_M_S:
        water, rates = one((80.0, 50.0, 0.0), (rate * 60 / CL2_MG_PER_MOL, 1e-9, 0.0))
        courses.append([float(rest(water, rates, t).level[0]) for t in (0.5, 1, 2, 4, 8, 16)])
    slow, fast = np.array(courses)
    assert np.all(np.diff(slow) < 0)
    assert np.all(np.diff(np.diff(slow) / [0.5, 1, 2, 4, 8]) > 0)  # ever more slowly
    assert slow[-1] == pytest.approx(30.0, abs=0.1)
    assert np.all(np.abs(slow - fast) < 0.05 * slow)


def test_half_of_a_ninety_minute_demand_is_used_in_the_first_minutes() -> None:
    """Weng et al., Assessment and speciation of chlorine demand in fresh-cut produce wash water:
    half of the 90 min demand is exerted in the first 5 min, and it goes on after 90 min."""
    water, rates = one((50.0, 10.0, 10.0), (ABNAVI_L_MG_MIN, ABNAVI_L_MG_MIN / 20, 0.0))
    at = {minutes: 50 - rest(water, rates, minutes).level[0] for minutes in (5, 90, 180)}
    assert at[5] / at[90] == pytest.approx(0.5, abs=0.1)
    assert at[180] > at[90]


@given(
    water=st.tuples(st.floats(0, 1000), st.floats(0, 5000), st.floats(0, 5000)),
    minutes=st.floats(0, 1e5),
    k=st.floats(1e-5, 0.5),
    loss=st.floats(0, 0.5),
)
def test_no_level_falls_below_nothing_whatever_the_water(
    water: Three, minutes: float, k: float, loss: float
) -> None:
    before, rates = one(water, (k, k / 20, loss))
    after = rest(before, rates, minutes)
    assert 0 <= after.level[0] <= water[0]
    assert 0 <= after.fast[0] <= water[1]
    assert 0 <= after.slow[0] <= water[2]
