"""Amounts as people write them."""

import re
from functools import cache

from washmon.units.errors import UnitError
from washmon.units.kinds import KINDS, SHOWN, Kind, UnitSystem
from washmon.units.registry import scale
from washmon.units.showing import MINUS, show
from washmon.units.spellings import SPELLINGS

_LONGEST = 40
_LARGEST = 1e9
_GLYPHS = {"¼": (1, 4), "½": (1, 2), "¾": (3, 4), "⅓": (1, 3), "⅔": (2, 3), "⅛": (1, 8)}
_GLYPHS |= {"⅜": (3, 8), "⅝": (5, 8), "⅞": (7, 8)}
_GROUPED = re.compile(r"[0-9]+(?:[.,'][0-9]+){2,}")
_PLUS = " + "
_SUMMED = {Kind.VOLUME, Kind.SMALL_VOLUME, Kind.MASS}


def parse(text: str, kind: Kind, taste: UnitSystem, decimal_point: str = ".") -> float:
    """Return what a person wrote, in the kind's base unit.

    A bare number has the taste's unit. Fractions (``1 1/2 tsp``, ``2¼ tsp``) are read; a mark
    for thousands is not, because it can be mistaken for a decimal sign. What was measured in two
    measures is a sum, each part with its unit: ``1 cup + 2 tbsp``.

    Args:
        text: as it was typed.
        kind: of the quantity.
        taste: which unit a bare number has.
        decimal_point: of the person who wrote it.

    Raises:
        UnitError: with a sentence that says what to write instead.
    """
    parts = text.split(_PLUS) if kind in _SUMMED else [text]
    if len(parts) > 1 and all(any(sign.isalpha() for sign in part) for part in parts):
        return sum(parse(part, kind, taste, decimal_point) for part in parts)
    match = _amount().fullmatch(_tidy(text, kind, taste, decimal_point))
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


@cache
def _amount() -> re.Pattern[str]:
    """Return the pattern of an amount; built at its first use, since start-up is measured."""
    return re.compile(
        r"(?P<sign>[-\u2212+]?)\s?"
        r"(?:(?:(?P<whole>[0-9]+)[ -])?(?P<top>[0-9]{1,4})\s?[/⁄]\s?(?P<bottom>[0-9]{1,4})"
        rf"|(?P<before>[0-9]+)?\s?(?P<glyph>[{''.join(_GLYPHS)}])"
        r"|(?P<number>[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+))"
        r"\s?(?P<unit>[^0-9\s][^0-9]*[3³]?)?"
    )


def _tidy(text: str, kind: Kind, taste: UnitSystem, decimal_point: str) -> str:
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


def _in_base(
    number: float, written: str | None, kind: Kind, taste: UnitSystem, point: str
) -> float:
    """Return the number, in the unit that was written with it, in the base unit of the kind."""
    shown, facts = SHOWN[kind, taste], KINDS[kind]
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


def _unreadable(text: str, kind: Kind, taste: UnitSystem, decimal_point: str) -> UnitError:
    return UnitError(
        "{text} cannot be read as {what}: write a number and its unit, such as {example}.",
        text=" ".join(text.split()),
        what=KINDS[kind].family,
        example=_example(kind, taste, decimal_point),
    )


def _example(kind: Kind, taste: UnitSystem, decimal_point: str) -> str:
    return show(KINDS[kind].example, kind, taste, decimal_point).replace("\N{NO-BREAK SPACE}", " ")


def _plain(number: float, decimal_point: str) -> str:
    return f"{number:g}".replace("-", MINUS).replace(".", decimal_point)
