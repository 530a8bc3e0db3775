"""What chemicals and water cost by the prices of the set-up; what has no price is not known.

How many decimals an amount of money has: most currencies two, some none, a few three.
"""

from collections.abc import Iterable
from typing import NamedTuple

from washmon.line.flags import Amount
from washmon.line.setup import Acid, Price, Sanitizer, SoldBy


def cost_of(product: Sanitizer | Acid, amount: Amount) -> float | None:
    """Return what an amount of a product cost, in the currency of its set-up.

    None where its price is not known, or it is bought by weight, poured by volume (or the other
    way) and its density is not known.
    """
    if product.price is None:
        return None
    by_volume = amount.unit == "mL"
    bought = amount.value / 1000  # L or kg
    if by_volume is not (product.price.sold_by is SoldBy.VOLUME):
        density = product.density_kg_l
        if not density:
            return None
        bought = bought * density if by_volume else bought / density
    return _share(product.price, bought)


def cost_of_water(price: Price | None, volume_l: float) -> float | None:
    """Return what so much water cost; None where its price is not known."""
    return None if price is None else _share(price, volume_l)


def _share(price: Price, bought: float) -> float | None:
    return price.cost * bought / price.amount if price.amount > 0 else None


class Cost(NamedTuple):
    """A sum of costs: what is known of it, and whether that is all."""

    known: float
    whole: bool

    @property
    def total(self) -> float | None:
        """The sum; None where a part of it is not known."""
        return self.known if self.whole else None


def summed(costs: Iterable[float | None]) -> Cost:
    """Add up costs of which some may not be known. Nothing used is a known 0."""
    parts = list(costs)
    known = [part for part in parts if part is not None]
    return Cost(sum(known), len(known) == len(parts))


_DECIMALS = {
    0: "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF",
    3: "BHD IQD JOD KWD LYD OMR TND",
    4: "CLF UYW",
}
"""The minor units of ISO 4217 (list one of its maintenance agency) where they are not two; values
from memory."""
_OTHER = {code: count for count, codes in _DECIMALS.items() for code in codes.split()}


def decimals_of(currency: str) -> int:
    """Return the decimals of a currency, by its three letters; two where it is not known."""
    return _OTHER.get(currency, 2)
