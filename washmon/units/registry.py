"""The one pint registry, for units that nobody sees but some write."""

from functools import cache
from typing import TYPE_CHECKING, Any

from washmon.data import resource

if TYPE_CHECKING:
    from pint import UnitRegistry


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
