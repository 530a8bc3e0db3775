"""What a product of the set-up can do to a tank, whether it is a liquid or a solid.

``on`` is the day on which it is poured: a liquid hypochlorite with known dates is weaker by then
than its label says (:mod:`washmon.line.strength`). Without it the label counts.
"""

from datetime import date

from washmon.chemistry.acid import acid_mol_per_unit
from washmon.chemistry.checks import ChemistryError, require, require_water
from washmon.chemistry.hypochlorite import (
    StrengthBasis,
    caustic_per_mol,
    dose_g,
    dose_ml,
    rise_from_solid_mg_l,
    rise_mg_l,
    typical_density_kg_l,
)
from washmon.chemistry.peracetic import PeraceticProduct, peracetic_dose_ml
from washmon.line.flags import Amount
from washmon.line.setup import Acid, Sanitizer, SanitizerKind
from washmon.line.strength import label_strength, strength_on

strength = label_strength


def is_solid(product: Sanitizer) -> bool:
    """Tell whether amounts of a product are in g; the others are in mL."""
    return product.kind is SanitizerKind.CALCIUM


def peracetic_product(product: Sanitizer) -> PeraceticProduct:
    """Return what a container of peracetic acid holds.

    Raises:
        ChemistryError: its contents or its density are not known, or not possible.
    """
    if product.strength is None or product.density_kg_l is None:
        raise ChemistryError(
            "The strength and density of {name} are not known: read them from the label.",
            name=product.name,
        )
    return PeraceticProduct(
        paa_pct=product.strength,
        peroxide_pct=product.peroxide_pct or 0.0,
        density_kg_l=product.density_kg_l,
        hedp_pct=product.hedp_pct or 0.0,
    )


def caustic_of(product: Sanitizer | None) -> float | None:
    """Return the excess caustic of a hypochlorite, mol/mol; ``None`` where nobody told it."""
    if product is None or product.caustic_pct is None or product.kind is not SanitizerKind.SODIUM:
        return None
    try:
        strength_g_l, density = label_strength(product), product.density_kg_l
        if density is None:
            by_volume = StrengthBasis.G_PER_L_AVAILABLE_CHLORINE
            density = typical_density_kg_l(strength_g_l, by_volume)
        return caustic_per_mol(product.caustic_pct, density, strength_g_l)
    except ChemistryError:
        return None


def dose(
    product: Sanitizer,
    volume_l: float,
    level_mg_l: float,
    target_mg_l: float,
    on: date | None = None,
) -> Amount:
    """Return how much raises this much water from a level to a target.

    Raises:
        ChemistryError: the amount can't be worked out; the sentence says why.
    """
    if product.kind is SanitizerKind.PERACETIC:
        contents = peracetic_product(product)
        return Amount(float(peracetic_dose_ml(volume_l, level_mg_l, target_mg_l, contents)), "mL")
    return _dose(product, volume_l, level_mg_l, target_mg_l, strength_on(product, on).best)


def most_to(
    product: Sanitizer,
    volume_l: float,
    level_mg_l: float,
    maximum_mg_l: float,
    on: date | None = None,
) -> Amount:
    """Return how much keeps a maximum even if the container has lost nothing of its strength.

    Raises:
        ChemistryError: the amount can't be worked out; the sentence says why.
    """
    if product.kind is SanitizerKind.PERACETIC:
        return dose(product, volume_l, level_mg_l, maximum_mg_l)
    undecayed = strength_on(product, on).undecayed
    return _dose(product, volume_l, level_mg_l, maximum_mg_l, undecayed)


def _dose(
    product: Sanitizer, volume_l: float, level_mg_l: float, target_mg_l: float, strength: float
) -> Amount:
    if is_solid(product):
        return Amount(float(dose_g(volume_l, level_mg_l, target_mg_l, strength)), "g")
    return Amount(float(dose_ml(volume_l, level_mg_l, target_mg_l, strength)), "mL")


def rise(product: Sanitizer, volume_l: float, amount: Amount, on: date | None = None) -> float:
    """Return by how many mg/L an amount raises this much clean water.

    Raises:
        ChemistryError: the rise can't be worked out; the sentence says why.
    """
    if product.kind is SanitizerKind.PERACETIC:
        require_water(volume_l)
        require(amount.value, "amount added", 0.0, 1e6, "mL")
        g_l = label_strength(product)
        return amount.value * g_l / (volume_l + amount.value / 1000.0)
    best = strength_on(product, on).best
    if is_solid(product):
        return float(rise_from_solid_mg_l(volume_l, amount.value, best))
    return float(rise_mg_l(volume_l, 0.0, amount.value, best))


def acid_mol(acid: Acid, amount: Amount) -> float:
    """Return how much of an acid, mol, an amount of its product holds.

    Raises:
        ChemistryError: a strength or a density that no acid has.
    """
    return amount.value * acid_mol_per_unit(acid.kind, acid.strength_pct, acid.density_kg_l)
