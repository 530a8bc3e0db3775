"""Amounts as people write them: the one pint registry, and the edge that parses and shows."""

import math
import re
from enum import StrEnum
from functools import cache
from typing import TYPE_CHECKING, Any, NamedTuple

from washmon.data import resource

if TYPE_CHECKING:
    from pint import UnitRegistry

MINUS = "\N{MINUS SIGN}"
_LONGEST = 40
_LARGEST = 1e9


class PlainError(ValueError):
    """A refusal in one plain sentence, kept as template and values so that it can be translated."""

    def __init__(self, template: str, **values: str) -> None:
        self.template = template
        self.values = values
        super().__init__(template.format(**values))


class UnitError(PlainError):
    """A text that is not an amount, or not one of the kind that is needed."""


class Taste(StrEnum):
    """The units a person likes to see and means when none is written."""

    METRIC = "metric"
    US = "us"


class Kind(StrEnum):
    """What is measured. The base unit, in which numbers travel inside the program, is beside it."""

    VOLUME = "volume"  # L
    SMALL_VOLUME = "small_volume"  # mL
    MASS = "mass"  # g
    PRODUCE_MASS = "produce_mass"  # kg
    LENGTH = "length"  # cm
    TEMPERATURE = "temperature"  # degC
    TEMPERATURE_DIFFERENCE = "temperature_difference"  # degC, converts by 5/9 only
    CONCENTRATION = "concentration"  # mg/L, shown as ppm
    STRENGTH = "strength"  # g/L
    DENSITY = "density"  # kg/L
    TIME = "time"  # min
    CONTACT_TIME = "contact_time"  # s
    TURBIDITY = "turbidity"  # NTU
    POTENTIAL = "potential"  # mV
    PERCENT = "percent"  # %
    PH = "ph"
    COUNT = "count"
    MONEY = "money"  # in the currency of the set-up


# What each family of units is called in a sentence, and the spellings of its units: the name in
# the registry, then what people write (English and Spanish), compared without upper and lower case.
FAMILIES = {
    "a volume": """
        liter: l liter liters litre litres litro litros
        milliliter: ml milliliter milliliters millilitre millilitres cc cm3 cm³ mililitro mililitros
        cubic_meter: m3 m³
        gallon: gal gal. gals gallon gallons galón galones
        quart: qt qt. qts quart quarts
        pint: pt pt. pts pint pints pinta pintas
        cup: cup cups taza tazas
        fluid_ounce: fl_oz floz fl.oz. fl._oz. fl_oz. fluid_ounce fluid_ounces onza_líquida
        tablespoon: tbsp tbsp. tbs tablespoon tablespoons cda cdas cucharada cucharadas
        teaspoon: tsp tsp. teaspoon teaspoons cdta cdtas cucharadita cucharaditas
        cubic_inch: in3 in³""",
    "a weight": """
        gram: g gram grams gramo gramos
        kilogram: kg kilo kilos kilogram kilograms kilogramo kilogramos
        milligram: mg
        pound: lb lb. lbs lbs. pound pounds libra libras
        ounce: oz oz. ounce ounces onza onzas""",
    "a length": """
        meter: m meter meters metre metres metro metros
        centimeter: cm
        millimeter: mm
        inch: in in. inch inches " ″ pulgada pulgadas
        foot: ft ft. foot feet ' ′ pie pies""",
    "a temperature": """
        degree_Celsius: °c c degc ºc
        degree_Fahrenheit: °f f degf ºf""",
    "a concentration": """
        ppm: ppm mg/l
        gram_per_liter: g/l""",
    "a density": """
        kilogram_per_liter: kg/l g/ml g/cm3 g/cm³
        pound_per_gallon: lb/gal""",
    "a time": """
        second: s sec second seconds segundo segundos
        minute: min minute minutes minuto minutos
        hour: h hr hrs hour hours hora horas""",
    "a turbidity": "NTU: ntu",
    "a voltage": """
        volt: v
        millivolt: mv""",
    "a percentage": "percent: % percent",
    "a pH": "pH: ph",
    "a whole number": "",
    "an amount of money": "",
}


class _Unit(NamedTuple):
    name: str
    family: str


def _spellings() -> dict[str, _Unit]:
    """Return each accepted spelling with the unit that it means."""
    found: dict[str, _Unit] = {}
    for family, lines in FAMILIES.items():
        for line in lines.strip().splitlines():
            name, _, texts = line.strip().partition(": ")
            for text in texts.split():
                found[text.replace("_", " ")] = _Unit(name, family)
    return found


SPELLINGS = _spellings()


class Shown(NamedTuple):
    """How one kind is shown to one taste: base = shown * factor + offset.

    ``most`` and ``least`` are decimals; below ``fine_below`` there is one decimal more.
    """

    unit: str
    symbol: str
    factor: float = 1.0
    offset: float = 0.0
    most: int = 0
    least: int = 0
    fine_below: float = 0.0


class _Facts(NamedTuple):
    family: str
    base: str
    example: float
    metric: Shown
    us: Shown
    signed: bool = False


def _same(family: str, base: str, example: float, shown: Shown, *, signed: bool = False) -> _Facts:
    return _Facts(family, base, example, shown, shown, signed)


# Factors stand here so that showing a number needs no registry; a test holds them against it.
KINDS: dict[Kind, _Facts] = {
    Kind.VOLUME: _Facts(
        "a volume",
        "liter",
        567.811767,
        Shown("liter", "L", most=0, fine_below=100),
        Shown("gallon", "gal", 3.785411784, most=0, fine_below=100),
    ),
    Kind.SMALL_VOLUME: _Facts(
        "a volume",
        "milliliter",
        118.29411825,
        Shown("milliliter", "mL", most=0, fine_below=10),
        Shown("fluid_ounce", "fl oz", 29.5735295625, most=1, fine_below=10),
    ),
    Kind.MASS: _Facts(
        "a weight",
        "gram",
        56.69904625,
        Shown("gram", "g", most=0, fine_below=10),
        Shown("ounce", "oz", 28.349523125, most=1, fine_below=10),
    ),
    Kind.PRODUCE_MASS: _Facts(
        "a weight",
        "kilogram",
        10.0,
        Shown("kilogram", "kg", most=0, fine_below=100),
        Shown("pound", "lb", 0.45359237, most=0, fine_below=100),
    ),
    Kind.LENGTH: _Facts(
        "a length",
        "centimeter",
        60.96,
        Shown("centimeter", "cm", most=0, fine_below=100),
        Shown("inch", "in", 2.54, most=1, fine_below=10),
    ),
    Kind.TEMPERATURE: _Facts(
        "a temperature",
        "degree_Celsius",
        9.0,
        Shown("degree_Celsius", "°C", most=1),
        Shown("degree_Fahrenheit", "°F", 5 / 9, -160 / 9),
        signed=True,
    ),
    Kind.TEMPERATURE_DIFFERENCE: _Facts(
        "a temperature",
        "delta_degree_Celsius",
        50 / 9,
        Shown("delta_degree_Celsius", "°C", most=1),
        Shown("delta_degree_Fahrenheit", "°F", 5 / 9, most=1),
        signed=True,
    ),
    Kind.CONCENTRATION: _same(
        "a concentration", "ppm", 50.0, Shown("ppm", "ppm", most=0, fine_below=10)
    ),
    Kind.STRENGTH: _same(
        "a concentration",
        "gram_per_liter",
        125.0,
        Shown("gram_per_liter", "g/L", most=0, fine_below=100),
    ),
    Kind.DENSITY: _same(
        "a density", "kilogram_per_liter", 1.2, Shown("kilogram_per_liter", "kg/L", most=3, least=2)
    ),
    Kind.TIME: _same("a time", "minute", 30.0, Shown("minute", "min", most=0, fine_below=10)),
    Kind.CONTACT_TIME: _same("a time", "second", 90.0, Shown("second", "s", most=0, fine_below=10)),
    Kind.TURBIDITY: _same("a turbidity", "NTU", 40.0, Shown("NTU", "NTU", most=0, fine_below=10)),
    Kind.POTENTIAL: _same("a voltage", "millivolt", 680.0, Shown("millivolt", "mV"), signed=True),
    Kind.PERCENT: _same("a percentage", "percent", 12.5, Shown("percent", "%", most=2)),
    Kind.PH: _same("a pH", "pH", 7.0, Shown("pH", "", most=2, least=1)),
    Kind.COUNT: _same("a whole number", "piece", 12.0, Shown("piece", "")),
    Kind.MONEY: _same("an amount of money", "piece", 12.5, Shown("piece", "", most=2, least=2)),
}
_SHOWN = {(kind, Taste.METRIC): facts.metric for kind, facts in KINDS.items()} | {
    (kind, Taste.US): facts.us for kind, facts in KINDS.items()
}

_GLYPHS = {"¼": (1, 4), "½": (1, 2), "¾": (3, 4), "⅓": (1, 3), "⅔": (2, 3), "⅛": (1, 8)}
_GLYPHS |= {"⅜": (3, 8), "⅝": (5, 8), "⅞": (7, 8)}
_AMOUNT = re.compile(
    r"(?P<sign>[-\u2212+]?)\s?"
    r"(?:(?:(?P<whole>[0-9]+)[ -])?(?P<top>[0-9]{1,4})\s?[/⁄]\s?(?P<bottom>[0-9]{1,4})"
    rf"|(?P<before>[0-9]+)?\s?(?P<glyph>[{''.join(_GLYPHS)}])"
    r"|(?P<number>[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+))"
    r"\s?(?P<unit>[^0-9\s][^0-9]*[3³]?)?"
)
_GROUPED = re.compile(r"[0-9]+(?:[.,'][0-9]+){2,}")


@cache
def registry() -> "UnitRegistry[Any]":
    """Return the one registry, built at its first use (about 0.2 s with pint's own import)."""
    import pint  # noqa: PLC0415 - start-up is measured, and most starts never need it

    return pint.UnitRegistry(resource("units.txt"))


@cache
def scale(unit: str, base: str) -> tuple[float, float]:
    """Return (factor, offset) such that base = value * factor + offset."""
    quantity = registry().Quantity
    offset = float(quantity(0.0, unit).to(base).magnitude)
    return float(quantity(1.0, unit).to(base).magnitude) - offset, offset


def symbol(kind: Kind, taste: Taste) -> str:
    """Return the unit that ``show`` writes, for a column's head; empty for pH and counts."""
    return _SHOWN[kind, taste].symbol


def in_taste(value: float, kind: Kind, taste: Taste) -> float:
    """Return a value of the kind's base unit in the unit that ``show`` writes, for a plot."""
    shown = _SHOWN[kind, taste]
    return (value - shown.offset) / shown.factor


def show(
    value: float,
    kind: Kind,
    taste: Taste,
    decimal_point: str = ".",
    *,
    decimals: int | None = None,
    with_unit: bool = True,
) -> str:
    """Return a value in the kind's base unit as text, such as ``48 ppm`` or ``\N{MINUS SIGN}2 °C``.

    ``decimals`` fixes the number of decimals where a column must line up; otherwise the kind's
    own rounding is used.

    Raises:
        UnitError: the value is not a finite number.
    """
    if not math.isfinite(value):
        raise UnitError("There is no number to show.")
    _, sign, factor, offset, most, least, fine_below = _SHOWN[kind, taste]
    shown = (value - offset) / factor
    if decimals is not None:
        most = least = decimals
    elif abs(shown) < fine_below:
        most += 1
    text = f"{shown:.{most}f}"
    if most > least:
        head, _, tail = text.partition(".")
        tail = tail.rstrip("0").ljust(least, "0")
        text = f"{head}.{tail}" if tail else head
    if text[0] == "-":
        text = MINUS + text[1:] if text.strip("-0.") else text[1:]
    if decimal_point != ".":
        text = text.replace(".", decimal_point)
    if not (with_unit and sign):
        return text
    return f"{text}\N{NO-BREAK SPACE}{sign}"


def parse(text: str, kind: Kind, taste: Taste, decimal_point: str = ".") -> float:
    """Return what a person wrote, in the kind's base unit.

    A bare number has the taste's unit. Fractions (``1 1/2 tsp``, ``2¼ tsp``) are read; a mark
    for thousands is not, because it can be mistaken for a decimal sign.

    Raises:
        UnitError: with a sentence that says what to write instead.
    """
    match = _AMOUNT.fullmatch(_tidy(text, kind, taste, decimal_point))
    if match is None:
        raise _unreadable(text, kind, taste, decimal_point)
    number = _number(match, text, decimal_point)
    base = _in_base(number, match["unit"], kind, taste, decimal_point)
    if base < 0 and not KINDS[kind].signed:
        raise UnitError("{text} is less than nothing: write an amount above 0.", text=text.strip())
    if abs(base) > _LARGEST:
        raise UnitError("{text} is far too large: check the number.", text=text.strip())
    if kind is Kind.COUNT and not base.is_integer():
        raise UnitError("A whole number is needed here, such as 12.")
    return base


def _tidy(text: str, kind: Kind, taste: Taste, decimal_point: str) -> str:
    """Return the text with single spaces, or refuse one that is empty, overlong or grouped."""
    tidy = " ".join(text.split())
    if not tidy:
        raise UnitError(
            "Nothing is written here: write {what}, such as {example}.",
            what=KINDS[kind].family,
            example=_example(kind, taste, decimal_point),
        )
    if len(tidy) > _LONGEST:
        raise UnitError(
            "That is too long for an amount: write only a number and its unit, such as {example}.",
            example=_example(kind, taste, decimal_point),
        )
    if grouped := _GROUPED.search(tidy):
        raise UnitError("Write {text} without a mark for thousands.", text=grouped.group())
    return tidy


def _number(match: re.Match[str], text: str, decimal_point: str) -> float:
    """Return the number of a matched amount."""
    if number := match["number"]:
        other = "," if decimal_point == "." else "."
        if other in number:
            raise UnitError(
                "Write {text} without a mark for thousands, and decimals as in {example}.",
                text=number,
                example=f"1{decimal_point}5",
            )
        value = float(number.replace(decimal_point, "."))
    else:
        whole = match["whole"] or match["before"] or "0"
        top, bottom = _GLYPHS.get(match["glyph"] or "", (match["top"], match["bottom"]))
        if int(bottom) == 0:
            raise UnitError("{text} divides by 0: write another fraction.", text=text.strip())
        value = int(whole) + int(top) / int(bottom)
    return -value if match["sign"] in {"-", MINUS} else value


def _in_base(number: float, written: str | None, kind: Kind, taste: Taste, point: str) -> float:
    """Return the number, in the unit that was written with it, in the base unit of the kind."""
    shown, facts = _SHOWN[kind, taste], KINDS[kind]
    if not written:
        return number * shown.factor + shown.offset
    unit = SPELLINGS.get(written.strip().lower())
    example = _example(kind, taste, point)
    if unit is None:
        raise UnitError(
            "The unit {unit} is not known here: write {what}, such as {example}.",
            unit=written.strip(),
            what=facts.family,
            example=example,
        )
    if unit.family != facts.family:
        raise UnitError(
            "{text} is {other}; {what} is needed here, such as {example}.",
            text=f"{_plain(number, point)} {written.strip()}",
            other=unit.family,
            what=facts.family,
            example=example,
        )
    name = unit.name
    if kind is Kind.TEMPERATURE_DIFFERENCE:
        name = f"delta_{name}"
    if name == shown.unit:
        return number * shown.factor + shown.offset
    factor, offset = scale(name, facts.base)
    return number * factor + offset


def _unreadable(text: str, kind: Kind, taste: Taste, decimal_point: str) -> UnitError:
    return UnitError(
        "{text} cannot be read as {what}: write a number and its unit, such as {example}.",
        text=" ".join(text.split()),
        what=KINDS[kind].family,
        example=_example(kind, taste, decimal_point),
    )


def _example(kind: Kind, taste: Taste, decimal_point: str) -> str:
    return show(KINDS[kind].example, kind, taste, decimal_point).replace("\N{NO-BREAK SPACE}", " ")


def _plain(number: float, decimal_point: str) -> str:
    return f"{number:g}".replace("-", MINUS).replace(".", decimal_point)
