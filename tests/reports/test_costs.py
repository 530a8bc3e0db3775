"""What a shift cost, against a book kept by hand."""

import msgspec
import pytest
from msgspec.structs import replace

from tests.reports.priced import BLEACH, VINEGAR, a_shift, priced
from tests.shed import Shed, a_setup
from washmon.chemistry.acid import AcidKind
from washmon.chemistry.hypochlorite import StrengthBasis
from washmon.line.events import AcidAdded, Corrected, DoseAdded
from washmon.line.flags import Amount
from washmon.line.setup import Acid, LineSetup, Price, Sanitizer, SanitizerKind, SoldBy
from washmon.reports.costs import cost_of, cost_of_water, summed
from washmon.reports.summary import VERSION, read_batches, read_summary
from washmon.reports.summing import summarize
from washmon.reports.tables import SUMMARIES

WEIGHT = SoldBy.WEIGHT
CALCIUM = Sanitizer(
    key="cal",
    name="granules",
    kind=SanitizerKind.CALCIUM,
    strength=65.0,
    basis=StrengthBasis.WEIGHT_PCT_AVAILABLE_CHLORINE,
)


@pytest.mark.parametrize(
    ("product", "price", "amount", "cost"),
    # By hand: amount as bought, times cost, by the amount that the price is for.
    [
        (BLEACH, Price(cost=30, amount=20), Amount(200, "mL"), 0.30),  # 0.2 L at 1.50
        (BLEACH, Price(cost=30, amount=20, sold_by=WEIGHT), Amount(200, "mL"), 0.351),  # 0.234 kg
        (BLEACH, Price(cost=30, amount=20), Amount(117, "g"), 0.15),  # 0.1 L
        (VINEGAR, Price(cost=6, amount=5), Amount(250, "mL"), 0.30),
        (VINEGAR, Price(cost=6, amount=5, sold_by=WEIGHT), Amount(250, "mL"), None),  # no density
        (
            replace(VINEGAR, density_kg_l=1.006),
            Price(cost=6, amount=5, sold_by=WEIGHT),
            Amount(250, "mL"),
            0.3018,
        ),
        (CALCIUM, Price(cost=90, amount=45, sold_by=WEIGHT), Amount(50, "g"), 0.10),
        (CALCIUM, Price(cost=90, amount=45), Amount(50, "g"), None),
        (BLEACH, None, Amount(200, "mL"), None),
        (BLEACH, Price(cost=0, amount=20), Amount(200, "mL"), 0.0),  # given away: known
        (BLEACH, Price(cost=30, amount=0), Amount(200, "mL"), None),
    ],
)
def test_an_amount_costs_what_the_bill_says(
    product: Sanitizer | Acid, price: Price | None, amount: Amount, cost: float | None
) -> None:
    found = cost_of(replace(product, price=price), amount)
    assert found == (None if cost is None else pytest.approx(cost))


def test_water_costs_by_volume_and_is_not_free_where_nobody_wrote_its_price() -> None:
    assert cost_of_water(Price(cost=2.4, amount=1000.0), 1500.0) == pytest.approx(3.6)
    assert cost_of_water(None, 1500.0) is None


def test_a_sum_says_whether_it_is_all() -> None:
    assert summed([]) == (0.0, True)
    assert summed([1.0, 2.0]).total == 3.0
    assert summed([1.0, None]) == (1.0, False)
    assert summed([1.0, None]).total is None


def test_a_shift_costs_what_the_book_says() -> None:
    tank, unused = summarize(a_shift(priced()).shift)
    # 260 mL at 1.50 a litre, 50 mL at 1.20 a litre, 1,100 L at 0.0024 a litre.
    assert [one.cost for one in tank.sanitizer_used] == [pytest.approx(0.39)]
    assert [one.cost for one in tank.acid_used] == [pytest.approx(0.06)]
    assert tank.water_l == 1100
    assert tank.water_cost == pytest.approx(2.64)
    assert tank.cost.total == pytest.approx(3.09)
    assert tank.shift.currency == "EUR"
    assert unused.cost == (0.0, True)


def test_what_has_no_price_makes_the_total_unknown_not_smaller() -> None:
    tank, _ = summarize(a_shift(replace(priced(), acids=(VINEGAR,))).shift)
    assert tank.cost.total is None
    assert tank.cost.known == pytest.approx(3.03)


def test_a_corrected_dose_costs_what_it_was_in_truth() -> None:
    shed = Shed(priced())
    shed.fill()
    wrong = shed.dose(ml=2000)
    right = DoseAdded(
        at=wrong.event.at, by="RM", product="bleach", tank=1, amount=Amount(200, "mL")
    )
    shed.tell(
        Corrected(at=shed.now, by="TK", entry=wrong.seq, reason="a 0 too many", instead=right)
    )
    tank, _ = summarize(shed.shift)
    assert tank.sanitizer_used[0].cost == pytest.approx(0.30)


def test_a_product_that_the_set_up_does_not_name_has_no_cost() -> None:
    shed = Shed(priced())
    shed.fill()
    shed.tell(AcidAdded(at=shed.now, by="RM", tank=1, product="gone", amount=Amount(5, "mL")))
    tank, _ = summarize(shed.shift)
    assert tank.acid_used[0].cost is None
    assert tank.cost.total is None


def cells(setup: LineSetup) -> dict[str, object]:
    row, _ = SUMMARIES.rows(a_shift(setup).shift)
    return {column.name: column.cell(row) for column in SUMMARIES.columns}


def test_the_costs_stand_in_the_last_columns_and_are_empty_where_not_known() -> None:
    names = [column.name for column in SUMMARIES.columns]
    assert names[names.index("imported") + 1 :][:5] == [
        "cost_sanitizers",
        "cost_acids",
        "cost_water",
        "cost_total",
        "currency",
    ]
    found = cells(priced())
    assert found["cost_water"] == pytest.approx(2.64)
    assert found["cost_total"] == pytest.approx(3.09)
    assert found["currency"] == "EUR"
    without = cells(replace(priced(), acids=(VINEGAR,)))
    assert (without["cost_acids"], without["cost_total"]) == (None, None)
    assert without["cost_sanitizers"] == pytest.approx(0.39)
    unpriced = cells(a_setup())
    last = names.index("currency") + 1
    assert [unpriced[name] for name in names[last - 5 : last]] == [None, None, None, None, ""]


def test_a_kept_summary_holds_the_costs_and_one_from_before_is_made_anew() -> None:
    tank, _ = summarize(a_shift(priced()).shift)
    body = msgspec.json.encode(tank).decode()
    assert read_summary(body) == tank
    old = body.replace(f'"version":{VERSION}', f'"version":{VERSION - 1}')
    assert read_summary(old) is None
    assert read_batches(old) == read_batches(body) == 3
    assert read_batches("{}") is None


def test_a_shift_keeps_the_prices_that_it_began_with() -> None:
    shed = a_shift(priced())
    dearer = replace(priced(), water_price=Price(cost=24.0, amount=1000.0))
    assert summarize(shed.shift)[0].water_cost == pytest.approx(2.64)
    assert summarize(a_shift(dearer).shift)[0].water_cost == pytest.approx(26.4)


def test_phosphoric_acid_by_the_drum_needs_its_density() -> None:
    # 35 kg of 75 % at 1.57 kg/L (value from memory): 40 mL are 62.8 g.
    acid = Acid(
        key="phosphoric",
        name="phosphoric acid",
        kind=AcidKind.PHOSPHORIC,
        strength_pct=75.0,
        price=Price(cost=70.0, amount=35.0, sold_by=WEIGHT),
        density_kg_l=1.57,
    )
    assert cost_of(acid, Amount(40, "mL")) == pytest.approx(0.1256)
