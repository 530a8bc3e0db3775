"""The working volume of a tank from what was measured inside it."""

import math

from washmon.line.setup import InsideMeasurements, Shape
from washmon.units import PlainError

_CM3_PER_L = 1000.0
_LONGEST_CM = 10_000.0


class MeasurementError(PlainError):
    """A measurement that no tank can have; ``field`` names it, such as ``depth_cm``."""

    def __init__(self, field: str, template: str, **values: str) -> None:
        super().__init__(template, **values)
        self.field = field


def working_volume_l(measured: InsideMeasurements) -> float:
    """Return the volume of water, in litres, that stands in a tank.

    Lengths are inside lengths in centimetres, ``depth_cm`` is the depth of the water. A trough is a
    half-round channel lying on its back, so its cross-section is a segment of a circle.

    Raises:
        MeasurementError: a length is missing, not a length, or contradicts another one.
    """
    width = _length("width_cm", measured.width_cm)
    depth = _length("depth_cm", measured.depth_cm)
    if measured.shape is Shape.ROUND:
        if measured.length_cm is not None:
            raise MeasurementError(
                "length_cm", "A round tank has no length: measure straight across it."
            )
        return math.pi * width**2 / 4 * depth / _CM3_PER_L
    length = _length("length_cm", measured.length_cm)
    if measured.shape is Shape.RECTANGULAR:
        return width * length * depth / _CM3_PER_L
    return _segment_cm2(width / 2, depth) * length / _CM3_PER_L


def _segment_cm2(radius: float, depth: float) -> float:
    """Return the area of water in a half-round channel; for a full one, half a circle."""
    if depth > radius:
        raise MeasurementError(
            "depth_cm",
            "A half-round trough is at most half as deep as it is wide: "
            "measure the depth of the water again.",
        )
    above = radius - depth
    return radius**2 * math.acos(above / radius) - above * math.sqrt(depth * (2 * radius - depth))


def _length(field: str, value: float | None) -> float:
    """Return a length that a tank can have."""
    if value is None:
        raise MeasurementError(field, "This length is needed: measure inside the tank.")
    if not math.isfinite(value) or value <= 0:
        raise MeasurementError(field, "A length inside the tank is more than nothing.")
    if value > _LONGEST_CM:
        raise MeasurementError(field, "No tank is that long: check the number and its unit.")
    return value
