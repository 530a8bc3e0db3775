"""A shed that washes, told for forecasts."""

from datetime import timedelta

from tests.shed import START, Shed, a_setup, a_tank
from washmon.forecast.forecaster import Forecaster
from washmon.forecast.look_ahead import Forecast, look_ahead
from washmon.forecast.outlook import Pace
from washmon.forecast.prior import prior_for
from washmon.forecast.shift import FilterCache, forecast_shift
from washmon.line.events import (
    DoseAdded,
    Method,
    ReadingTaken,
    TankFilled,
    WaterEvent,
)
from washmon.line.flags import Amount
from washmon.line.state import Fill, Placed


def a_washing_shed() -> Shed:
    shed = Shed(a_setup(a_tank(1, "Only")))
    shed.fill()
    shed.dose(ml=200)
    shed.wait(10).read(fac=48)
    shed.wash(5)
    shed.wait(3).read(fac=44)
    return shed


def forecast(shed: Shed, cache: FilterCache | None = None) -> Forecast:
    return forecast_shift(shed.shift, shed.now, cache)[1]


FORECASTER = Forecaster(a_setup(), a_tank(1, "Only"), prior_for("baby chard"))


def a_fill(volume_l: float = 500.0) -> Fill:
    return Fill(
        number=1, begun=Placed(1, TankFilled(at=START, by="RM", tank=1, volume_l=volume_l), 0)
    )


def told(*events: WaterEvent, volume_l: float = 500.0, after_min: float = 0.0) -> Forecast:
    estimate = FORECASTER.begin(a_fill(volume_l))
    for event in events:
        estimate = FORECASTER.after(estimate, event)
    now = max((one.at for one in events), default=START) + timedelta(minutes=after_min)
    return look_ahead(FORECASTER, estimate, now, Pace())


def read(minute: float, value: float, method: Method = Method.KIT) -> ReadingTaken:
    at = START + timedelta(minutes=minute)
    return ReadingTaken(at=at, by="RM", tank=1, fac_mg_l=value, fac_method=method)


def dosed(minute: float, ml: float) -> DoseAdded:
    at = START + timedelta(minutes=minute)
    return DoseAdded(at=at, by="RM", tank=1, product="bleach", amount=Amount(ml, "mL"))
