"""The alkalinity of the water, from what its pH did after the last addition."""

from dataclasses import replace

from washmon.chemistry.acid import AcidKind, acid_mol_per_unit
from washmon.chemistry.hypochlorite import rise_mg_l
from washmon.chemistry.titration import (
    UNKNOWN_ALKALINITY,
    USUAL_SOURCE_PH,
    Alkalinity,
    alkalinity_from_response,
    tank_water,
)
from washmon.chemistry.water import Water, at_ph, with_acid, with_hypochlorite
from washmon.line.calculations.asking import (
    Answers,
    Choice,
    Field,
    Instead,
    OnlyWhere,
    beside,
    between,
)
from washmon.line.calculations.fields import (
    ACID_WORDS,
    CARBON_DIOXIDE,
    LEVEL,
    PH,
    SOLID_ACIDS,
    TEMPERATURE,
    THE_TANK,
    VOLUME,
    density_field,
    known_acid,
    strength_field,
)
from washmon.line.calculations.product import (
    BASIS,
    BY_WEIGHT,
    DENSITY,
    STRENGTH,
    known_product,
    product_of,
)
from washmon.line.calculations.result import CHLORINE_WATER, Calculation, Known, Result, ResultLine
from washmon.line.events import Method
from washmon.line.message import Message, Values
from washmon.line.reading import PH_ERROR
from washmon.line.setup import LineSetup, SanitizerKind, Tank
from washmon.units import Kind

HYPOCHLORITE = "hypochlorite"
THE_ADDITION = "What was added"

BLEACH = OnlyWhere("added", frozenset({HYPOCHLORITE}))
ADDED = Field(
    "added",
    "Added",
    choices=(
        *(Choice(key, words) for key, words in ACID_WORDS.items() if key != CARBON_DIOXIDE),
        Choice(HYPOCHLORITE, "Liquid hypochlorite"),
    ),
    group=THE_ADDITION,
    usual=AcidKind.VINEGAR.value,
)
AMOUNT = Field(
    "amount",
    "How much of it",
    Kind.SMALL_VOLUME,
    group=THE_ADDITION,
    check=between("amount added", 1e-6, 1e6),
    instead=Instead("added", SOLID_ACIDS, Kind.MASS),
)
PH_METHOD = Field(
    "ph-method",
    "pH read with",
    choices=(
        Choice(Method.STRIP, "Strip"),
        Choice(Method.KIT, "Kit"),
        Choice(Method.METER, "Meter"),
    ),
    group=THE_TANK,
    usual=Method.METER.value,
)

SOURCES = (
    "Carbonate balance: Stumm & Morgan, Aquatic Chemistry; Plummer & Busenberg (1982)",
    "Errors of pH readings: common practice, no published source",
)


def compute(answers: Answers) -> Result:
    """Return the alkalinity that a change of pH shows, with its range."""
    found = _found(answers)
    values: Values = {
        "best": round(found.best_mg_l),
        "low": round(found.low_mg_l),
        "high": round(found.high_mg_l),
    }
    wide = found.high_mg_l > 2 * found.low_mg_l
    moved = abs(answers.amount("ph-after") - answers.amount("ph-before"))
    return Result(
        headline=Message("About {best} mg/L as CaCO₃", values),
        then=Message("This is the fresh water, where the tank is not long in use."),
        lines=(
            ResultLine("Between", Message("{low} and {high} mg/L", values), notable=wide),
            ResultLine(
                "The pH moved by",
                Message("{moved}", {"moved": answers.circumstances.number(moved, 1)}),
            ),
        ),
        notes=(_WIDE,) if wide else (),
        how=(
            Message(
                "What was added is known, so is its acid or base: the smaller the move of the pH, "
                "the more carbonate held it. Each reading may be {error} off.",
                {"error": answers.circumstances.number(_ph_error(answers), 1)},
            ),
        ),
        sources=SOURCES,
        data={
            "alkalinity_mg_l": found.best_mg_l,
            "alkalinity_low_mg_l": found.low_mg_l,
            "alkalinity_high_mg_l": found.high_mg_l,
        },
        carry={
            "alkalinity": round(found.best_mg_l, 1),
            "alkalinity-low": round(found.low_mg_l, 1),
            "alkalinity-high": round(found.high_mg_l, 1),
        },
    )


def _found(answers: Answers) -> Alkalinity:
    first, last = answers.amount("ph-before"), answers.amount("ph-after")
    with beside("ph-before"):
        water = tank_water(
            UNKNOWN_ALKALINITY.best_mg_l,
            USUAL_SOURCE_PH,
            answers.amount("temperature"),
            answers.amount("chlorine"),
        )
        before = at_ph(water, first)
    after = _after(answers, before)
    with beside("ph-after"):
        return alkalinity_from_response(before, after, first, last, _ph_error(answers))


def _ph_error(answers: Answers) -> float:
    return PH_ERROR[Method(answers.choice("ph-method"))]


_WIDE = Message(
    "The range is wide: a larger move of the pH, or a meter in place of a strip, tells more."
)


def _after(answers: Answers, before: Water[float]) -> Water[float]:
    volume_l, amount = answers.amount("volume"), answers.amount("amount")
    added = answers.choice("added")
    with beside("amount"):
        if added == HYPOCHLORITE:
            product = product_of(answers)
            level = answers.amount("chlorine")
            rise = float(rise_mg_l(volume_l, level, amount, product.strength))
            return with_hypochlorite(before, rise)
        kind = AcidKind(added)
        per_unit = acid_mol_per_unit(
            kind, answers.maybe("acid-strength"), answers.maybe("acid-density")
        )
        return with_acid(before, kind, amount * per_unit / volume_l)


def known(setup: LineSetup, tank: Tank) -> Known:
    """Return what the set-up says of the tank, its acid and its product."""
    acid, product = known_acid(setup, tank), setup.sanitizer(tank.sanitizer)
    liquid = product is not None and product.kind is SanitizerKind.SODIUM
    return {
        "volume": tank.volume_l,
        "added": acid.get("kind"),
        "acid-strength": acid.get("strength"),
        **(known_product(setup, tank) if liquid else {}),
    }


ALKALINITY_FROM_RESPONSE = Calculation(
    "alkalinity",
    "Alkalinity from a response",
    "What the pH did after the last addition tells how much acid the water takes.",
    (
        VOLUME,
        replace(LEVEL, key="chlorine", label="Free chlorine before it"),
        replace(PH, key="ph-before", label="pH before it"),
        replace(PH, key="ph-after", label="pH after it, mixed in"),
        PH_METHOD,
        TEMPERATURE,
        ADDED,
        AMOUNT,
        replace(strength_field("acid-strength", "added"), group=THE_ADDITION),
        replace(density_field("acid-density", "added"), group=THE_ADDITION),
        replace(STRENGTH, group=THE_ADDITION, only=(BLEACH,)),
        replace(BASIS, group=THE_ADDITION, only=(BLEACH,)),
        replace(DENSITY, group=THE_ADDITION, only=(OnlyWhere("basis", BY_WEIGHT),)),
    ),
    compute,
    known,
    takes_over="acid",
    of=CHLORINE_WATER,
)
