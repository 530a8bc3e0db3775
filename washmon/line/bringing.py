"""What a dose brings about, at both ends of what is known, and the largest that keeps a limit."""

import math
from datetime import date

from washmon.chemistry.checks import ChemistryError
from washmon.chemistry.uncertainty import (
    LABEL_ERROR,
    TESTED_ERROR,
    VOLUME_ERROR,
    Range,
    largest_rise,
    reached,
)
from washmon.line.flags import Amount
from washmon.line.peracetic import Brought, brought, brought_by
from washmon.line.product import dose, peracetic_product, rise
from washmon.line.setup import LineSetup, PeraceticLimits, Sanitizer, SanitizerKind, Tank
from washmon.line.state import Fill, order
from washmon.line.strength import strength_on


def brings(
    product: Sanitizer, volume_l: float, level: Range, amount: Amount, on: date | None = None
) -> Range:
    """Return the level, mg/L, that an amount brings water of a level to: best and about 95 %.

    Mass balance; strength, volume and level are unsure, each by itself (added as squares).

    Raises:
        ChemistryError: what the amount does can't be worked out.
    """
    return reached(level, rise(product, volume_l, amount, on), *_errors(product, on))


def largest_dose(
    product: Sanitizer, volume_l: float, level: Range, maximum_mg_l: float, on: date | None = None
) -> Amount:
    """Return the most of a product whose upper end keeps a maximum, mg/L: see :func:`brings`.

    Raises:
        ChemistryError: no amount keeps it, or none can be worked out.
    """
    gain = largest_rise(level, maximum_mg_l, _errors(product, on)[1])
    amount = dose(product, volume_l, level.best, level.best + gain, on)
    while brings(product, volume_l, level, amount, on).high > maximum_mg_l:  # rounding, volume
        amount = Amount(amount.value * (1 - 1e-4), amount.unit)
    return amount


def peroxide_after(setup: LineSetup, fill: Fill, product: Sanitizer, amount: Amount) -> Brought:
    """Return the peroxide and stabiliser that a fill holds after one more dose, mg/L.

    All doses count; of peroxide what was read since the last one, as it decays.

    Raises:
        ChemistryError: the contents of a product are not known, or not possible.
    """
    held, read = brought(setup, fill), fill.latest("peroxide_mg_l")
    if read is not None and all(order(dose) < order(read) for dose in fill.doses):
        held = Brought(read.event.peroxide_mg_l or 0.0, held.hedp_mg_l)
    return held + brought_by(product, fill.volume_l, amount)


def allowed_dose(
    setup: LineSetup, spec: Tank, fill: Fill, level: Range, on: date | None = None
) -> Amount:
    """Return the most that a tank may be dosed with by label, law and all that comes with it.

    Raises:
        ChemistryError: nothing may be added, or nothing can be worked out.
    """
    product, limits = setup.sanitizer(spec.sanitizer), spec.limits
    if product is None:
        raise ChemistryError("The product of this tank is not in the set-up: add it.")
    if not isinstance(limits, PeraceticLimits):
        return largest_dose(product, fill.volume_l, level, limits.label_max_mg_l, on)
    most_mg_l = min(limits.label_max_mg_l, limits.legal_paa_mg_l)
    most = largest_dose(product, fill.volume_l, level, most_mg_l, on)
    if product.kind is not SanitizerKind.PERACETIC:
        return most
    return Amount(min(most.value, _most_beside(setup, fill, product, limits)), most.unit)


def _most_beside(
    setup: LineSetup, fill: Fill, product: Sanitizer, limits: PeraceticLimits
) -> float:
    """Return the mL that keep the limits of peroxide and stabiliser."""
    contents = peracetic_product(product)
    held = peroxide_after(setup, fill, product, Amount(0.0, "mL"))
    per_ml = brought_by(product, fill.volume_l, Amount(1.0, "mL"))
    most = math.inf
    if contents.peroxide_pct > 0:
        room = limits.legal_peroxide_mg_l - held.peroxide_mg_l
        most = min(most, room / per_ml.peroxide_mg_l)
    if contents.hedp_pct > 0:
        most = min(most, (limits.legal_hedp_mg_l - held.hedp_mg_l) / per_ml.hedp_mg_l)
    if most <= 0:
        raise ChemistryError(
            "One more dose would bring too much of what comes with peracetic acid: change the "
            "water."
        )
    return most


def _errors(product: Sanitizer, on: date | None) -> tuple[float, float]:
    """Return how far a rise may be under and over its best, as shares of it.

    A container may have lost nothing since its label, or its test.
    """
    strength = strength_on(product, on)
    fresh = TESTED_ERROR if strength.tested else LABEL_ERROR
    up = math.hypot(fresh, strength.undecayed / strength.best - 1.0)
    return math.hypot(VOLUME_ERROR, strength.error), math.hypot(VOLUME_ERROR, up)
