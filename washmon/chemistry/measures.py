"""An amount in the measure that a person owns, rounded to what they can measure with it."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

from washmon.chemistry.checks import ChemistryError, within

COARSE_ERROR = 0.10
MOST_FILLINGS = 20
_GOOD_ERROR = 0.05
_GLYPHS = {0.125: "⅛", 0.25: "¼", 0.375: "⅜", 0.5: "½", 0.625: "⅝", 0.75: "¾", 0.875: "⅞"}


class Caution(StrEnum):
    """Why a measured amount should make a person stop and think."""

    TOO_SMALL = "too_small"
    TOO_LARGE = "too_large"
    COARSE = "coarse"
    NOT_OWNED = "not_owned"


CAUTION_TEXT = {
    Caution.TOO_SMALL: "This is less than your smallest measure holds: use a smaller one.",
    Caution.TOO_LARGE: "This takes many fillings of your largest measure: use a larger one.",
    Caution.COARSE: "Your measures can only come near this amount: a finer one would be better.",
    Caution.NOT_OWNED: "None of your measures suits this product: enter one that does.",
}


class Measure(NamedTuple):
    """Something to measure with. ``step`` and ``capacity`` are in ``unit``.

    A spoon or cup is full or not (step = capacity); a cylinder or a scale can be read in between.
    """

    unit: str
    unit_size: float  # mL, or g for a scale
    step: float
    capacity: float
    solid: bool = False


_TSP, _TBSP, _CUP, _FL_OZ = 4.92892159375, 14.78676478125, 236.5882365, 29.5735295625

MEASURES = {
    "quarter_teaspoon": Measure("tsp", _TSP, 0.25, 0.25),
    "half_teaspoon": Measure("tsp", _TSP, 0.5, 0.5),
    "teaspoon": Measure("tsp", _TSP, 1, 1),
    "tablespoon": Measure("tbsp", _TBSP, 1, 1),
    "quarter_cup": Measure("cup", _CUP, 0.25, 0.25),
    "half_cup": Measure("cup", _CUP, 0.5, 0.5),
    "cup": Measure("cup", _CUP, 1, 1),
    "fluid_ounce_jug": Measure("fl oz", _FL_OZ, 0.5, 16),
    "cylinder_10_ml": Measure("mL", 1, 0.2, 10),
    "cylinder_100_ml": Measure("mL", 1, 1, 100),
    "cylinder_250_ml": Measure("mL", 1, 2, 250),
    "jug_1000_ml": Measure("mL", 1, 10, 1000),
    "bucket_10_l": Measure("L", 1000, 0.5, 10),
    "kitchen_scale": Measure("g", 1, 1, 5000, solid=True),
    "spoon_scale": Measure("g", 1, 0.1, 500, solid=True),
}
US_SET = (
    "quarter_teaspoon",
    "half_teaspoon",
    "teaspoon",
    "tablespoon",
    "quarter_cup",
    "half_cup",
    "cup",
    "kitchen_scale",
)
METRIC_SET = ("cylinder_10_ml", "cylinder_100_ml", "jug_1000_ml", "kitchen_scale")


@dataclass(frozen=True, slots=True)
class Measured:
    """An amount as it can be measured: ``count`` of ``unit``, which is really ``actual`` mL or g.

    ``error_fraction`` is (actual - asked) / asked.
    """

    count: float
    unit: str
    step: float
    unit_size: float
    actual: float
    error_fraction: float
    fillings: int
    caution: Caution | None = None

    def number(self, decimal_point: str = ".") -> str:
        """Return the count as a person reads it from the measure: ``2¼``, ``92``, ``0.4``."""
        return _count_text(self.count, self.unit, self.step, decimal_point)

    def describe(self, decimal_point: str = ".") -> str:
        """Return the amount in English: ``2¼ tsp``, ``1½ cups``, ``92 mL``."""
        return f"{self.number(decimal_point)}\N{NO-BREAK SPACE}{self._unit_text(self.count)}"

    def span(self, low: float, high: float, decimal_point: str = ".") -> str:
        """Return a range (mL or g) in the same measure, rounded outward: ``80–105 mL``."""
        steps_low = max(math.floor(low / self.unit_size / self.step + 1e-9), 0)
        steps_high = max(math.ceil(high / self.unit_size / self.step - 1e-9), steps_low)
        ends = [
            _count_text(steps * self.step, self.unit, self.step, decimal_point)
            for steps in (steps_low, steps_high)
        ]
        number = ends[0] if ends[0] == ends[1] else "–".join(ends)
        return f"{number}\N{NO-BREAK SPACE}{self._unit_text(steps_high * self.step)}"

    def _unit_text(self, count: float) -> str:
        return "cups" if self.unit == "cup" and count > 1 else self.unit


def in_measure(
    amount: float, owned: Iterable[str], *, solid: bool = False, never_more: bool = False
) -> Measured:
    """Return an amount (mL, or g of a solid) in the best of the measures owned.

    Best is within 5 % in the fewest fillings, else the nearest. ``never_more`` rounds down, for
    acid. A caution tells when no measure suits; there is always an amount, with TOO_SMALL the
    smallest that can be measured.

    Raises:
        ChemistryError: the amount is not above 0, or absurd.
    """
    if not within(amount, 1e-9, 1e9):
        raise ChemistryError("There is no amount to measure here: check the numbers entered.")
    usable = [m for name in owned if (m := MEASURES.get(name)) and m.solid == solid]
    if not usable:
        return _not_owned(amount, solid=solid)
    tried = [_measured(amount, measure, never_more=never_more) for measure in _joined(usable)]
    return min(tried, key=_awkwardness)


def _joined(usable: list[Measure]) -> list[Measure]:
    """Return the measures, with a set of spoons (or cups) of one unit as a single measure."""
    scoops: dict[str, Measure] = {}
    others = []
    for measure in usable:
        if measure.step < measure.capacity:
            others.append(measure)
        elif (known := scoops.get(measure.unit)) is None:
            scoops[measure.unit] = measure
        else:
            step, capacity = min(known.step, measure.step), max(known.capacity, measure.capacity)
            scoops[measure.unit] = known._replace(step=step, capacity=capacity)
    return [*scoops.values(), *others]


def _measured(amount: float, measure: Measure, *, never_more: bool) -> Measured:
    exact = amount / measure.unit_size / measure.step
    steps = math.floor(exact + 1e-6) if never_more else math.floor(exact + 0.5)
    caution = None
    if steps < 1:
        steps, caution = 1, Caution.TOO_SMALL
    count = steps * measure.step
    actual = count * measure.unit_size
    error = actual / amount - 1
    fillings = _fillings(count, measure)
    if fillings > MOST_FILLINGS:
        caution = Caution.TOO_LARGE
    elif caution is None and abs(error) > COARSE_ERROR:
        caution = Caution.COARSE
    return Measured(
        count, measure.unit, measure.step, measure.unit_size, actual, error, fillings, caution
    )


def _fillings(count: float, measure: Measure) -> int:
    """Return how often something is filled; a part of a spoon is one more filling."""
    return math.ceil(count / measure.capacity - 1e-9)


def _awkwardness(measured: Measured) -> tuple[int, int, float]:
    error = abs(measured.error_fraction)
    grade = {None: 0, Caution.COARSE: 2, Caution.TOO_LARGE: 3}.get(measured.caution, 4)
    if grade == 0 and error > _GOOD_ERROR:
        grade = 1
    return grade, measured.fillings if grade in {0, 3} else 0, error


def _not_owned(amount: float, *, solid: bool) -> Measured:
    """Return two significant figures of mL or g, for want of a measure."""
    step = 10.0 ** (math.floor(math.log10(amount)) - 1)
    count = round(amount / step) * step
    unit = "g" if solid else "mL"
    return Measured(count, unit, step, 1.0, count, count / amount - 1, 1, Caution.NOT_OWNED)


def _count_text(count: float, unit: str, step: float, decimal_point: str) -> str:
    if unit in {"tsp", "tbsp", "cup", "fl oz"}:
        whole = int(count)
        part = _GLYPHS.get(count - whole, "")
        return f"{whole}{part}" if whole or not part else part
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    return f"{count:.{decimals}f}".replace(".", decimal_point)
