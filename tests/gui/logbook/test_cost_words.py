"""Money is written with the decimals of its currency."""

import pytest

from washmon.gui.context import UserContext
from washmon.gui.logbook.logbook_words import cost_words
from washmon.reports.costs import Cost
from washmon.units import UnitSystem

ME = UserContext("RM", UnitSystem.METRIC)


# ISO 4217 gives the yen no minor unit, the euro two decimals and the Kuwaiti dinar three.
@pytest.mark.parametrize(
    ("currency", "said"), [("EUR", "1234.50"), ("JPY", "1234"), ("KWD", "1234.500")]
)
def test_money_has_the_decimals_of_its_currency(currency: str, said: str) -> None:
    words = cost_words(Cost(1234.5, whole=True), currency, ME)
    assert words == f"{said}\N{NO-BREAK SPACE}{currency}"


def test_a_currency_that_nobody_listed_has_two_decimals_in_the_readers_sign() -> None:
    words = cost_words(Cost(2.0, whole=False), "XYZ", UserContext("RM", UnitSystem.US, ","))
    assert words == "at least 2,00\N{NO-BREAK SPACE}XYZ"


@pytest.mark.parametrize(
    ("cost", "currency"), [(Cost(0.0, whole=False), "EUR"), (Cost(3.0, whole=True), "")]
)
def test_what_has_no_price_or_no_currency_is_not_known(cost: Cost, currency: str) -> None:
    assert cost_words(cost, currency, ME) == "not known"
