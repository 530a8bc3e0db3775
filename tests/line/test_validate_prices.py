"""Prices of a set-up: what is refused, what is only said."""

import math
from datetime import date

import pytest
from msgspec.structs import replace

from tests.shed import a_setup
from washmon.chemistry.acid import AcidKind
from washmon.line.setup import LineSetup, Price, SanitizerKind, SoldBy
from washmon.line.validate import cautions, faults

TODAY = date(2026, 5, 7)
GOOD = Price(cost=30.0, amount=20.0)


def a_line(price: Price | None = GOOD, **changes: object) -> LineSetup:
    """A sound line whose hypochlorite has this price in euro."""
    bleach = replace(a_setup().sanitizers[0], price=price)
    return a_setup(**{"currency": "EUR", "sanitizers": (bleach,)} | changes)


def paths(setup: LineSetup) -> list[str]:
    return [one.path for one in faults(setup)]


@pytest.mark.parametrize("setup", [a_line(), a_line(None, currency=""), a_line(None)])
def test_prices_and_none_are_both_sound(setup: LineSetup) -> None:
    assert paths(setup) == []


@pytest.mark.parametrize(
    ("price", "path"),
    [
        (Price(cost=-1, amount=20), "cost"),
        (Price(cost=math.nan, amount=20), "cost"),
        (Price(cost=math.inf, amount=20), "cost"),
        (Price(cost=30, amount=0), "amount"),
        (Price(cost=30, amount=-5), "amount"),
        (Price(cost=30, amount=math.nan), "amount"),
    ],
)
def test_an_impossible_price_stands_beside_its_field(price: Price, path: str) -> None:
    assert paths(a_line(price)) == [f"sanitizers.0.price.{path}"]
    assert paths(a_line(water_price=price)) == [f"water_price.{path}"]


def test_a_container_that_cost_nothing_is_no_fault() -> None:
    assert paths(a_line(Price(cost=0, amount=20))) == []


@pytest.mark.parametrize("currency", ["eur", "EURO", "€", "E1R", "EU", "ÄÖÜ", " EUR"])
def test_a_currency_is_three_capital_letters(currency: str) -> None:
    assert paths(a_line(currency=currency)) == ["currency"]


def test_a_price_without_a_currency_is_asked_about_once() -> None:
    (found,) = faults(a_line(currency="", water_price=GOOD))
    assert found.path == "currency"
    assert "EUR" in found.message.text


def test_what_is_weighed_out_has_a_price_by_weight_and_water_has_none() -> None:
    by_weight = replace(GOOD, sold_by=SoldBy.WEIGHT)
    citric = replace(a_setup().acids[0], kind=AcidKind.CITRIC, strength_pct=100.0, price=GOOD)
    assert paths(a_line(acids=(citric,))) == ["acids.0.price.sold_by"]
    assert paths(a_line(acids=(replace(citric, price=by_weight),))) == []
    granules = replace(a_line().sanitizers[0], kind=SanitizerKind.CALCIUM, density_kg_l=None)
    assert "sanitizers.0.price.sold_by" in paths(a_line(sanitizers=(granules,)))
    assert paths(a_line(water_price=by_weight)) == ["water_price.amount"]


def test_a_liquid_that_is_sold_by_weight_is_asked_for_its_density_and_nothing_is_guessed() -> None:
    drum = replace(a_setup().acids[0], price=replace(GOOD, sold_by=SoldBy.WEIGHT))
    setup = a_line(acids=(drum,))
    assert faults(setup) == []
    assert "acids.0.density_kg_l" in [one.path for one in cautions(setup, TODAY)]
    known = a_line(acids=(replace(drum, density_kg_l=1.006),))
    assert "acids.0.density_kg_l" not in [one.path for one in cautions(known, TODAY)]
    assert paths(a_line(acids=(replace(drum, density_kg_l=9.0),))) == ["acids.0.density_kg_l"]
