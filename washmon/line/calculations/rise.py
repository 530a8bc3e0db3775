"""What an amount of hypochlorite does to a tank."""

from math import hypot

from washmon.chemistry.hypochlorite import HIGHEST_LEVEL_MG_L, rise_from_solid_mg_l, rise_mg_l
from washmon.chemistry.uncertainty import LABEL_ERROR, VOLUME_ERROR
from washmon.line.calculations.asking import (
    YES,
    Answers,
    Field,
    FieldFault,
    Instead,
    beside,
    between,
)
from washmon.line.calculations.fields import LEVEL, THE_PRODUCT, VOLUME
from washmon.line.calculations.product import PRODUCT, Product, known_product, product_of
from washmon.line.calculations.result import (
    CHLORINE_WATER,
    Calculation,
    Known,
    Result,
    ResultLine,
    Value,
)
from washmon.line.flags import Caution
from washmon.line.message import Figure, Message, Values, ppm
from washmon.line.setup import LineSetup, Tank
from washmon.units import Kind, PlainError

ADDED = Field(
    "amount",
    "Amount of it",
    Kind.SMALL_VOLUME,
    group=THE_PRODUCT,
    check=between("amount added", 1e-6, 1e6),
    instead=Instead("solid", frozenset({YES}), Kind.MASS),
)

_HOW = "Rise = amount × strength ÷ volume of water: {amount} in {volume}, the volume added counted."


def compute(answers: Answers) -> Result:
    """Return the rise that an amount makes in clean water, with its range.

    Raises:
        FieldFault: it makes none.
    """
    volume_l, level, added = (answers.amount(key) for key in ("volume", "from", "amount"))
    product = product_of(answers)
    with beside("amount"):
        if product.solid:
            rise = float(rise_from_solid_mg_l(volume_l, added, product.strength))
        else:
            rise = float(rise_mg_l(volume_l, level, added, product.strength))
    if rise < 0:
        raise FieldFault(
            "strength", PlainError("This product is weaker than the water: it would thin it.")
        )
    error = hypot(VOLUME_ERROR, LABEL_ERROR)
    after, low, high = (level + rise * factor for factor in (1.0, 1 - error, 1 + error))
    reached = _figures(after=after, low=low, high=high)
    went_in = Figure(added, Kind.MASS if product.solid else Kind.SMALL_VOLUME)
    return Result(
        headline=Message("It raises the water by about {rise}", {"rise": ppm(rise)}),
        then=Message("Clean water: dirt takes some of it. Read again before adding more."),
        lines=(
            ResultLine("From", Message("{level}", {"level": ppm(level)})),
            ResultLine("To about", Message("{after} ({low} to {high})", reached)),
        ),
        notes=(_TOO_MUCH,) if after > HIGHEST_LEVEL_MG_L else (),
        cautions=(Caution.HYPOCHLORITE, Caution.LABEL),
        how=(
            product.how(answers.circumstances.decimal_point),
            Message(_HOW, {"amount": went_in, "volume": Figure(volume_l, Kind.VOLUME)}),
        ),
        sources=(
            "Strength and mass balance: White, Handbook of Chlorination (1972)",
            "Errors of 5 % in the volume, 10 % in the label: common practice, no published source",
        ),
        data=_data(product, rise, after, low, high),
    )


def _data(product: Product, rise: float, after: float, low: float, high: float) -> dict[str, Value]:
    return {
        "rise_mg_l": rise,
        "level_after_mg_l": after,
        "level_after_low_mg_l": low,
        "level_after_high_mg_l": high,
        "available_chlorine": product.strength,
        "available_chlorine_unit": product.unit,
        "density_kg_l": product.density_kg_l,
        "density_guessed": product.guessed,
    }


_TOO_MUCH = Message("This is no wash water any more: check the amount and its unit.")


def _figures(**values: float) -> Values:
    return {name: ppm(value) for name, value in values.items()}


def known(setup: LineSetup, tank: Tank) -> Known:
    """Return what the set-up says of the tank and its product."""
    return {"volume": tank.volume_l, **known_product(setup, tank)}


RISE = Calculation(
    "rise",
    "What will this amount do?",
    "How far an amount of hypochlorite raises the level.",
    (VOLUME, LEVEL, *PRODUCT, ADDED),
    compute,
    known,
    of=CHLORINE_WATER,
)
