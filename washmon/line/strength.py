"""How strong a container is on a day: what a test said, else what its age has left of the label."""

import math
from dataclasses import dataclass
from datetime import date

from washmon.chemistry.ageing import Stay, present_strength_g_l
from washmon.chemistry.checks import ChemistryError
from washmon.chemistry.hypochlorite import available_chlorine_g_l, solid_available_chlorine_g_kg
from washmon.chemistry.uncertainty import LABEL_ERROR, TESTED_ERROR
from washmon.line.setup import Sanitizer, SanitizerKind

USUAL_STORAGE_C = 20.0
"""Stands in where nobody wrote how warm a container stands (common practice)."""
MOST_ERROR = 0.5
_LONGEST_DAYS, _COLDEST_C, _WARMEST_C = 3650.0, -20.0, 60.0


@dataclass(frozen=True, slots=True)
class Strength:
    """Available chlorine (or peracetic acid) of a product, g/L of a liquid, g/kg of a solid.

    ``error`` is a share of ``best``. ``undecayed`` is the number of the label or of the test that
    it aged from: no container is stronger. ``days`` is how long it aged since; ``None`` where no
    date is known, and then that number stands.
    """

    best: float
    error: float
    label: float
    undecayed: float
    tested: bool = False
    days: int | None = None
    storage_c: float = USUAL_STORAGE_C

    @property
    def share(self) -> float:
        """What is left of the label, 0 to 1; a test may find more."""
        return self.best / self.label


def label_strength(product: Sanitizer) -> float:
    """Return the strength as the label tells it: g/L of a liquid, g/kg of a solid.

    Raises:
        ChemistryError: the strength or what it counts is not known, or not possible.
    """
    if product.kind is SanitizerKind.PERACETIC:
        if product.strength is None or product.density_kg_l is None:
            raise ChemistryError(
                "The strength and density of {name} are not known: read them from the label.",
                name=product.name,
            )
        return 10.0 * product.strength * product.density_kg_l
    if product.strength is None or product.basis is None:
        raise ChemistryError(
            "The strength of {name} is not known: read it from the label, with what it counts.",
            name=product.name,
        )
    if product.kind is SanitizerKind.CALCIUM:
        return solid_available_chlorine_g_kg(product.strength)
    return available_chlorine_g_l(product.strength, product.basis, product.density_kg_l or 1.0)


def strength_on(product: Sanitizer, on: date | None) -> Strength:
    """Return how strong a container is on a day; on no day, as its label says.

    Liquid hypochlorite decays by Adam & Gordon (1999) from the day it was made (else opened) or
    tested: the best case, so the error grows by as much as was lost. A solid and peracetic acid
    keep their label until they are past their use-by day.

    Raises:
        ChemistryError: the strength is not known, or not possible.
    """
    label = label_strength(product)
    if product.kind is not SanitizerKind.SODIUM or on is None:
        return Strength(label, LABEL_ERROR, label, label)
    tested = product.tested_g_l if _was_tested(product, on) else None
    start, error = (label, LABEL_ERROR) if tested is None else (tested, TESTED_ERROR)
    since = (product.made_on or product.opened_on) if tested is None else product.tested_on
    storage_c = USUAL_STORAGE_C if product.storage_c is None else product.storage_c
    if since is None or since > on or not _COLDEST_C <= storage_c <= _WARMEST_C:
        return Strength(start, error, label, start, tested is not None)
    days = (on - since).days
    best = present_strength_g_l(start, [Stay(min(float(days), _LONGEST_DAYS), storage_c)])
    return Strength(
        best=best,
        error=min(math.hypot(error, 1.0 - best / start), MOST_ERROR),
        label=label,
        undecayed=start,
        tested=tested is not None,
        days=days,
        storage_c=storage_c,
    )


def _was_tested(product: Sanitizer, on: date) -> bool:
    return product.tested_g_l is not None and (product.tested_on is None or product.tested_on <= on)
