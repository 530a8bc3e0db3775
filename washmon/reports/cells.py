"""What stands in a cell of a CSV file, and how it is written there and read back."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from math import isfinite
from typing import Generic, TypeVar

Cell = str | int | float | bool | datetime | date | None
T_contra = TypeVar("T_contra", contravariant=True)

# What spreadsheets take for the beginning of a formula, also in the full-width forms of East Asian
# keyboards (list after OWASP, "CSV Injection").
_RISKY = re.compile(r"'*(?:\s*[=+\-@＝＋－＠]|[\t\r\n])")
# Where a comma is the decimal sign, a spreadsheet splits at semicolons, inside of our quotes too.
_SPLIT = r"([;|\t\r\n][^\S\t\r\n]*)"
_RISKY_INSIDE = re.compile(_SPLIT + r"(?='*[=+\-@＝＋－＠])")
_BARE = re.compile(_SPLIT + r"[=+\-@＝＋－＠]")
_MOST_EXACT = 1e15
"""A float above this has no decimals."""


@dataclass(frozen=True, slots=True)
class Column(Generic[T_contra]):
    """One column: its name with the unit in it, what it means, and where its cells come from."""

    name: str
    meaning: str
    cell: Callable[[T_contra], Cell]


def written(cell: Cell) -> str:
    """Return a cell as it stands in the file.

    Times are ISO 8601 with offset, to the second, days ISO 8601; yes or no; numbers with a decimal
    point, at most six decimals and never an exponent. Text that a spreadsheet would run as a
    formula gets an apostrophe in front; numbers never do.
    """
    match cell:
        case None:
            return ""
        case bool():
            return "yes" if cell else "no"
        case datetime():
            return cell.isoformat(timespec="seconds")
        case int() | date():
            return str(cell)
        case float():
            return _number(cell)
    inside = _RISKY_INSIDE.sub(r"\1'", cell)
    return f"'{inside}" if _RISKY.match(inside) else inside


def is_harmless(rows: str) -> bool:
    """Return whether no cell in written rows begins a formula, wherever a spreadsheet splits them.

    Those that an earlier version wrote may.
    """
    return _BARE.search(rows) is None


def _number(value: float) -> str:
    if abs(value) >= _MOST_EXACT:
        return str(int(value)) if isfinite(value) else repr(value)
    text = format(round(Decimal(repr(value)), 6), "f")
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
