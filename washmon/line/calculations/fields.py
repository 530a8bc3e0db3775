"""Questions that several calculations ask in the same words.

The acids that calculations ask for, as they are named and sold.
"""

from washmon.chemistry.acid import ACIDS, AcidKind, is_solid
from washmon.chemistry.checks import require_water
from washmon.chemistry.hypochlorite import HIGHEST_LEVEL_MG_L
from washmon.chemistry.speciation import COLDEST_C, HOTTEST_C
from washmon.chemistry.titration import USUAL_SOURCE_PH
from washmon.chemistry.water import HIGHEST_ALKALINITY_MG_L
from washmon.line.calculations.asking import Answers, Choice, Field, OnlyWhere, between
from washmon.line.events import Method
from washmon.line.setup import LineSetup, Tank
from washmon.units import Kind

THE_TANK, THE_PRODUCT = "The tank", "The product"
IF_KNOWN = "If known: what it does to the pH"
AS_CACO3 = "mg/L as CaCO₃"

level_check = between("present level", 0.0, HIGHEST_LEVEL_MG_L, "ppm")

VOLUME = Field("volume", "Water in the tank", Kind.VOLUME, group=THE_TANK, check=require_water)
LEVEL = Field(
    "from",
    "Free chlorine now",
    Kind.CONCENTRATION,
    group=THE_TANK,
    hint="As read; fresh water 0.",
    check=level_check,
)
METHOD = Field(
    "method",
    "Read with",
    choices=(
        Choice(Method.STRIP, "Strip"),
        Choice(Method.KIT, "Kit"),
        Choice(Method.METER, "Meter"),
    ),
    group=THE_TANK,
    usual=Method.KIT.value,
)
TARGET = Field(
    "to",
    "Target",
    Kind.CONCENTRATION,
    group=THE_TANK,
    check=between("target", 0.0, HIGHEST_LEVEL_MG_L, "ppm"),
)
PH = Field("ph", "pH now", Kind.PH, group=THE_TANK, check=between("pH", 2.0, 12.5))
TEMPERATURE = Field(
    "temperature",
    "Water temperature",
    Kind.TEMPERATURE,
    group=THE_TANK,
    usual=20.0,
    check=between("temperature of the water", COLDEST_C, HOTTEST_C, "°C"),
)
ALKALINITY = Field(
    "alkalinity",
    "Alkalinity of the fresh water",
    Kind.CONCENTRATION,
    group=IF_KNOWN,
    unit=AS_CACO3,
    optional=True,
    check=between("alkalinity", 0.0, HIGHEST_ALKALINITY_MG_L, "mg/L"),
)
SOURCE_PH = Field(
    "source-ph",
    "pH of the fresh water",
    Kind.PH,
    group=IF_KNOWN,
    usual=USUAL_SOURCE_PH,
    check=between("pH of the source water", 4.0, 11.0),
)


def known_level(_setup: LineSetup, tank: Tank) -> dict[str, float | str | None]:
    """Return the volume and the target of a tank."""
    return {"volume": tank.volume_l, "to": tank.chlorine.target_mg_l}


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
