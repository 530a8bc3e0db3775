"""What a column of a log may hold, and a first guess by its heading."""

import re
import unicodedata
from collections.abc import Mapping
from enum import StrEnum

from washmon.line.quantities import BY_FIELD, QUANTITIES
from washmon.line.setup import LineSetup
from washmon.sessions.imported.log import Log
from washmon.units import Kind, UnitSystem


class LogField(StrEnum):
    """What a column holds, beside what is measured."""

    SKIP = "skip"
    DATE = "date"
    TIME = "time"
    DATE_TIME = "date and time"
    TANK = "tank"
    BY = "initials"
    LOT = "lot"
    WEIGHT = "weight of a batch"
    BATCHES = "number of batches"
    DOSE = "sanitizer added"
    NOTE = "note"


Holds = str
"""What a column holds: one of :class:`LogField`, or the name of a quantity."""
MEASURED = {one.name: one for one in QUANTITIES if one.heading}


def holds_of(text: str) -> Holds:
    """Return what a column holds by how it was kept or chosen.

    Raises:
        ValueError: this version knows nothing of the kind.
    """
    return text if text in MEASURED else LogField(text)


UNITS_OF_DOSES = {
    "ml": "mL", "l": "L", "floz": "fl oz", "cup": "cup", "gal": "gal", "g": "g", "kg": "kg",
    "lb": "lb",
}  # fmt: skip
"""In which units a bare number may be meant, by what headings call them. "oz" alone says too
little: of a liquid it is a measure, of a powder a weight."""


_UNIT = re.compile(r"\b(?:ml|l|fl\.? ?oz|cups?|gal|g|kg|lbs?)\b")

# Words of headings in English and Spanish, the more telling first.
_WORDS: tuple[tuple[Holds, str], ...] = (
    (LogField.DATE_TIME, r"date ?/? ?(and )?time|timestamp|fecha ?(y )?hora"),
    (LogField.DATE, r"\bdate\b|\bday\b|\bfecha\b|\bdia\b"),
    (LogField.TIME, r"\btime\b|\bhour\b|\bhora\b"),
    *((name, one.heading) for name, one in MEASURED.items() if not one.is_loose),
    (LogField.WEIGHT, r"weight|\bkg\b|\blbs?\b|\bpeso\b"),
    (LogField.BATCHES, r"batches|crates|\bcount\b|\btandas\b|\bcajas\b"),
    (LogField.DOSE, r"dose|added|bleach|dosis|anadid"),
    *((name, one.heading) for name, one in MEASURED.items() if one.is_loose),
    (LogField.TANK, r"tank|sink|flume|\bline\b|\btub\b|tanque|\btina\b"),
    (LogField.LOT, r"\blots?\b|lot ?(no|#|number|code)|\blote\b"),
    (LogField.BY, r"initial|\bby\b|operator|\bname\b|worker|inicial|operador|nombre|\bquien\b"),
    (LogField.NOTE, r"note|comment|remark|action|nota|observ|coment"),
)


_OF_TANKS = {*MEASURED, LogField.DOSE}
"""Of these a log may have a column for each tank."""
_IN_UNITS = {
    LogField.WEIGHT,
    *(name for name, one in MEASURED.items() if one.kind is Kind.TEMPERATURE),
}
"""Of these a heading tells which units a log is kept in."""
_NUMBERED = r"\b(?:tank|sink|flume|tub|tanque|tina) ?(?:no\.?|#|nr\.?)? ?(\d{1,3})\b"


def tanks_named(log: Log, setup: LineSetup) -> dict[int, int]:
    """Return which columns belong to one tank by their heading, such as "Tank 2 ppm"."""
    found: dict[int, int] = {}
    for at, head in enumerate(log.heads):
        for tank in setup.tanks:
            number = re.search(_NUMBERED, _plain(head))
            named = _plain(tank.name) in _plain(head)
            if named or (number and int(number[1]) == tank.number):
                found[at] = tank.number
                break
    return found


def guess(log: Log, setup: LineSetup) -> dict[int, Holds]:
    """Return what each column may hold by its heading; each field once, the rest is skipped.

    There may be many columns of notes.

    Where there are columns for each tank, each field is there once for each of them; a heading
    that says no more than the tank stands over the level of its sanitizer.
    """
    found: dict[int, Holds] = dict.fromkeys(range(log.width), LogField.SKIP)
    tanks = tanks_named(log, setup)
    taken: set[tuple[Holds, int | None]] = set()
    for field, words in _WORDS:
        for at, head in enumerate(log.heads):
            key = (field, tanks.get(at))
            fits = field in _OF_TANKS or at not in tanks
            again = key in taken and field is not LogField.NOTE
            if fits and found[at] is LogField.SKIP and not again and _says(words, head):
                found[at] = field
                taken.add(key)
    for at, number in tanks.items():
        level = BY_FIELD[setup.tank(number).level_field].name
        if found[at] is LogField.SKIP and (level, number) not in taken:
            found[at] = level
            taken.add((level, number))
    return found


def _says(words: str, head: str) -> bool:
    return re.search(words, _plain(head)) is not None


def guess_taste(log: Log, columns: Mapping[int, Holds], usual: UnitSystem) -> UnitSystem:
    """Return the units that the headings name, else the usual ones."""
    heads = " ".join(
        _plain(head) for at, head in enumerate(log.heads) if columns.get(at) in _IN_UNITS
    )
    if re.search(r"°f|\(f\)|\bf\b|\blbs?\b|pounds", heads):
        return UnitSystem.US
    return UnitSystem.METRIC if re.search(r"°c|\(c\)|\bkg\b", heads) else usual


def held_twice(columns: Mapping[int, Holds], tanks: Mapping[int, int]) -> Holds | None:
    """Return a field that two columns hold of the same tank, and that has room for one."""
    seen: set[tuple[Holds, int | None]] = set()
    for at, field in columns.items():
        key = (field, tanks.get(at))
        if field not in {LogField.SKIP, LogField.NOTE} and key in seen:
            return field
        seen.add(key)
    return None


def has_unit(text: str) -> bool:
    """Tell whether an amount names its unit."""
    return any(sign.isalpha() for sign in text)


def lacks_unit(log: Log, columns: Mapping[int, Holds]) -> bool:
    """Tell whether an amount that was added is written as a bare number."""
    return any(
        re.search(r"\d", text) and not has_unit(text)
        for at, field in columns.items()
        if field is LogField.DOSE
        for text in log.column(at)
    )


def dose_unit(log: Log, columns: Mapping[int, Holds]) -> str:
    """Return the unit that the headings of what was added name; empty where none, or several."""
    heads = [
        _plain(log.heads[at])
        for at, field in columns.items()
        if field is LogField.DOSE and at < len(log.heads)
    ]
    spelled = _UNIT.findall(" | ".join(heads))
    named = {one.replace(".", "").replace(" ", "").rstrip("s") for one in spelled}
    return UNITS_OF_DOSES[named.pop()] if len(named) == 1 else ""


def decimal_signs(log: Log, columns: Mapping[int, Holds]) -> tuple[str, ...]:
    """Return which decimal signs its numbers can have; ask where there are two."""
    numbers = [
        text
        for at, field in columns.items()
        if field in {*_OF_TANKS, LogField.WEIGHT}
        for text in log.column(at)
    ]
    points = any(re.search(r"\d\.\d", text) for text in numbers)
    commas = any(re.search(r"\d,\d", text) for text in numbers)
    if points and commas:
        return (".", ",")
    if commas:
        # 7,1 can't be but a decimal; 1,200 can be both.
        sure = any(re.search(r"\d,\d{1,2}(?!\d)|\d,\d{4}", text) for text in numbers)
        return (",",) if sure else (",", ".")
    return (".",)


def _plain(text: str) -> str:
    """Return a heading in lower case without accents."""
    bare = unicodedata.normalize("NFKD", text.casefold())
    return "".join(letter for letter in bare if not unicodedata.combining(letter))
