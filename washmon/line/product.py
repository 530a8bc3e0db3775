"""What a product of the set-up can do to a tank, whether it is a liquid or a solid."""

from washmon.chemistry.checks import ChemistryError
from washmon.chemistry.hypochlorite import (
    available_chlorine_g_l,
    dose_g,
    dose_ml,
    rise_from_solid_mg_l,
    rise_mg_l,
    solid_available_chlorine_g_kg,
)
from washmon.line.flags import Amount
from washmon.line.setup import Hypochlorite, Sanitizer


def strength(product: Sanitizer) -> float:
    """Return the available chlorine: g/L of a liquid, g/kg of a solid.

    Raises:
        ChemistryError: the strength or what it counts is not known, or not possible.
    """
    if product.strength is None or product.basis is None:
        raise ChemistryError(
            "The strength of {name} is not known: read it from the label, with what it counts.",
            name=product.name,
        )
    if product.kind is Hypochlorite.CALCIUM:
        return solid_available_chlorine_g_kg(product.strength)
    return available_chlorine_g_l(product.strength, product.basis, product.density_kg_l or 1.0)


def dose(product: Sanitizer, volume_l: float, level_mg_l: float, target_mg_l: float) -> Amount:
    """Return how much raises this much water from a level to a target.

    Raises:
        ChemistryError: the amount can't be worked out; the sentence says why.
    """
    if product.kind is Hypochlorite.CALCIUM:
        return Amount(float(dose_g(volume_l, level_mg_l, target_mg_l, strength(product))), "g")
    return Amount(float(dose_ml(volume_l, level_mg_l, target_mg_l, strength(product))), "mL")


def rise(product: Sanitizer, volume_l: float, amount: Amount) -> float:
    """Return by how many mg/L an amount raises this much clean water.

    Raises:
        ChemistryError: the rise can't be worked out; the sentence says why.
    """
    if product.kind is Hypochlorite.CALCIUM:
        return float(rise_from_solid_mg_l(volume_l, amount.value, strength(product)))
    return float(rise_mg_l(volume_l, 0.0, amount.value, strength(product)))
