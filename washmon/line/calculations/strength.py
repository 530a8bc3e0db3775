"""What the strength on a label means, in all the four ways it is written."""

from dataclasses import replace

from washmon.chemistry.hypochlorite import (
    StrengthBasis,
    available_chlorine_g_l,
    strength_value,
    typical_density_kg_l,
)
from washmon.line.calculations.asking import Answers, beside
from washmon.line.calculations.product import (
    BASIS,
    BASIS_WORDS,
    DENSITY,
    STRENGTH,
    known_product,
)
from washmon.line.calculations.result import CHLORINE_WATER, Calculation, Known, Result, ResultLine
from washmon.line.message import Figure, Message
from washmon.line.setup import LineSetup, SanitizerKind, Tank
from washmon.units import Kind


def compute(answers: Answers) -> Result:
    """Return a liquid's strength in each basis."""
    strength, basis = answers.amount("strength"), StrengthBasis(answers.choice("basis"))
    density, guessed = answers.maybe("density"), answers.maybe("density") is None
    with beside("strength"):
        if density is None:
            density = typical_density_kg_l(strength, basis)
        available = available_chlorine_g_l(strength, basis, density)
        values = {each: strength_value(available, each, density) for each in StrengthBasis}
    return Result(
        headline=Message(
            "{strength} of available chlorine", {"strength": _number(answers, available, "g/L")}
        ),
        lines=tuple(
            ResultLine(
                BASIS_WORDS[each], Message("{value}", {"value": _value(answers, value, each)})
            )
            for each, value in values.items()
        ),
        notes=_mistaken(answers, strength, basis, available),
        how=(
            Message(
                "One mole of hypochlorite counts as one mole of Cl2. A percent by weight counts "
                "in 100 g, a trade percent in 100 mL: the density of {density} is between them.",
                {"density": Figure(density, Kind.DENSITY)},
            ),
            *((_GUESSED,) if guessed else ()),
        ),
        sources=("Conversions: White, Handbook of Chlorination (1972); IUPAC atomic weights",),
        data={
            **{each.value: value for each, value in values.items()},
            "density_kg_l": density,
            "density_guessed": guessed,
        },
    )


_GUESSED = Message(
    "The density is the usual one for this strength: value from memory, good to 0.02 kg/L; the "
    "data sheet is better."
)


def _mistaken(
    answers: Answers, strength: float, basis: StrengthBasis, available: float
) -> tuple[Message, ...]:
    """Return how wrong a dose would be if the percent were taken for the other kind."""
    if basis is StrengthBasis.G_PER_L_AVAILABLE_CHLORINE:
        return ()
    if basis is StrengthBasis.TRADE_PCT:
        other = StrengthBasis.WEIGHT_PCT_NAOCL
        text = "Taken for a percent of sodium hypochlorite by weight it would be {other}: {off} %"
    else:
        other = StrengthBasis.TRADE_PCT
        text = "Taken for a trade percent it would be {other}: {off} %"
    with beside("strength"):
        mistaken = available_chlorine_g_l(strength, other, typical_density_kg_l(strength, other))
    off = round(100 * (mistaken / available - 1))
    text += " more, and doses too small." if off >= 0 else " less, and doses too large."
    return (Message(text, {"other": _number(answers, mistaken, "g/L"), "off": abs(off)}),)


def _value(answers: Answers, value: float, basis: StrengthBasis) -> str:
    if basis is StrengthBasis.G_PER_L_AVAILABLE_CHLORINE:
        return _number(answers, value, "g/L")
    return f"{answers.circumstances.number(value, 2)}\N{NO-BREAK SPACE}%"


def _number(answers: Answers, value: float, unit: str) -> str:
    return f"{answers.circumstances.number(value, 1)}\N{NO-BREAK SPACE}{unit}"


def known(setup: LineSetup, tank: Tank) -> Known:
    """Return the label of the tank's product, where it is a liquid."""
    product = setup.sanitizer(tank.sanitizer)
    if product is None or product.kind is not SanitizerKind.SODIUM:
        return {}
    return known_product(setup, tank)


LIQUID_BASIS = replace(BASIS, only=())
LIQUID_DENSITY = replace(DENSITY, only=())

STRENGTH_ON_A_LABEL = Calculation(
    "strength",
    "Strength on a label",
    "The same strength in the four ways that labels write it.",
    (STRENGTH, LIQUID_BASIS, LIQUID_DENSITY),
    compute,
    known,
    of=CHLORINE_WATER,
)
