"""How sure an amount is."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from washmon.chemistry.checks import ChemistryError
from washmon.chemistry.uncertainty import Range, dose_range, largest_rise, reached


def test_the_range_holds_what_chance_makes_of_the_errors() -> None:
    # An independent way: 200,000 draws, each error normal with two sigmas as stated.
    rng = np.random.default_rng(3)
    draws = 200_000
    volume = 600 * (1 + 0.025 * rng.standard_normal(draws))
    strength = 125 * (1 + 0.05 * rng.standard_normal(draws))
    level = 55 + 5 * rng.standard_normal(draws)
    amounts = volume * (100 - level) / (strength - 0.1)
    found = dose_range(600.0, Range(45.0, 55.0, 65.0), 100.0, 125.0)
    inside = np.mean((amounts > found.low) & (amounts < found.high))
    assert 0.93 < inside < 0.97
    low, high = np.percentile(amounts, [2.5, 97.5])
    assert found.low == pytest.approx(low, rel=0.03)
    assert found.high == pytest.approx(high, rel=0.03)


def test_a_strip_that_reads_fifty_makes_the_dose_uncertain() -> None:
    # A strip's "50" means about 37 to 75, half-way to the neighbouring pads.
    strip = dose_range(500.0, Range(37.0, 50.0, 75.0), 100.0, 125.0)
    meter = dose_range(500.0, Range(47.5, 50.0, 52.5), 100.0, 125.0, strength_error=0.05)
    assert strip.matters
    assert strip.low < meter.low < meter.best < meter.high < strip.high
    assert not meter.matters


@given(st.floats(10, 5000), st.floats(0, 90), st.floats(0, 20), st.floats(0, 40), st.booleans())
def test_a_range_is_never_upside_down_and_never_below_nothing(
    volume: float,
    level: float,
    below: float,
    above: float,
    solid: bool,  # noqa: FBT001 - hypothesis fills it in
) -> None:
    reading = Range(max(0.0, level - below), level, level + above)
    found = dose_range(volume, reading, 100.0, 125.0, solid=solid)
    assert 0 <= found.low <= found.best <= found.high < math.inf


def test_without_errors_the_range_is_the_amount() -> None:
    found = dose_range(
        600.0, Range(55.0, 55.0, 55.0), 100.0, 125.0, volume_error=0, strength_error=0
    )
    assert found.low == found.best == found.high


def test_an_error_that_is_no_fraction_is_refused() -> None:
    with pytest.raises(ChemistryError, match="error of the volume"):
        dose_range(600.0, Range(0.0, 0.0, 0.0), 100.0, 125.0, volume_error=5)
    with pytest.raises(ChemistryError, match="target is not above"):
        dose_range(600.0, Range(90.0, 100.0, 110.0), 100.0, 125.0)


def test_a_rise_carries_its_errors_as_squares() -> None:
    # Errors that do not depend on each other add as squares (JCGM 100:2008, 5.1.2).
    found = reached(Range(50.0, 55.0, 60.0), 45.0, under=0.1, over=0.2)
    assert found.best == pytest.approx(100.0)
    assert found.high - found.best == pytest.approx(math.hypot(5.0, 9.0))
    assert found.best - found.low == pytest.approx(math.hypot(5.0, 4.5))


@given(
    level=st.floats(0, 200),
    wide=st.floats(0, 0.5),
    over=st.floats(0, 0.5),
    maximum=st.floats(5, 200),
)
def test_the_largest_rise_comes_up_to_the_maximum_and_no_further(
    level: float, wide: float, over: float, maximum: float
) -> None:
    was = Range(0.9 * level, level, (1 + wide) * level)
    if was.high >= maximum:
        with pytest.raises(ChemistryError, match="add nothing"):
            largest_rise(was, maximum, over)
        return
    most = largest_rise(was, maximum, over)
    assert reached(was, most, over, over).high == pytest.approx(maximum, rel=1e-6)
