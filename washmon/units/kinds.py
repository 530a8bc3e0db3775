"""What can be measured, and the units in which people of either taste see it."""

from enum import StrEnum
from typing import NamedTuple


class UnitSystem(StrEnum):
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


class InUnit(NamedTuple):
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


class KindFacts(NamedTuple):
    """What holds of one kind: the family of its units, its base unit, an amount that shows how."""

    family: str
    base: str
    example: float
    """In the base unit."""
    metric: InUnit
    us: InUnit
    signed: bool = False
    """Whether it can be below 0."""


def _same(
    family: str, base: str, example: float, shown: InUnit, *, signed: bool = False
) -> KindFacts:
    return KindFacts(family, base, example, shown, shown, signed)


# Factors stand here so that showing a number needs no registry; a test holds them against it.
KINDS: dict[Kind, KindFacts] = {
    Kind.VOLUME: KindFacts(
        "a volume",
        "liter",
        832.790592,
        InUnit("liter", "L", most=0, fine_below=100),
        InUnit("gallon", "gal", 3.785411784, most=0, fine_below=100),
    ),
    Kind.SMALL_VOLUME: KindFacts(
        "a volume",
        "milliliter",
        118.29411825,
        InUnit("milliliter", "mL", most=0, fine_below=10),
        InUnit("fluid_ounce", "fl oz", 29.5735295625, most=1, fine_below=10),
    ),
    Kind.MASS: KindFacts(
        "a weight",
        "gram",
        56.69904625,
        InUnit("gram", "g", most=0, fine_below=10),
        InUnit("ounce", "oz", 28.349523125, most=1, fine_below=10),
    ),
    Kind.PRODUCE_MASS: KindFacts(
        "a weight",
        "kilogram",
        10.0,
        InUnit("kilogram", "kg", most=0, fine_below=100),
        InUnit("pound", "lb", 0.45359237, most=0, fine_below=100),
    ),
    Kind.LENGTH: KindFacts(
        "a length",
        "centimeter",
        60.96,
        InUnit("centimeter", "cm", most=0, fine_below=100),
        InUnit("inch", "in", 2.54, most=1, fine_below=10),
    ),
    Kind.TEMPERATURE: KindFacts(
        "a temperature",
        "degree_Celsius",
        10.0,
        InUnit("degree_Celsius", "°C", most=1),
        InUnit("degree_Fahrenheit", "°F", 5 / 9, -160 / 9, most=1),
        signed=True,
    ),
    Kind.TEMPERATURE_DIFFERENCE: KindFacts(
        "a temperature",
        "delta_degree_Celsius",
        50 / 9,
        InUnit("delta_degree_Celsius", "°C", most=1),
        InUnit("delta_degree_Fahrenheit", "°F", 5 / 9, most=1),
        signed=True,
    ),
    Kind.CONCENTRATION: _same(
        "a concentration", "ppm", 65.0, InUnit("ppm", "ppm", most=0, fine_below=10)
    ),
    Kind.STRENGTH: _same(
        "a concentration",
        "gram_per_liter",
        125.0,
        InUnit("gram_per_liter", "g/L", most=0, fine_below=100),
    ),
    Kind.DENSITY: _same(
        "a density",
        "kilogram_per_liter",
        1.2,
        InUnit("kilogram_per_liter", "kg/L", most=3, least=2),
    ),
    Kind.TIME: _same("a time", "minute", 30.0, InUnit("minute", "min", most=0, fine_below=10)),
    Kind.CONTACT_TIME: _same(
        "a time", "second", 90.0, InUnit("second", "s", most=0, fine_below=10)
    ),
    Kind.TURBIDITY: _same("a turbidity", "NTU", 40.0, InUnit("NTU", "NTU", most=0, fine_below=10)),
    Kind.POTENTIAL: _same("a voltage", "millivolt", 680.0, InUnit("millivolt", "mV"), signed=True),
    Kind.PERCENT: _same("a percentage", "percent", 12.5, InUnit("percent", "%", most=2)),
    Kind.PH: _same("a pH", "pH", 7.0, InUnit("pH", "", most=2, least=1)),
    Kind.COUNT: _same("a whole number", "piece", 12.0, InUnit("piece", "")),
    Kind.MONEY: _same("an amount of money", "piece", 12.5, InUnit("piece", "", most=2, least=2)),
}
SHOWN = {(kind, UnitSystem.METRIC): facts.metric for kind, facts in KINDS.items()} | {
    (kind, UnitSystem.US): facts.us for kind, facts in KINDS.items()
}
"""How each kind is shown to each taste."""
