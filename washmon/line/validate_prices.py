"""What prices of a set-up must tell before anything can be counted with them."""

import math
import re
from collections.abc import Iterator

from washmon.chemistry import acid
from washmon.line import product
from washmon.line.setup import Acid, LineSetup, Price, Sanitizer, SoldBy
from washmon.line.setup_fault import Found, fault

LEAST_DENSITY_KG_L, GREATEST_DENSITY_KG_L = 0.5, 2.5
"""Between which an acid lies, with room to spare; common practice, no published source."""
_CURRENCY = re.compile(r"[A-Z]{3}")


def prices_are_possible(setup: LineSetup) -> Found:
    """Yield what is wrong with the prices and their currency."""
    priced = list(_prices(setup))
    for path, price in priced:
        yield from _price_is_possible(path, price)
    if setup.currency and not _CURRENCY.fullmatch(setup.currency):
        yield fault("currency", "A currency is three letters of ISO 4217, such as EUR or USD.")
    if priced and not setup.currency:
        yield fault("currency", "Say in which currency the prices are, such as EUR or USD.")
    if setup.water_price is not None and setup.water_price.sold_by is not SoldBy.VOLUME:
        yield fault("water_price.amount", "Water is sold by volume.")
    for path, one in _products(setup):
        if is_solid(one) and one.price is not None and one.price.sold_by is SoldBy.VOLUME:
            yield fault(f"{path}.price.sold_by", "This is weighed out: its price goes by weight.")
        if isinstance(one, Acid) and one.density_kg_l is not None and _outside(one.density_kg_l):
            yield fault(f"{path}.density_kg_l", "No acid has this density: check it.")


def unpriced_for_want_of_density(setup: LineSetup) -> Found:
    """Yield liquids that are sold by weight and whose density nobody wrote: cautions only."""
    for path, one in _products(setup):
        by_weight = one.price is not None and one.price.sold_by is SoldBy.WEIGHT
        if by_weight and not is_solid(one) and one.density_kg_l is None:
            yield fault(
                f"{path}.density_kg_l",
                "{name} is sold by weight and poured by volume: without its density what it "
                "costs is not known.",
                name=one.name,
            )


def is_solid(one: Sanitizer | Acid) -> bool:
    """Tell whether a product is weighed out."""
    return acid.is_solid(one.kind) if isinstance(one, Acid) else product.is_solid(one)


def _products(setup: LineSetup) -> Iterator[tuple[str, Sanitizer | Acid]]:
    for number, sanitizer in enumerate(setup.sanitizers):
        yield f"sanitizers.{number}", sanitizer
    for number, one in enumerate(setup.acids):
        yield f"acids.{number}", one


def _prices(setup: LineSetup) -> Iterator[tuple[str, Price]]:
    for path, one in _products(setup):
        if one.price is not None:
            yield f"{path}.price", one.price
    if setup.water_price is not None:
        yield "water_price", setup.water_price


def _price_is_possible(path: str, price: Price) -> Found:
    if math.isfinite(price.cost) and price.cost < 0:
        yield fault(f"{path}.cost", "A price cannot be below 0.")
    if math.isfinite(price.amount) and price.amount <= 0:
        yield fault(f"{path}.amount", "This must be more than 0: for how much is the price?")


def _outside(density: float) -> bool:
    return math.isfinite(density) and not (LEAST_DENSITY_KG_L <= density <= GREATEST_DENSITY_KG_L)
