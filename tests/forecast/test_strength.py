"""The forecast reckons with the strength of the day, as far as it is known."""

from datetime import timedelta

import numpy as np
import pytest
from msgspec.structs import replace

from tests.shed import START, Shed, a_setup, a_tank
from washmon.chemistry.uncertainty import TESTED_ERROR, VOLUME_ERROR
from washmon.forecast.look_ahead import Forecast
from washmon.forecast.prior import Trait, prior_for
from washmon.forecast.shift import forecast_shift
from washmon.line.setup import LineSetup
from washmon.line.strength import strength_on

TODAY = START.date()
OLD = TODAY - timedelta(days=100)


def with_product(**changes: object) -> LineSetup:
    setup = a_setup(a_tank(1, "Only"))
    return replace(setup, sanitizers=(replace(setup.sanitizers[0], **changes),))


def spread_of(setup: LineSetup) -> tuple[float, float]:
    prior = prior_for("chard").with_product(setup.sanitizers[0], TODAY)
    return prior.middle[Trait.STRENGTH], prior.spread[Trait.STRENGTH]


def after_a_dose(setup: LineSetup, fac: float | None = None) -> Forecast:
    shed = Shed(setup)
    shed.fill()
    shed.dose(ml=200)
    shed.wait(6)
    if fac is not None:
        shed.read(fac=fac)
    return forecast_shift(shed.shift, shed.now)[1]


def test_a_dose_from_an_aged_container_is_expected_to_lift_by_what_is_left_of_it() -> None:
    """Adam & Gordon (1999): about a third of 125 g/L is gone after 100 days at 25 °C."""
    setup = with_product(made_on=OLD, storage_c=25.0)
    fresh, aged = after_a_dose(with_product(made_on=TODAY)), after_a_dose(setup)
    left = strength_on(setup.sanitizers[0], TODAY).share
    assert 0.6 < left < 0.75
    assert aged.level.mid / fresh.level.mid == pytest.approx(left, rel=0.03)
    assert aged.strength.mid == pytest.approx(1.0, abs=0.03)


def test_the_older_a_container_the_less_sure_is_what_a_dose_does_until_it_is_read() -> None:
    setup = with_product(made_on=OLD, storage_c=25.0)
    fresh, aged = after_a_dose(with_product(made_on=TODAY)), after_a_dose(setup)
    read = after_a_dose(setup, fac=33.0)

    def width(ahead: Forecast) -> float:
        return (ahead.level.high - ahead.level.low) / ahead.level.mid

    assert width(aged) > 1.5 * width(fresh)
    assert width(read) < 0.5 * width(aged)


def test_a_tested_container_is_believed_as_far_as_the_test_and_the_volume_go() -> None:
    middle, spread = spread_of(with_product(made_on=OLD, tested_g_l=90.0, tested_on=TODAY))
    assert middle == 0.0
    assert spread == pytest.approx(np.hypot(TESTED_ERROR, VOLUME_ERROR) / 2)
    tested = after_a_dose(with_product(tested_g_l=90.0, tested_on=TODAY))
    assert tested.level.mid == pytest.approx(200 * 90 / 500, rel=0.04)


def test_a_container_of_unknown_age_is_believed_a_little_under_its_label() -> None:
    usual = prior_for("chard")
    assert spread_of(with_product()) == (
        usual.middle[Trait.STRENGTH],
        usual.spread[Trait.STRENGTH],
    )


def test_a_strength_that_is_not_known_changes_no_belief() -> None:
    usual = prior_for("chard")
    unknown = with_product(strength=None).sanitizers[0]
    assert usual.with_product(unknown, TODAY) is usual
    assert usual.with_product(None, TODAY) is usual


def test_the_dose_that_restores_the_target_is_of_what_the_container_holds_today() -> None:
    setup = with_product(tested_g_l=90.0, tested_on=TODAY)
    ahead = after_a_dose(setup, fac=20.0)
    assert ahead.dose is not None
    assert ahead.dose.amount is not None
    grams = ahead.dose.rise_mg_l * 500 / 1000
    assert ahead.dose.amount.value == pytest.approx(grams / 90 * 1000, rel=0.01)


def test_the_strength_is_that_of_the_day_of_the_dose() -> None:
    setup = with_product(made_on=OLD, storage_c=25.0)
    levels = []
    for days in (0, 200):
        shed = Shed(setup, start=START + timedelta(days=days))
        shed.fill()
        shed.dose(ml=200)
        shed.wait(6)
        levels.append(forecast_shift(shed.shift, shed.now)[1].level.mid)
    assert levels[1] < 0.75 * levels[0]


def test_the_next_dose_keeps_the_label_maximum_even_if_nothing_of_the_strength_was_lost() -> None:
    long_ago = TODAY - timedelta(days=500)
    for changes in (
        {"made_on": long_ago, "storage_c": 30.0},
        {"tested_g_l": 125.0, "tested_on": long_ago, "storage_c": 35.0},
    ):
        ahead = after_a_dose(with_product(**changes), fac=30.0)
        assert ahead.dose is not None
        assert ahead.dose.amount is not None
        assert ahead.dose.capped
        # Mass balance with 125 g/L, as it was on the first day; the label allows 100 mg/L.
        assert ahead.level.mid + ahead.dose.amount.value * 125 / 500 <= 100.1
