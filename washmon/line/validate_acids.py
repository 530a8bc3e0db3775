"""What the containers of acid in a set-up must tell: a strength that acids of their kind have."""

import math

from washmon.chemistry.acid import ACIDS, AcidKind, acid_mol_per_unit
from washmon.chemistry.checks import ChemistryError
from washmon.line.message import Figure
from washmon.line.setup import LineSetup
from washmon.line.setup_fault import Found, SetupFault, fault, refused
from washmon.units import Kind

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
