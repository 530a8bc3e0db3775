"""What a calculation of the program says, by its key and what is written into its fields."""

from datetime import date

from washmon.chemistry.measures import METRIC_SET
from washmon.line.calculations import CALCULATIONS
from washmon.line.calculations.asking import Circumstances, Unready
from washmon.line.calculations.result import Result
from washmon.line.message import say
from washmon.units import UnitSystem

BY_KEY = {calculation.key: calculation for calculation in CALCULATIONS}


METRIC = Circumstances(UnitSystem.METRIC, METRIC_SET, date(2026, 5, 7))


TRADE = {"strength": "12.5", "basis": "trade_pct"}


def outcome(key: str, texts: dict[str, str], who: Circumstances = METRIC) -> Result | Unready:
    return BY_KEY[key].work_out(texts, who)


def result(key: str, texts: dict[str, str], who: Circumstances = METRIC) -> Result:
    found = outcome(key, texts, who)
    assert isinstance(found, Result), faults(key, texts)
    return found


def faults(key: str, texts: dict[str, str]) -> dict[str, str]:
    found = outcome(key, texts)
    assert isinstance(found, Unready)
    return {field: say(text, UnitSystem.METRIC) for field, text in found.faults.items()}
