"""Amounts as people read them."""

import math

from washmon.units.errors import UnitError
from washmon.units.kinds import SHOWN, Kind, UnitSystem

MINUS = "\N{MINUS SIGN}"


def symbol(kind: Kind, taste: UnitSystem) -> str:
    """Return the unit that ``show`` writes, for a column's head; empty for pH and counts."""
    return SHOWN[kind, taste].symbol


def in_taste(value: float, kind: Kind, taste: UnitSystem) -> float:
    """Return a value of the kind's base unit in the unit that ``show`` writes, for a plot."""
    shown = SHOWN[kind, taste]
    return (value - shown.offset) / shown.factor


def _decimals(shown: float, kind: Kind, taste: UnitSystem) -> int:
    """Return to how many decimals a number, in the unit that is written, is shown."""
    how = SHOWN[kind, taste]
    return how.most + (abs(shown) < how.fine_below)


def rounded(value: float, kind: Kind, taste: UnitSystem) -> float:
    """Return a value as exactly as ``show`` writes it, in the unit that it writes."""
    shown = in_taste(value, kind, taste)
    return round(shown, _decimals(shown, kind, taste))


def show(
    value: float,
    kind: Kind,
    taste: UnitSystem,
    decimal_point: str = ".",
    *,
    decimals: int | None = None,
    with_unit: bool = True,
) -> str:
    """Return a value in the kind's base unit as text, such as ``61 ppm`` or ``\N{MINUS SIGN}2 °C``.

    Args:
        value: in the kind's base unit.
        kind: of the quantity.
        taste: in whose units it is shown.
        decimal_point: of the person who reads it.
        decimals: how many, where a column must line up; else the kind's own rounding is used.
        with_unit: whether its unit stands behind it.

    Raises:
        UnitError: the value is not a finite number.
    """
    if not math.isfinite(value):
        raise UnitError("There is no number to show.")
    _, sign, _, _, most, least, _ = SHOWN[kind, taste]
    shown = in_taste(value, kind, taste)
    if decimals is not None:
        most = least = decimals
    else:
        most = _decimals(shown, kind, taste)
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
