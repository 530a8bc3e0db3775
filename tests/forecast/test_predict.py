import numpy as np
import pytest
from scipy import stats

from tests.forecast.washing import a_washing_shed, forecast
from washmon.forecast.look_ahead import Forecast
from washmon.forecast.outlook import Range
from washmon.forecast.predict import (
    after_dose,
    after_exchange,
    after_rest,
    chances_under,
    levels_ahead,
    surprise,
    will_read,
)
from washmon.forecast.readings import USUAL_ACCURACY, Seen
from washmon.line.events import Method


@pytest.fixture(scope="module")
def seen() -> Forecast:
    return forecast(a_washing_shed())


def test_particles_are_the_same_each_time(seen: Forecast) -> None:
    again = forecast(a_washing_shed())
    assert seen.particles == again.particles
    assert np.array_equal(
        levels_ahead(seen.particles, seen.pace, 6), levels_ahead(again.particles, again.pace, 6)
    )
    assert seen.particles != after_rest(seen.particles, 1.0)


def test_levels_ahead_are_what_the_fan_shows(seen: Forecast) -> None:
    levels = levels_ahead(seen.particles, seen.pace, 6)
    assert levels.shape == (7, seen.particles.count)
    for after in range(1, 7):
        assert np.median(levels[after]) == pytest.approx(seen.fan[after].level.mid, rel=0.02)


def test_a_dose_raises_by_its_strength(seen: Forecast) -> None:
    rise = np.median(after_dose(seen.particles, 20.0).level - seen.particles.level)
    assert rise == pytest.approx(20 * np.median(seen.particles.strength), rel=0.02)


def test_an_exchange_dilutes_and_a_whole_one_is_fresh_water(seen: Forecast) -> None:
    half = after_exchange(seen.particles, 0.5)
    assert np.allclose(half.level, seen.particles.level / 2)
    assert np.median(half.water.slow) < np.median(seen.particles.water.slow)
    assert not after_exchange(seen.particles, 1.0).level.any()


def test_rest_uses_chlorine_up(seen: Forecast) -> None:
    later = after_rest(seen.particles, 20.0).level
    assert np.all(later < seen.particles.level)
    assert np.all(later > 0)


def test_chances_under_a_limit_rise_batch_by_batch(seen: Forecast) -> None:
    chances = chances_under(levels_ahead(seen.particles, seen.pace, 30), 35.0)
    assert np.all(np.diff(chances) >= 0)
    assert chances[0] < 0.1
    assert chances[-1] > 0.9
    assert chances_under(np.array([[30.0, 40.0]]), 35.0)[0] == 0.5


def test_what_a_kit_will_read_is_wider_than_the_water(seen: Forecast) -> None:
    found, water = will_read(seen.particles, Method.KIT), seen.level
    assert found.low < water.mid < found.high
    assert found.high - found.low > water.high - water.low


def test_a_strip_will_read_one_of_its_pads(seen: Forecast) -> None:
    found = will_read(seen.particles, Method.STRIP, (0.0, 20.0, 40.0, 60.0, 100.0))
    assert found == Range(40.0, 40.0, 60.0)  # 43, and the eye decides at 50
    assert will_read(seen.particles, Method.STRIP).mid == 50.0


def test_what_was_expected_is_no_surprise_and_what_was_not_is(seen: Forecast) -> None:
    middle = seen.level.mid
    assert surprise(seen.particles, middle, Method.KIT) > 0.6
    assert surprise(seen.particles, middle + 15, Method.KIT) < 0.02
    assert surprise(seen.particles, middle - 15, Method.KIT) < 0.02
    assert surprise(seen.particles, 50.0, Method.STRIP) > 0.5
    assert surprise(seen.particles, 200.0, Method.STRIP) < 0.01


def test_tails_of_a_kit_are_those_of_students_t() -> None:
    """scipy's distribution function, five degrees of freedom."""
    levels = np.linspace(5, 90, 18)
    upto, from_ = Seen(50.0, Method.KIT).tails(levels, USUAL_ACCURACY)
    deviation = USUAL_ACCURACY.deviation_mg_l(50.0, Method.KIT)
    assert np.allclose(upto, stats.t.cdf((50 - levels) / deviation, 5))
    assert np.allclose(upto + from_, 1)


def test_readings_that_stand_for_all_have_the_quantiles_of_their_distribution() -> None:
    read = USUAL_ACCURACY.readings_of(np.full(1, 50.0), Method.KIT)
    deviation = USUAL_ACCURACY.deviation_mg_l(50.0, Method.KIT)
    assert np.allclose(read, 50 + deviation * stats.t.ppf((np.arange(16) + 0.5) / 16, 5), atol=0.02)
