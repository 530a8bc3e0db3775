"""What lies ahead is said plainly, with its range, and not at all where nothing is known."""

import math

import pytest
from msgspec.structs import replace

from tests.gui.board.scenes import ME, a_good_shed, foresee, see
from tests.shed import Shed, a_setup, a_tank
from tests.some import some
from washmon.forecast.forecast_cache import ForecastCache
from washmon.forecast.look_ahead import Forecast
from washmon.forecast.outlook import Range, Until
from washmon.gui.board import ahead_view
from washmon.gui.board.presenter import present
from washmon.gui.kit.state_mark import MarkState

TANK = a_tank(1, "Only")


def a_forecast(batches: Range, level: float = 50.0) -> Forecast:
    shed = a_good_shed()
    made = ForecastCache().renewed(shed.shift, shed.now)[1]
    return replace(
        made,
        until_low=Until(batches, Range(10, 20, 30)),
        level=Range(level - 3, level, level + 3),
    )


def test_the_panel_says_how_long_the_water_lasts_and_draws_it() -> None:
    shed = a_good_shed()
    view = present(foresee(shed), ME).panels[0]
    assert view.step.quiet.startswith("Good for ")
    assert view.scale.likely is not None
    low, high = view.scale.likely
    assert low < 50 < high + 10
    assert view.trend.fan[0].x == 3
    assert all(point.low <= point.middle <= point.high for point in some(view.trend.fan))


def test_nothing_is_said_where_nobody_looked_ahead() -> None:
    view = present(see(a_good_shed()), ME).panels[0]
    assert "Good for" not in view.step.quiet
    assert (view.trend.fan, view.scale.likely) == ((), None)


def test_before_the_first_reading_it_says_that_it_does_not_know() -> None:
    shed = Shed(a_setup(TANK))
    shed.fill()
    shed.dose(ml=200)
    view = present(foresee(shed), ME).panels[0]
    assert "How long it lasts is not known before the first reading." in view.step.quiet
    assert view.trend.fan == ()


def test_the_number_of_batches_comes_with_its_range() -> None:
    said = ahead_view.good_for(a_forecast(Range(4.2, 6.3, 8.7)), TANK)
    assert said == "Good for about 6 more (4–9)"


def test_water_that_must_not_wash_is_not_called_good_for_anything() -> None:
    shed = a_good_shed()
    shed.wait(1).read(1, 20)
    view = present(foresee(shed), ME).panels[0]
    assert view.look is MarkState.STOP
    assert "Good for" not in view.step.quiet


def test_the_middle_is_always_said_with_a_plain_word_for_how_sure_it_is() -> None:
    said = ahead_view.good_for(a_forecast(Range(2.0, 11.0, 31.0)), TANK)
    assert said == "Good for perhaps 11 more (2–31)"
    said = ahead_view.good_for(a_forecast(Range(3.2, 8.0, 12.5)), TANK)
    assert said == "Good for about 8 more (3–13)"
    said = ahead_view.good_for(a_forecast(Range(7.2, 8.0, 9.6)), TANK)
    assert said == "Good for 8 more (7–10)"


def test_water_that_lasts_longer_than_was_looked_is_not_given_a_number_it_lacks() -> None:
    said = ahead_view.good_for(a_forecast(Range(18.0, math.inf, math.inf)), TANK)
    assert said == "Good for 40 more or longer (18 at least)"
    said = ahead_view.good_for(a_forecast(Range(math.inf, math.inf, math.inf)), TANK)
    assert said == "Good for 40 more or longer (40 at least)"


@pytest.mark.parametrize(
    ("low", "middle", "said"),
    [
        (0.4, 11.0, "Good for perhaps 11 more (0–40+)"),
        (1.2, 11.0, "Good for perhaps 11 more (1–40+)"),
        (34.0, 38.0, "Good for 38 more (34–40+)"),
        (0.0, math.inf, "Good for 40 more or longer (0 at least)"),
        (0.0, 0.3, "Good for the next batch at most (0–40+)"),
    ],
)
def test_water_with_no_known_end_keeps_its_middle(low: float, middle: float, said: str) -> None:
    assert ahead_view.good_for(a_forecast(Range(low, middle, math.inf)), TANK) == said


def test_water_that_is_probably_low_is_not_called_good() -> None:
    said = ahead_view.good_for(a_forecast(Range(0.0, 0.0, 1.0), level=30.0), TANK)
    assert said == "Probably under the operating low by now"


def test_a_forecast_brought_forward_by_batches_counts_them_off() -> None:
    shed = a_good_shed()
    maintenance = ForecastCache()
    first = maintenance.renewed(shed.shift, shed.now)[1]
    shed.wash(2)
    later = maintenance.forecasts(shed.shift, shed.now)[1]
    assert later.until_low.batches.mid == max(0.0, first.until_low.batches.mid - 2)
    assert later.level.mid == pytest.approx(first.fan[2].level.mid, rel=0.1)
    assert later.fan[0].batches == 0
