"""Weeks that cost something, and charts of a whole line: by hand."""

from datetime import timedelta

import pytest
from msgspec.structs import replace

from tests.reports.priced import priced
from tests.shed import START, Shed, a_setup
from washmon.line.events import BatchWashed, ShiftEnded
from washmon.line.fold import fold
from washmon.line.setup import LineSetup
from washmon.reports.summary import TankSummary
from washmon.reports.summing import summarize
from washmon.reports.trends import (
    WATER,
    TrendQuantity,
    currencies,
    line_points,
    weeks,
)


def a_shift(
    days: int, setup: LineSetup, *, acid: bool = False, chain: str = ""
) -> list[TankSummary]:
    """Two tanks of 500 and 400 L. Ten batches of 10 kg go through both: 50 to 40, 20 to 18 mg/L."""
    shed = Shed(setup, start=START + timedelta(days=days))
    for tank, volume in ((1, 500.0), (2, 400.0)):
        shed.fill(tank, volume)
        shed.dose(tank, 200)
    shed.wait(6)
    for tank, level in ((1, 50.0), (2, 20.0)):
        shed.read(tank, level)
    for _ in range(10):
        shed.wait(2)
        shed.tell(BatchWashed(at=shed.now, by="RM", tanks=(1, 2), lot="L-1", weight_kg=10.0))
    for tank, level in ((1, 40.0), (2, 18.0)):
        shed.read(tank, level)
    if acid:
        shed.acid(ml=50)
    shed.tell(ShiftEnded(at=shed.now, by="RM"))
    return list(summarize(fold(chain or f"shift-{days}", shed.shift.entries)))


def line_values(quantity: TrendQuantity, found: list[TankSummary]) -> list[float]:
    return [point.value for point in line_points(quantity, found, "Leaf line")]


def test_a_line_loses_what_its_tanks_lose_together_in_milligrams() -> None:
    found = a_shift(0, a_setup())
    # 10 mg/L in 500 L and 2 mg/L in 400 L over the same 100 kg: 50 + 8 mg for each kg.
    assert line_values(TrendQuantity.LOST_PER_KG, found) == [pytest.approx(58.0)]
    assert line_values(TrendQuantity.LOST_PER_BATCH, found) == [pytest.approx(580.0)]
    assert line_values(TrendQuantity.DOSES, found) == [2]


def test_a_shift_of_which_one_tank_tells_nothing_has_no_point_of_the_line() -> None:
    one, two = a_shift(0, a_setup())
    assert two.lost is not None
    assert line_values(TrendQuantity.LOST_PER_KG, [one, replace(two, lost=None)]) == []
    unweighed = replace(two, lost=replace(two.lost, kg=None))
    assert line_values(TrendQuantity.LOST_PER_KG, [one, unweighed]) == []
    idle = replace(two, batches=0, lost=None)
    assert line_values(TrendQuantity.LOST_PER_KG, [one, idle]) == [pytest.approx(50.0)]


def test_points_of_a_line_come_in_order_of_time_and_of_one_line() -> None:
    found = [*a_shift(3, a_setup()), *a_shift(1, a_setup())]
    points = line_points(TrendQuantity.DOSES, found, "Leaf line")
    assert [point.chain for point in points] == ["shift-1", "shift-3"]
    assert line_points(TrendQuantity.DOSES, found, "Root line") == []


@pytest.mark.parametrize("quantity", [TrendQuantity.REDOSE_LOW, TrendQuantity.PH])
def test_lows_and_ph_of_several_tanks_have_no_chart_together(quantity: TrendQuantity) -> None:
    with pytest.raises(ValueError, match="does not add up"):
        line_points(quantity, [], "Leaf line")


def test_a_week_costs_what_its_shifts_cost_product_by_product_and_water_last() -> None:
    # START is Thursday, 7 May 2026. 400 mL at 1.50 a litre, 900 L at 2.40 a cubic metre, a shift.
    one, two = weeks([*a_shift(0, priced()), *a_shift(1, priced()), *a_shift(4, priced())], "")
    assert [(spent.name, spent.currency) for spent in one.spent] == [
        ("hypochlorite", "EUR"),
        (WATER, "EUR"),
    ]
    assert [spent.cost.total for spent in one.spent] == pytest.approx([1.20, 4.32])
    assert one.cost("EUR").total == pytest.approx(5.52)
    assert two.cost("EUR").total == pytest.approx(2.76)
    assert currencies([one, two]) == ["EUR"]


def test_what_has_no_price_leaves_the_week_open() -> None:
    no_price = replace(priced(), acids=a_setup().acids)
    (week,) = weeks(a_shift(0, no_price, acid=True), "")
    vinegar = next(one for one in week.spent if one.name == "vinegar")
    assert vinegar.cost == (0.0, False)
    assert week.cost("EUR").total is None
    assert week.cost("EUR").known == pytest.approx(2.76)


def test_a_shift_from_before_there_were_prices_leaves_the_week_open_too() -> None:
    (week,) = weeks([*a_shift(0, a_setup()), *a_shift(1, priced())], "")
    assert week.cost("EUR").known == pytest.approx(2.76)
    assert not week.cost("EUR").whole
    assert currencies([week]) == ["EUR"]


def test_two_currencies_are_never_added_and_the_newest_comes_first() -> None:
    dollars = replace(priced(), currency="USD")
    found = weeks([*a_shift(0, priced()), *a_shift(1, dollars), *a_shift(4, dollars)], "")
    assert currencies(found) == ["USD", "EUR"]
    assert found[0].cost("EUR").total == pytest.approx(2.76)
    assert found[0].cost("USD").total == pytest.approx(2.76)


def test_a_shed_without_prices_has_no_currency() -> None:
    assert currencies(weeks(a_shift(0, a_setup()), "")) == []
