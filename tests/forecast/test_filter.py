from datetime import UTC, datetime, timedelta
from itertools import pairwise

import numpy as np
import pytest
from statsmodels.tsa.statespace.kalman_filter import KalmanFilter

from tests.shed import a_setup, a_tank
from washmon.chemistry.checks import ChemistryError
from washmon.forecast.chances import Chances
from washmon.forecast.forecaster import Forecaster
from washmon.forecast.prior import Prior, Trait
from washmon.forecast.readings import Accuracy
from washmon.line.events import DoseAdded, Method, ReadingTaken, TankFilled, WaterEvent
from washmon.line.flags import Amount
from washmon.line.product import rise
from washmon.line.state import Fill, Placed

START = datetime(2026, 5, 7, 7, 0, tzinfo=UTC)
LOSS_PER_MIN, DOSE_SHARE, READING_MG_L = 0.004, 0.1, 3.0

# With no demand in the water, a known loss and normal errors of dose and reading, the model is
# linear and Gaussian, and the Kalman filter is the exact answer.
LINEAR = Forecaster(
    a_setup(),
    a_tank(1, "Only"),
    Prior(
        middle=tuple(
            float(np.log(LOSS_PER_MIN)) if trait is Trait.LOSS else 0.0 for trait in Trait
        ),
        spread=(0.0,) * len(Trait),
    ),
    Accuracy(kit_share=0.0, kit_mg_l=READING_MG_L, kit_min=0.0, long_tails=False),
    Chances(
        particles=20_000,
        dose=DOSE_SHARE,
        level_per_root_min=0.0,
        unlogged_rise=0.0,
        unlogged_fall=0.0,
        anew=0.0,
        misread=0.0,
        tap_demand_mg_l=0.0,
        tap_chlorine_mg_l=0.0,
    ),
)


def a_fill() -> Fill:
    return Fill(number=1, begun=Placed(1, TankFilled(at=START, by="RM", tank=1, volume_l=500.0), 0))


def a_linear_story(seed: int) -> list[WaterEvent]:
    """Doses and readings well after mixing, drawn from the linear model itself."""
    rng = np.random.default_rng(seed)
    events: list[WaterEvent] = []
    level, minute, was = 0.0, 0.0, 0.0
    for number in range(24):
        minute += float(rng.uniform(12, 20))
        level *= float(np.exp(-LOSS_PER_MIN * (minute - was)))
        was = minute
        at = START + timedelta(minutes=minute)
        if number % 4 == 0:
            amount = Amount(float(rng.uniform(80, 160)), "mL")
            level += added(amount) * (1 + DOSE_SHARE * float(rng.standard_normal()))
            events.append(DoseAdded(at=at, by="RM", tank=1, product="bleach", amount=amount))
        else:
            value = max(0.0, level + READING_MG_L * float(rng.standard_normal()))
            events.append(
                ReadingTaken(at=at, by="RM", tank=1, fac_mg_l=value, fac_method=Method.KIT)
            )
    return events


def added(amount: Amount) -> float:
    product = LINEAR.setup.sanitizer("bleach")
    if product is None:
        raise ChemistryError("The shed has no bleach.")
    return rise(product, 500.0, amount)


def kalman(events: list[WaterEvent]) -> tuple[np.ndarray, np.ndarray]:
    """statsmodels' Kalman filter of the same story: mean and deviation after each event."""
    count = len(events)
    model = KalmanFilter(
        k_endog=1, k_states=1, initialization="known", constant=[0.0], stationary_cov=[[0.0]]
    )
    seen = [one.fac_mg_l if isinstance(one, ReadingTaken) else np.nan for one in events]
    model.bind(np.array(seen, float))
    model["design"] = np.ones((1, 1))
    model["selection"] = np.ones((1, 1))
    model["obs_cov"] = np.array([[READING_MG_L**2]])
    keep, put, noise = np.ones(count), np.zeros(count), np.zeros(count)
    for place, (one, after) in enumerate(pairwise(events)):
        minutes = (after.at - one.at).total_seconds() / 60
        keep[place] = np.exp(-LOSS_PER_MIN * minutes)
        if isinstance(after, DoseAdded):
            put[place] = added(after.amount)
            noise[place] = (DOSE_SHARE * put[place]) ** 2
    first = added(events[0].amount) if isinstance(events[0], DoseAdded) else 0.0
    model.initialize_known(np.array([first]), np.array([[(DOSE_SHARE * first) ** 2]]))
    model["transition"] = keep.reshape(1, 1, count)
    model["state_intercept"] = put.reshape(1, count)
    model["state_cov"] = noise.reshape(1, 1, count)
    found = model.filter()
    return found.filtered_state[0], np.sqrt(found.filtered_state_cov[0, 0])


@pytest.mark.parametrize("seed", range(3))
def test_in_the_linear_case_the_filter_agrees_with_kalmans(seed: int) -> None:
    """statsmodels' Kalman filter is exact there; what is left is the error of sampling."""
    events = a_linear_story(seed)
    means, deviations = kalman(events)
    estimate = LINEAR.begin(a_fill())
    for event, mean, deviation in zip(events, means, deviations, strict=True):
        estimate = LINEAR.after(estimate, event)
        found = float(estimate.weights @ estimate.water.level)
        spread = float(np.sqrt(estimate.weights @ (estimate.water.level - found) ** 2))
        assert found == pytest.approx(mean, abs=0.1 * deviation)
        assert spread == pytest.approx(deviation, rel=0.1)


def test_the_same_events_always_give_the_same_estimate() -> None:
    events = a_linear_story(3)
    ends = []
    for _ in range(2):
        estimate = LINEAR.begin(a_fill())
        for event in events:
            estimate = LINEAR.after(estimate, event)
        ends.append(estimate)
    assert np.array_equal(ends[0].water.level, ends[1].water.level)
    assert np.array_equal(ends[0].weights, ends[1].weights)
