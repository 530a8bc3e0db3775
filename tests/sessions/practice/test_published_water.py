"""The simulated water against published courses, with the error that was expected beforehand.

Where it is worse than expected, that is held here, too: it is told in DEVELOPERS.md, and a better
model must change both. Sources stand in ``published.toml``.
"""

import pytest

from tests.sessions.practice.published import DATA, continuous, time_to_half
from tests.tools.published_water import batch_share, factors


def test_the_course_of_a_batch_test_is_met_as_closely_as_expected() -> None:
    assert batch_share() <= DATA["batch"]["expected_share"]
    assert batch_share() == pytest.approx(0.061, abs=0.005)


def test_cut_lettuce_takes_chlorine_sooner_than_published_and_than_expected() -> None:
    expected = DATA["continuous"]["expected_factor"]
    assert factors() == pytest.approx([1.90, 2.69, 2.09], abs=0.03)
    assert [factor <= expected + 0.05 for factor in factors()] == [True, False, False]


def test_the_time_to_half_is_read_between_two_levels() -> None:
    assert time_to_half((10.0, 12.0, 14.0), (8.0, 6.0, 2.0)) == 3.0
    with pytest.raises(ValueError, match="never"):
        time_to_half((0.0, 1.0), (8.0, 7.0))


def test_the_published_levels_fall_from_one_measured_value_to_the_next() -> None:
    for one in continuous():
        assert list(one.measured) == sorted(one.measured, reverse=True)
