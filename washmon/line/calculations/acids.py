"""The acids that calculations ask for, as they are named and sold."""

from washmon.chemistry.acid import ACIDS, AcidKind, is_solid
from washmon.line.calculations.asking import Answers, Choice, Field, OnlyWhere, between
from washmon.line.setup import LineSetup, Tank
from washmon.units import Kind

CARBON_DIOXIDE = "carbon_dioxide"
ACID_WORDS = {
    AcidKind.VINEGAR.value: "White vinegar",
    AcidKind.CITRIC.value: "Citric acid, dry",
    AcidKind.PHOSPHORIC.value: "Phosphoric acid",
    AcidKind.HYDROCHLORIC.value: "Hydrochloric (muriatic) acid",
    AcidKind.SODIUM_BISULFATE.value: "Sodium bisulfate, dry",
    CARBON_DIOXIDE: "Carbon dioxide gas",
}
THE_ACID = "The acid"
SOLID_ACIDS = frozenset(kind.value for kind in AcidKind if is_solid(kind))
_WITH_DENSITY = frozenset(kind.value for kind, facts in ACIDS.items() if facts.density_kg_l)
_LIQUID_OR_DRY = frozenset(kind.value for kind in AcidKind)

KIND = Field(
    "kind",
    "Acid",
    choices=tuple(Choice(key, words) for key, words in ACID_WORDS.items()),
    group=THE_ACID,
    usual=AcidKind.VINEGAR.value,
)


def strength_field(key: str, chooser: str) -> Field:
    """Return the question for an acid's strength, asked where ``chooser`` names a bottle."""
    return Field(
        key,
        "Strength of the acid",
        Kind.PERCENT,
        group=THE_ACID,
        hint="Left empty: as it is usually sold.",
        optional=True,
        check=between("strength", 1e-3, 100.0, "%"),
        only=(OnlyWhere(chooser, _LIQUID_OR_DRY),),
    )


def density_field(key: str, chooser: str) -> Field:
    """Return the question for an acid's density, asked where the strength needs one."""
    return Field(
        key,
        "Density of the acid",
        Kind.DENSITY,
        group=THE_ACID,
        hint="Left empty: the usual one.",
        optional=True,
        check=between("density of the acid", 0.95, 1.9, "kg/L"),
        only=(OnlyWhere(chooser, _WITH_DENSITY),),
    )


def strength_used(answers: Answers, kind: AcidKind, key: str) -> float:
    """Return the strength, %, that was given or is usually sold."""
    given = answers.maybe(key)
    return ACIDS[kind].strength_pct if given is None else given


def known_acid(setup: LineSetup, tank: Tank) -> dict[str, float | str | None]:
    """Return what the set-up says of the tank's acid."""
    acid = setup.acid(tank.acid)
    return {} if acid is None else {"kind": acid.kind.value, "strength": acid.strength_pct}
