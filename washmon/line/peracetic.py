"""What stays in a tank that is kept with peracetic acid when that is used up."""

from dataclasses import dataclass

from washmon.line.events import DoseAdded, ReadingTaken, WaterExchanged
from washmon.line.flags import Amount
from washmon.line.product import peracetic_product
from washmon.line.setup import LineSetup, Sanitizer, SanitizerKind
from washmon.line.state import Fill, order


@dataclass(frozen=True, slots=True)
class Brought:
    """What came with peracetic acid and stays when that is used up, mg/L."""

    peroxide_mg_l: float = 0.0
    hedp_mg_l: float = 0.0

    def __add__(self, other: "Brought") -> "Brought":
        """Return both together."""
        return Brought(self.peroxide_mg_l + other.peroxide_mg_l, self.hedp_mg_l + other.hedp_mg_l)

    def part(self, share: float) -> "Brought":
        """Return a share of it."""
        return Brought(self.peroxide_mg_l * share, self.hedp_mg_l * share)


def brought_by(product: Sanitizer, volume_l: float, amount: Amount) -> Brought:
    """Return what one dose brings: percent by weight, density, and the volume of the water.

    Raises:
        ChemistryError: the contents of the product are not known, or not possible.
    """
    contents = peracetic_product(product)
    mg_l_per_pct = amount.value * contents.density_kg_l * 10.0 / volume_l
    return Brought(contents.peroxide_pct * mg_l_per_pct, contents.hedp_pct * mg_l_per_pct)


def brought(setup: LineSetup, fill: Fill) -> Brought:
    """Return the most that a fill may hold: what all its doses brought, or more where it was read.

    What decays or is used is not taken off.

    Raises:
        ChemistryError: the contents of a product are not known, or not possible.
    """
    held = Brought()
    for placed in sorted((*fill.doses, *fill.exchanges, *fill.readings), key=order):
        event = placed.event
        if isinstance(event, WaterExchanged):
            held = held.part(max(0.0, 1.0 - event.volume_l / fill.volume_l))
        elif isinstance(event, DoseAdded) and (product := _peracetic(setup, event)) is not None:
            held = held + brought_by(product, fill.volume_l, event.amount)
        elif isinstance(event, ReadingTaken) and event.peroxide_mg_l is not None:
            held = Brought(max(held.peroxide_mg_l, event.peroxide_mg_l), held.hedp_mg_l)
    return held


def _peracetic(setup: LineSetup, event: DoseAdded) -> Sanitizer | None:
    product = setup.sanitizer(event.product)
    return product if product and product.kind is SanitizerKind.PERACETIC else None
