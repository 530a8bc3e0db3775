"""What the containers of a set-up must tell before a shift can run on it.

What the containers of acid in a set-up must tell: a strength that acids of their kind have.
"""

import math
from collections.abc import Callable

from washmon.chemistry.acid import ACIDS, AcidKind, acid_mol_per_unit
from washmon.chemistry.checks import ChemistryError
from washmon.chemistry.hypochlorite import (
    MOST_CAUSTIC_PCT,
    STRONGEST_LIQUID_G_L,
    StrengthBasis,
    available_chlorine_g_l,
    solid_available_chlorine_g_kg,
    typical_density_kg_l,
)
from washmon.line.message import Figure
from washmon.line.setup import LineSetup, Sanitizer, SanitizerKind
from washmon.line.setup_fault import Found, SetupFault, fault, refused
from washmon.line.validate_levels import contents_are_possible
from washmon.units import Kind

COLDEST_C, WARMEST_C = -20.0, 60.0
_BY_WEIGHT = {StrengthBasis.WEIGHT_PCT_NAOCL, StrengthBasis.WEIGHT_PCT_AVAILABLE_CHLORINE}


def _strength_has_a_basis(path: str, product: Sanitizer) -> Found:
    if product.kind is SanitizerKind.PERACETIC:
        return
    if product.strength is None:
        yield fault(f"{path}.strength", "Write the strength that stands on the container.")
    if product.basis is not None:
        return
    if product.strength is None or not math.isfinite(product.strength):
        yield fault(f"{path}.basis", "Choose what the percent on the container counts.")
        return
    yield fault(
        f"{path}.basis",
        "{strength} can be read in two ways that differ by about 14 %: "
        "choose what the percent on the container counts.",
        strength=Figure(product.strength, Kind.PERCENT),
    )


def _solids_count_available_chlorine(path: str, product: Sanitizer) -> Found:
    if product.kind is not SanitizerKind.CALCIUM:
        return
    if product.basis not in {None, StrengthBasis.WEIGHT_PCT_AVAILABLE_CHLORINE}:
        yield fault(f"{path}.basis", "The percent of a solid counts available chlorine by weight.")
    if product.density_kg_l is not None:
        yield fault(f"{path}.density_kg_l", "A solid is weighed: leave the density empty.")


def _weight_percent_has_a_density(path: str, product: Sanitizer) -> Found:
    liquid = product.kind is SanitizerKind.SODIUM
    if not liquid or product.basis not in _BY_WEIGHT or product.density_kg_l is not None:
        return
    text = "A percent by weight needs the density: the container or its data sheet tells it."
    try:
        usual = typical_density_kg_l(product.strength or math.nan, product.basis)
    except ChemistryError:
        yield fault(f"{path}.density_kg_l", text)
    else:
        yield fault(
            f"{path}.density_kg_l",
            text + " Usually it is about {usual}.",
            usual=Figure(round(usual, 2), Kind.DENSITY),
        )


def _strength_is_possible(path: str, product: Sanitizer) -> Found:
    strength, basis = product.strength, product.basis
    peracetic = product.kind is SanitizerKind.PERACETIC
    if peracetic or strength is None or basis is None or not math.isfinite(strength):
        return
    try:
        if product.kind is SanitizerKind.CALCIUM:
            solid_available_chlorine_g_kg(strength)
        elif basis not in _BY_WEIGHT or product.density_kg_l is not None:
            available_chlorine_g_l(strength, basis, product.density_kg_l or 1.0)
    except ChemistryError as refusal:
        yield refused(f"{path}.strength", refusal)


def _storage_is_possible(path: str, product: Sanitizer) -> Found:
    stored = product.storage_c
    if stored is not None and math.isfinite(stored) and not COLDEST_C <= stored <= WARMEST_C:
        yield fault(
            f"{path}.storage_c",
            "A store is between {least} and {most}: check it, or leave it empty.",
            least=Figure(COLDEST_C, Kind.TEMPERATURE),
            most=Figure(WARMEST_C, Kind.TEMPERATURE),
        )


def _test_is_possible(path: str, product: Sanitizer) -> Found:
    tested = product.tested_g_l
    if tested is None or not math.isfinite(tested):
        return
    if not 0 < tested <= STRONGEST_LIQUID_G_L:
        yield fault(
            f"{path}.tested_g_l",
            "No liquid hypochlorite has this strength: check the dilution and the reading.",
        )
    if product.tested_on is None:
        yield fault(f"{path}.tested_on", "Say on which day it was tested.")


def _caustic_is_possible(path: str, product: Sanitizer) -> Found:
    caustic = product.caustic_pct
    if caustic is not None and math.isfinite(caustic) and not 0 <= caustic <= MOST_CAUSTIC_PCT:
        yield fault(
            f"{path}.caustic_pct",
            "No hypochlorite that is sold holds so much sodium hydroxide: read the data sheet "
            "again, or leave it empty.",
        )


PRODUCT_RULES: tuple[Callable[[str, Sanitizer], Found], ...] = (
    _strength_has_a_basis,
    _solids_count_available_chlorine,
    _weight_percent_has_a_density,
    _strength_is_possible,
    _storage_is_possible,
    _test_is_possible,
    _caustic_is_possible,
    contents_are_possible,
)


POSSIBLE_PCT = {
    AcidKind.VINEGAR: (1.0, 35.0),
    AcidKind.CITRIC: (50.0, 100.0),
    AcidKind.HYDROCHLORIC: (1.0, 40.0),
    AcidKind.PHOSPHORIC: (1.0, 90.0),
    AcidKind.SODIUM_BISULFATE: (50.0, 100.0),
}
"""Weaker or stronger no container of this kind is: crystals and granules hold little else, and
hydrochloric acid fumes away over about 40 % (values from memory)."""
USUAL_PCT = {
    AcidKind.VINEGAR: (4.0, 10.0),
    AcidKind.CITRIC: (90.0, 100.0),
    AcidKind.HYDROCHLORIC: (10.0, 37.0),
    AcidKind.PHOSPHORIC: (25.0, 85.0),
    AcidKind.SODIUM_BISULFATE: (85.0, 100.0),
}
"""What is sold: common practice, no published source."""


def acids_fit_their_kind(setup: LineSetup) -> Found:
    """Yield a fault where no acid of the kind has the strength, as where the kind was changed."""
    for number, acid in enumerate(setup.acids):
        path = f"acids.{number}.strength_pct"
        least, most = POSSIBLE_PCT[acid.kind]
        if not math.isfinite(acid.strength_pct):
            continue
        try:
            acid_mol_per_unit(acid.kind, acid.strength_pct)
        except ChemistryError as refusal:
            yield refused(path, refusal)
        else:
            if not least <= acid.strength_pct <= most:
                yield _said(
                    "No {kind} has {strength}: it has {least} to {most}, and {usual} as it is "
                    "usually sold. Read the label again.",
                    path,
                    acid.kind,
                    acid.strength_pct,
                    (least, most),
                )


def unusual_acids(setup: LineSetup) -> Found:
    """Yield a question where an acid is sold otherwise as a rule."""
    for number, acid in enumerate(setup.acids):
        least, most = USUAL_PCT[acid.kind]
        possible = POSSIBLE_PCT[acid.kind]
        strength = acid.strength_pct
        if possible[0] <= strength <= possible[1] and not least <= strength <= most:
            yield _said(
                "{kind} of {strength}: does the label say so? It is usually sold with {usual}.",
                f"acids.{number}.strength_pct",
                acid.kind,
                strength,
                (least, most),
            )


_NAMES = {
    AcidKind.VINEGAR: "vinegar",
    AcidKind.CITRIC: "citric acid",
    AcidKind.HYDROCHLORIC: "hydrochloric acid",
    AcidKind.PHOSPHORIC: "phosphoric acid",
    AcidKind.SODIUM_BISULFATE: "sodium bisulfate",
}


def _said(
    text: str, path: str, kind: AcidKind, strength_pct: float, limits: tuple[float, float]
) -> SetupFault:
    return fault(
        path,
        text,
        kind=_NAMES[kind],
        strength=Figure(strength_pct, Kind.PERCENT),
        least=Figure(limits[0], Kind.PERCENT),
        most=Figure(limits[1], Kind.PERCENT),
        usual=Figure(ACIDS[kind].strength_pct, Kind.PERCENT),
    )
