"""Amounts as people write and read them: the edge between text in any unit and plain floats."""

from washmon.units.errors import PlainError, UnitError
from washmon.units.kinds import KINDS, Kind, UnitSystem
from washmon.units.parsing import parse
from washmon.units.registry import registry, scale
from washmon.units.showing import MINUS, in_taste, rounded, show, symbol
from washmon.units.spellings import FAMILIES, SPELLINGS

__all__ = [
    "FAMILIES",
    "KINDS",
    "MINUS",
    "SPELLINGS",
    "Kind",
    "PlainError",
    "UnitError",
    "UnitSystem",
    "in_taste",
    "parse",
    "registry",
    "rounded",
    "scale",
    "show",
    "symbol",
]
