"""What a shed measures with: spoons, cups, jugs, cylinders, scales, and vessels of its own."""

import math
from functools import lru_cache
from typing import NamedTuple


class Measure(NamedTuple):
    """Something to measure with. ``step`` and ``capacity`` are in ``unit``.

    A spoon or cup is full or not (step = capacity); a cylinder or a scale can be read in between.
    """

    unit: str
    unit_size: float  # mL, or g for a scale
    step: float
    capacity: float
    solid: bool = False

    @property
    def is_scoop(self) -> bool:
        """Whether it is full or not."""
        return self.step >= self.capacity


UNIT_ML = {
    "mL": 1.0,
    "L": 1000.0,
    "tsp": 4.92892159375,
    "tbsp": 14.78676478125,
    "fl oz": 29.5735295625,
    "cup": 236.5882365,
    "qt": 946.352946,
    "gal": 3785.411784,
}
FRACTIONS = frozenset({"tsp", "tbsp", "fl oz", "cup", "qt", "gal"})
"""Units that are told in fractions."""


def _liquid(unit: str, step: float, capacity: float) -> Measure:
    return Measure(unit, UNIT_ML[unit], step, capacity)


MEASURES = {
    "quarter_teaspoon": _liquid("tsp", 0.25, 0.25),
    "half_teaspoon": _liquid("tsp", 0.5, 0.5),
    "teaspoon": _liquid("tsp", 1, 1),
    "tablespoon": _liquid("tbsp", 1, 1),
    "quarter_cup": _liquid("cup", 0.25, 0.25),
    "half_cup": _liquid("cup", 0.5, 0.5),
    "cup": _liquid("cup", 1, 1),
    "fluid_ounce_jug": _liquid("fl oz", 0.5, 16),
    "quart_jug": _liquid("qt", 0.25, 1),
    "gallon_jug": _liquid("gal", 0.25, 1),
    "syringe_1_ml": _liquid("mL", 0.05, 1),
    "cylinder_10_ml": _liquid("mL", 0.2, 10),
    "cylinder_100_ml": _liquid("mL", 1, 100),
    "cylinder_250_ml": _liquid("mL", 2, 250),
    "jug_1000_ml": _liquid("mL", 10, 1000),
    "jug_5_l": _liquid("L", 0.1, 5),
    "bucket_10_l": _liquid("L", 0.5, 10),
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

_OWN = "own"
_LARGEST = 1000.0


def own_measure(unit: str, capacity: float, step: float | None = None) -> str:
    """Return the name of a vessel of the shed's own: ``own:750:50:mL`` holds 750, marked by 50.

    Without a step it has no marks: full or not.
    """
    return f"{_OWN}:{capacity:g}:{capacity if step is None else step:g}:{unit}"


@lru_cache(maxsize=64)
def measure(name: str) -> Measure | None:
    """Return the measure of a name, a usual one or one of the shed's own; ``None``: not known."""
    if name in MEASURES:
        return MEASURES[name]
    kind, *parts = name.split(":")
    if kind != _OWN or len(parts) != len(("capacity", "step", "unit")) or parts[2] not in UNIT_ML:
        return None
    try:
        capacity, step = float(parts[0]), float(parts[1])
    except ValueError:
        return None
    is_one = math.isfinite(capacity) and 0 < step <= capacity <= _LARGEST
    return _liquid(parts[2], step, capacity) if is_one else None
