"""What the limits of a sanitizer's level must keep, whichever sanitizer it is.

What a set-up must keep where tanks are kept with peracetic acid, and what is said of it.
"""

import math

from washmon.chemistry.checks import ChemistryError
from washmon.chemistry.peracetic import PeraceticProduct, contents_at, highest_paa_mg_l
from washmon.line.message import Message
from washmon.line.product import peracetic_product
from washmon.line.setup import (
    ChlorineLimits,
    LineSetup,
    PeraceticLimits,
    Sanitizer,
    SanitizerKind,
    Tank,
)
from washmon.line.setup_fault import Found, SetupFault, fault, ppm, rising
from washmon.units import Kind

MOST_MG_L = 1_000.0
"""Above any wash water; only tools and floors are cleaned with more."""
_LADDER = (
    ("critical_low_mg_l", "low_mg_l", "Critical low ({less}) must be under low ({more})."),
    ("low_mg_l", "target_mg_l", "Low ({less}) must be under the target ({more})."),
    ("target_mg_l", "high_mg_l", "The target ({less}) must be under high ({more})."),
)


def levels_rise(path: str, limits: ChlorineLimits | PeraceticLimits) -> Found:
    """Yield what does not rise from critical low to label, is below nothing, or beyond sense."""
    yield from rising(path, limits, _LADDER, Kind.CONCENTRATION)
    if math.inf > limits.high_mg_l > limits.label_max_mg_l > -math.inf:
        for field in ("high_mg_l", "label_max_mg_l"):
            yield fault(
                f"{path}.{field}",
                "High ({high}) must not be over what the label allows ({most}).",
                high=ppm(limits.high_mg_l),
                most=ppm(limits.label_max_mg_l),
            )
    if limits.critical_low_mg_l < 0:
        yield fault(f"{path}.critical_low_mg_l", "A level cannot be below 0.")
    if math.isfinite(limits.label_max_mg_l) and limits.label_max_mg_l > MOST_MG_L:
        yield fault(
            f"{path}.label_max_mg_l",
            "No label allows more than {most} in wash water: read it again.",
            most=ppm(MOST_MG_L),
        )


def contents_are_possible(path: str, product: Sanitizer) -> Found:
    """Yield what is missing or impossible among the contents of peracetic acid."""
    if product.kind is not SanitizerKind.PERACETIC:
        return
    needed = (
        ("strength", product.strength, "Write the percent of peracetic acid on the label."),
        ("density_kg_l", product.density_kg_l, "The dose needs the density: the label tells it."),
        (
            "peroxide_pct",
            product.peroxide_pct,
            "Write the percent of hydrogen peroxide on the label: it has a limit of its own.",
        ),
    )
    missing = [(field, text) for field, value, text in needed if value is None]
    yield from (fault(f"{path}.{field}", text) for field, text in missing)
    values = (product.strength, product.density_kg_l, product.peroxide_pct, product.hedp_pct)
    if missing or not all(value is None or math.isfinite(value) for value in values):
        return
    try:
        peracetic_product(product)
    except ChemistryError as refusal:
        field = "density_kg_l" if "density" in str(refusal) else "strength"
        yield SetupFault(f"{path}.{field}", Message(refusal.template, dict(refusal.values)))


def kept_with_its_sanitizer(path: str, setup: LineSetup, tank: Tank) -> Found:
    """Yield a fault where a tank's limits and its product are not of one kind."""
    product = setup.sanitizer(tank.sanitizer)
    if product is None:
        return
    if (product.kind is SanitizerKind.PERACETIC) is not (tank.peracetic is not None):
        yield fault(
            f"{path}.sanitizer",
            "{product} is another kind of sanitizer than this tank's limits are for.",
            product=product.name,
        )
    if tank.peracetic is not None and tank.acid is not None:
        yield fault(f"{path}.acid", "A tank of peracetic acid gets no other acid: choose none.")


def peracetic_limits_rise(path: str, tank: Tank) -> Found:
    """Yield what is wrong with the limits of peracetic acid."""
    if tank.peracetic is not None:
        yield from levels_rise(f"{path}.peracetic", tank.peracetic)


def peracetic_cautions(setup: LineSetup) -> Found:
    """Yield where a target passes a limit of 21 CFR 173.315, by the acid or by what comes with it.

    A product can keep the limit of the acid and break that of its peroxide.
    """
    for number, tank in enumerate(setup.tanks):
        product = setup.sanitizer(tank.sanitizer)
        if tank.peracetic is None or product is None:
            continue
        try:
            contents = peracetic_product(product)
        except ChemistryError:
            continue
        yield from _over_the_law(f"tanks.{number}.peracetic", tank, contents)


def _over_the_law(path: str, tank: Tank, product: PeraceticProduct) -> Found:
    limits = tank.peracetic
    if limits is None or not 0 <= limits.target_mg_l <= MOST_MG_L:
        return
    at_target = contents_at(limits.target_mg_l, product)
    if limits.high_mg_l > limits.legal_paa_mg_l:
        yield fault(
            f"{path}.high_mg_l",
            "{tank}: 21 CFR 173.315 allows {most} of peracetic acid.",
            tank=tank.name,
            most=ppm(limits.legal_paa_mg_l),
        )
    if at_target.peroxide_mg_l > limits.legal_peroxide_mg_l:
        yield fault(
            f"{path}.target_mg_l",
            "{tank}: at its target this product brings {held} hydrogen peroxide, over the {most} "
            "of 21 CFR 173.315, though its acid keeps the limit. Up to {paa} would keep all.",
            tank=tank.name,
            held=ppm(at_target.peroxide_mg_l),
            most=ppm(limits.legal_peroxide_mg_l),
            paa=ppm(highest_paa_mg_l(product)),
        )
    elif at_target.hedp_mg_l > limits.legal_hedp_mg_l:
        yield fault(
            f"{path}.target_mg_l",
            "{tank}: at its target this product brings {held} of the stabiliser HEDP, over the "
            "{most} of 21 CFR 173.315. Up to {paa} would keep all.",
            tank=tank.name,
            held=ppm(at_target.hedp_mg_l),
            most=ppm(limits.legal_hedp_mg_l),
            paa=ppm(highest_paa_mg_l(product)),
        )
