"""Prices in the set-up guide: written beside each product, never guessed, faults in sight."""

import pytest
from msgspec.structs import replace
from pytestqt.qtbot import QtBot

from tests.gui.setup_guide.guides import (
    GERMAN,
    LOOK,
    PLACE,
    PRODUCTS,
    full_setup,
    opened,
    press,
    product,
    write,
)
from tests.shed import a_setup
from washmon.chemistry.acid import AcidKind
from washmon.gui.setup_guide.acid_form import AcidForm
from washmon.gui.setup_guide.guide import SetupGuide
from washmon.gui.setup_guide.setup_summary import summary
from washmon.line.setup import Price, SoldBy


@pytest.fixture
def guide(qtbot: QtBot) -> SetupGuide:
    return opened(qtbot, a_setup())


def acid(guide: SetupGuide) -> AcidForm:
    form = guide.products.roster.forms[-1]
    assert isinstance(form, AcidForm)
    return form


def test_a_price_is_written_as_it_stands_on_the_bill(guide: SetupGuide) -> None:
    guide.go_to(PRODUCTS)
    guide.products.roster.turn_to(0)
    form = product(guide)
    press(form.costs.button)
    write(form.price.cost, "28.50")
    write(form.price.amount, "5 gal")
    guide.go_to(PLACE)
    press(guide.place.costs.button)
    write(guide.place.currency, "eur")
    write(guide.place.water_price.cost, "2.4")
    write(guide.place.water_price.amount, "1 m3")
    draft = guide.draft()
    assert draft.currency == "EUR"
    assert draft.water_price == Price(cost=2.4, amount=1000.0)
    price = draft.sanitizers[0].price
    assert price is not None
    assert price.cost == 28.5
    assert price.amount == pytest.approx(5 * 3.785411784)
    assert draft.acids[0].price is None
    guide.go_to(LOOK)
    lines = [line for block in summary(draft, guide.writing) for line in block.lines]
    said = [line.replace("\N{NO-BREAK SPACE}", " ") for line in lines]
    assert any("28.50 for 18.9 L" in line for line in said)
    assert "Prices in EUR; water 2.40 for 1000 L" in said
    assert guide._judging.faults(draft) == {}


def test_a_price_shows_the_decimals_of_its_currency_and_keeps_digits_that_were_typed(
    guide: SetupGuide,
) -> None:
    # Minor units of ISO 4217: yen none, euro two, dinar of Kuwait three (values from memory).
    press(guide.place.costs.button)
    cost = guide.place.water_price.cost
    write(cost, "240")
    cost.left.emit()
    assert cost.editor.text() == "240.00"
    for currency, shown in (("jpy", "240"), ("KWD", "240.000"), ("EUR", "240.00")):
        write(guide.place.currency, currency)
        assert cost.editor.text() == shown
    write(guide.place.currency, "JPY")
    write(cost, "240.5")
    cost.left.emit()
    assert cost.editor.text() == "240.5"
    assert cost.value == 240.5


def test_a_set_up_in_yen_opens_and_is_summed_up_without_decimals(qtbot: QtBot) -> None:
    setup = a_setup()
    price = Price(cost=2800.0, amount=20.0)
    first, *others = setup.sanitizers
    priced = replace(
        setup,
        currency="JPY",
        water_price=Price(cost=300.0, amount=1000.0),
        sanitizers=(replace(first, price=price), *others),
    )
    guide = opened(qtbot, priced)
    assert guide.place.water_price.cost.editor.text() == "300"
    assert product(guide).price.cost.editor.text() == "2800"
    lines = [line for block in summary(guide.draft(), guide.writing) for line in block.lines]
    said = [line.replace("\N{NO-BREAK SPACE}", " ") for line in lines]
    assert "Prices in JPY; water 300 for 1000 L" in said


def test_half_a_price_is_to_mend_and_none_is_not_known(guide: SetupGuide) -> None:
    guide.go_to(PRODUCTS)
    guide.products.roster.turn_to(0)
    form = product(guide)
    press(form.costs.button)
    write(form.price.cost, "28")
    assert set(guide._judging.faults(guide.draft())) == {"sanitizers.0.price.amount", "currency"}
    write(form.price.cost, "")
    assert guide.draft().sanitizers[0].price is None
    assert guide._judging.faults(guide.draft()) == {}


def test_less_than_nothing_is_refused_in_words(guide: SetupGuide) -> None:
    guide.go_to(PRODUCTS)
    guide.products.roster.turn_to(0)
    form = product(guide)
    press(form.costs.button)
    write(form.price.cost, "-3")
    assert "less than nothing" in form.price.cost.problem()
    write(form.price.cost, "3 EUR")
    assert "write an amount of money, such as 12.50" in form.price.cost.problem()


def test_saving_leads_to_the_currency_that_a_price_lacks(guide: SetupGuide) -> None:
    guide.go_to(PRODUCTS)
    guide.products.roster.turn_to(0)
    form = product(guide)
    press(form.costs.button)
    write(form.price.cost, "28")
    write(form.price.amount, "20")
    guide.save()
    assert guide.at == PLACE
    assert guide.place.currency.isVisible()
    assert "currency" in guide.place.currency.fault.text


def test_acid_by_the_kilogram_asks_for_its_density_and_by_the_litre_does_not(
    guide: SetupGuide,
) -> None:
    guide.go_to(PRODUCTS)
    guide.products.roster.turn_to(1)
    form = acid(guide)
    press(form.more.button)
    write(form.price.cost, "6")
    write(form.price.amount, "5")
    assert not form.density.isVisible()
    press(form.price.sold_by.row.button(SoldBy.WEIGHT))
    assert form.density.isVisible()
    assert form.product().price == Price(cost=6.0, amount=5.0, sold_by=SoldBy.WEIGHT)
    write(form.density, "1.006")
    assert form.product().density_kg_l == 1.006
    form.kind.put(AcidKind.CITRIC)
    form.kind.changed.emit()
    assert not form.density.isVisible()
    assert not form.price.sold_by.isVisible()
    assert form.product().density_kg_l is None


def test_a_liquid_sanitizer_by_weight_asks_for_its_density_too(guide: SetupGuide) -> None:
    guide.go_to(PRODUCTS)
    guide.products.roster.turn_to(0)
    form = product(guide)
    assert not form.density.isVisible()  # a trade percent needs none
    press(form.costs.button)
    press(form.price.sold_by.row.button(SoldBy.WEIGHT))
    assert form.density.isVisible()


def test_prices_come_back_as_they_were_and_in_the_readers_decimals(qtbot: QtBot) -> None:
    setup = replace(full_setup(), currency="EUR")
    guide = opened(qtbot, setup, GERMAN)
    assert guide.draft() == setup
    assert product(guide).price.cost.editor.text() == "31,2345"
    assert not guide.products.roster.forms[0].isHidden()


def test_what_of_the_place_is_not_written_is_named(guide: SetupGuide) -> None:
    draft = guide.draft()
    for site, location, line in (
        ("", "", "Site and location: not written yet"),
        ("Hill shed", "", "Location: not written yet"),
        ("Hill shed", "Upper field road", "Upper field road"),
    ):
        place = summary(replace(draft, site=site, location=location), guide.writing)[0]
        assert place.lines[0] == line
