"""Bleach that grows weak in its container."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from washmon.chemistry.ageing import (
    WEAK_SHARE,
    Stay,
    decay_l_mol_s,
    half_life_days,
    is_weak,
    present_strength_g_l,
    strength_from_diluted_g_l,
)
from washmon.chemistry.checks import ChemistryError
from washmon.line.setup import Margins


@pytest.mark.parametrize(
    ("strength", "celsius", "days"),
    [
        (125, 20, 382),
        (125, 25, 187),
        (125, 30, 93),
        (125, 35, 48),
        (125, 40, 25),
        (100, 20, 609),
        (100, 30, 148),
        (87, 25, 387),
        (60, 30, 364),
    ],
)
def test_half_lives_are_those_of_adam_and_gordon(
    strength: float, celsius: float, days: float
) -> None:
    # Adam & Gordon (1999), Inorg. Chem. 38:1299, worked by hand from the equation in its abstract.
    assert half_life_days(strength, celsius) == pytest.approx(days, rel=0.02)


def test_half_lives_are_longer_than_the_handbook_by_a_third_or_so() -> None:
    # An older handbook half-life, 10 % at 25 °C: 220 days, value from memory. The equation is for
    # clean bleach and gives 297: treat it as the best case.
    assert 1.2 < half_life_days(100, 25) / 220 < 1.5


@pytest.mark.parametrize(("strength", "shares"), [(125, (93, 86, 76, 61)), (87, (96, 93, 87, 77))])
def test_a_month_in_the_shed_leaves_what_the_equation_says(
    strength: float, shares: tuple[float, ...]
) -> None:
    for celsius, share in zip((20, 25, 30, 35), shares, strict=True):
        left = present_strength_g_l(strength, [Stay(30, celsius)]) / strength
        assert left * 100 == pytest.approx(share, abs=1)


def test_half_as_strong_keeps_much_longer() -> None:
    # Chlorine Institute dilution note (2003): half strength decays at about a quarter of the rate.
    # That is the second order alone; the equation of Adam & Gordon adds that less salt slows it.
    def loss_g_l(strength: float) -> float:
        return strength - present_strength_g_l(strength, [Stay(1, 25)])

    less_salt = decay_l_mol_s(25, 3.48) / decay_l_mol_s(25, 1.79)
    assert loss_g_l(120) / loss_g_l(60) == pytest.approx(4 * less_salt, rel=0.02)


def test_ten_degrees_more_is_about_four_times_as_fast() -> None:
    assert decay_l_mol_s(30, 3.6) / decay_l_mol_s(20, 3.6) == pytest.approx(4.1, abs=0.1)


@given(
    st.floats(10, 200), st.lists(st.builds(Stay, st.floats(0, 900), st.floats(0, 45)), max_size=5)
)
def test_strength_only_falls_and_the_order_of_stays_does_not_matter(
    strength: float, stays: list[Stay]
) -> None:
    left = present_strength_g_l(strength, stays)
    assert 0 < left <= strength
    assert present_strength_g_l(strength, list(reversed(stays))) == pytest.approx(left)
    assert present_strength_g_l(strength, [*stays, Stay(10, 30)]) < left


@given(st.floats(20, 200), st.floats(5, 40))
def test_after_a_half_life_half_is_left(strength: float, celsius: float) -> None:
    days = half_life_days(strength, celsius)
    if days < 3650:
        left = present_strength_g_l(strength, [Stay(days, celsius)])
        assert left == pytest.approx(strength / 2)


def test_a_diluted_sample_tells_the_strength() -> None:
    # 1 mL made up to 1 L reads 108: 108 g/L, by mass balance.
    assert strength_from_diluted_g_l(108, 1, 1000) == pytest.approx(108)
    assert strength_from_diluted_g_l(1.0, 1e-3, 1.0) == pytest.approx(1.0)  # the least there is
    assert strength_from_diluted_g_l(1.0, 1.0, 1.0) == pytest.approx(1e-3)
    assert is_weak(80, 125)
    assert not is_weak(110, 125)


@pytest.mark.parametrize(
    ("reading", "sample", "total"), [(108, 0, 1000), (108, 10, 5), (-1, 1, 1000), (108, 1, 1e5)]
)
def test_a_dilution_that_can_not_be_is_refused(reading: float, sample: float, total: float) -> None:
    with pytest.raises(ChemistryError):
        strength_from_diluted_g_l(reading, sample, total)


@pytest.mark.parametrize("stay", [Stay(-1, 20), Stay(30, 900), Stay(math.nan, 20)])
def test_a_stay_that_can_not_be_is_refused(stay: Stay) -> None:
    with pytest.raises(ChemistryError):
        present_strength_g_l(125, [stay])


def test_the_salt_of_an_aged_product_goes_on_speeding_its_decay() -> None:
    """74 days where 109 were told: the sum of salt does not change as hypochlorite decays.

    Held against the second-order law itself: half of what is left after a stay is left when, by the
    same rate constant, 1/c has grown by 1/c again.
    """
    fresh, stay = 125.0, Stay(30.0, 30.0)
    aged = present_strength_g_l(fresh, [stay])
    days = half_life_days(aged, 30.0, fresh_g_l=fresh)
    later = present_strength_g_l(fresh, [stay, Stay(days, 30.0)])
    assert later == pytest.approx(aged / 2, rel=1e-6)
    assert days < half_life_days(aged, 30.0)


def test_one_threshold_says_what_is_weak() -> None:
    assert Margins().weak_strength_fraction == WEAK_SHARE
    assert is_weak(99.9, 125.0)
    assert not is_weak(100.1, 125.0)
