"""What a column of a log may hold, and a first guess by its heading."""

import re
import unicodedata
from collections.abc import Mapping
from enum import StrEnum

from washmon.sessions.imported.log import Log
from washmon.units import Taste


class Field(StrEnum):
    """What a column holds."""

    SKIP = "skip"
    DATE = "date"
    TIME = "time"
    DATE_TIME = "date and time"
    TANK = "tank"
    FREE = "free chlorine"
    TOTAL = "total chlorine"
    PAA = "peracetic acid"
    PH = "pH"
    TURBIDITY = "turbidity"
    WATER = "water temperature"
    PULP = "pulp temperature"
    ORP = "ORP"
    BY = "initials"
    LOT = "lot"
    WEIGHT = "weight of a batch"
    BATCHES = "number of batches"
    DOSE = "sanitizer added"
    NOTE = "note"


# Words of headings in English and Spanish, the more telling first.
_WORDS: tuple[tuple[Field, str], ...] = (
    (Field.DATE_TIME, r"date ?/? ?(and )?time|timestamp|fecha ?(y )?hora"),
    (Field.DATE, r"\bdate\b|\bday\b|\bfecha\b|\bdia\b"),
    (Field.TIME, r"\btime\b|\bhour\b|\bhora\b"),
    (Field.PULP, r"\bpulp|\bpulpa"),
    (Field.PAA, r"\bpaa\b|peracetic|peracetico"),
    (Field.TOTAL, r"total"),
    (Field.WEIGHT, r"weight|\bkg\b|\blbs?\b|\bpeso\b"),
    (Field.BATCHES, r"batches|crates|\bcount\b|\btandas\b|\bcajas\b"),
    (Field.DOSE, r"dose|added|bleach|dosis|anadid"),
    (Field.FREE, r"ppm|free|chlorine|\bfac\b|\bcl2?\b|cloro|mg/l|sanitizer"),
    (Field.PH, r"\bph\b"),
    (Field.TURBIDITY, r"turbid|\bntu\b|turbiedad"),
    (Field.WATER, r"temp|°c|°f|\bwater\b|\bagua\b"),
    (Field.ORP, r"\borp\b|\bmv\b|redox"),
    (Field.TANK, r"tank|sink|flume|\bline\b|\btub\b|tanque|\btina\b"),
    (Field.LOT, r"\blots?\b|lot ?(no|#|number|code)|\blote\b"),
    (Field.BY, r"initial|\bby\b|operator|\bname\b|worker|inicial|operador|nombre|\bquien\b"),
    (Field.NOTE, r"note|comment|remark|action|nota|observ|coment"),
)


def guess(log: Log) -> dict[int, Field]:
    """Return what each column may hold by its heading; each field once, the rest is skipped."""
    found: dict[int, Field] = dict.fromkeys(range(log.width), Field.SKIP)
    for field, words in _WORDS:
        for at, head in enumerate(log.heads):
            if found[at] is Field.SKIP and re.search(words, _plain(head)):
                found[at] = field
                break
    return found


def guess_taste(log: Log, columns: Mapping[int, Field], usual: Taste) -> Taste:
    """Return the units that the headings name, else the usual ones."""
    heads = " ".join(
        _plain(head)
        for at, head in enumerate(log.heads)
        if columns.get(at) in {Field.WATER, Field.PULP, Field.WEIGHT}
    )
    if re.search(r"°f|\(f\)|\bf\b|\blbs?\b|pounds", heads):
        return Taste.US
    return Taste.METRIC if re.search(r"°c|\(c\)|\bkg\b", heads) else usual


_NUMBER_FIELDS = {
    Field.FREE, Field.TOTAL, Field.PAA, Field.PH, Field.TURBIDITY, Field.WATER, Field.PULP,
    Field.ORP, Field.WEIGHT, Field.DOSE,
}  # fmt: skip


def decimal_signs(log: Log, columns: Mapping[int, Field]) -> tuple[str, ...]:
    """Return which decimal signs its numbers can have; ask where there are two."""
    numbers = [
        text for at, field in columns.items() if field in _NUMBER_FIELDS for text in log.column(at)
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
