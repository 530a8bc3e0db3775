"""Days and times as people write them in a log, and the hour that comes twice."""

import re
from collections.abc import Iterable
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from enum import StrEnum

from washmon.line.message import Message


class DateOrder(StrEnum):
    """Which number of 03/04/2026 is the day."""

    DAY_FIRST = "day first"
    MONTH_FIRST = "month first"
    YEAR_FIRST = "year first"


class Unclear(ValueError):  # noqa: N818 - says what it is
    """A day or a time that can't be read, with the reason as a message."""

    def __init__(self, message: Message) -> None:
        self.message = message
        super().__init__(message.text)


_NUMBERS = re.compile(r"(\d{1,4})[-/. ]+(\d{1,2})[-/. ]+(\d{1,4})")
_PACKED = re.compile(r"(\d{4})(\d{2})(\d{2})")
_NAMED = re.compile(
    r"(?:\w{2,10}\.?,? )?(\d{1,2})[-. ]*(?:de )?([^\W\d]{3,12})\.?,?[-. ]*(?:de )?(\d{2,4})"
)
_NAMED_FIRST = re.compile(r"(?:\w{2,10}\.?,? )?([^\W\d]{3,12})\.? (\d{1,2}),? (\d{2,4})")
_TIME = re.compile(
    r"(\d{1,2})(?:[:.h](\d{2})(?:[:.](\d{2})(?:\.\d+)?)?)? ?([ap])?\.? ?(?:m\.?)?", re.IGNORECASE
)
_PACKED_TIME = re.compile(r"([01]\d|2[0-3])([0-5]\d)")
_MONTHS = {
    name: number
    for number, names in enumerate(
        (
            "jan ene", "feb", "mar", "apr abr", "may", "jun",
            "jul", "aug ago", "sep set", "oct", "nov", "dec dic",
        ),
        1,
    )
    for name in names.split()
}  # fmt: skip
_NOON = 12
_MORNING, _EVENING = 8, 7
"""Hours: whoever writes 1 to 7 right after 8 or later hardly means the same night."""
_EARLIEST = date(1990, 1, 1)


def orders_of(texts: Iterable[str]) -> tuple[DateOrder, ...]:
    """Return in which order most of these days can be read; ask where there are several.

    Days in words, or no days at all, leave nothing to ask.
    """
    fits = dict.fromkeys(DateOrder, 0)
    told = False
    for text in texts:
        if parts := _NUMBERS.match(text.strip()):
            told = True
            for order in DateOrder:
                fits[order] += _fits(parts.groups(), order)
    if not told:
        return (DateOrder.YEAR_FIRST,)
    most = max(fits.values())
    return tuple(order for order, count in fits.items() if count == most and count)


def _fits(parts: tuple[str, ...], order: DateOrder) -> bool:
    try:
        _from_numbers(parts, order)
    except ValueError:
        return False
    return True


def day_of(text: str, order: DateOrder) -> date:
    """Return the day that a text names.

    Raises:
        Unclear: it names none, or one that no log is from.
    """
    tidy = " ".join(text.split())
    try:
        found = _day(tidy, order)
    except ValueError:
        found = None
    if found is None:
        raise Unclear(Message("{text} is no day that can be read.", {"text": tidy or "–"}))
    if found < _EARLIEST:
        raise Unclear(Message("{text} is too long ago: check the year.", {"text": tidy}))
    return found


def _day(text: str, order: DateOrder) -> date | None:
    if match := _NUMBERS.fullmatch(text):
        return _from_numbers(match.groups(), order)
    if match := _PACKED.fullmatch(text):
        return date(*(int(part) for part in match.groups()))
    if match := _NAMED.fullmatch(text):
        day, name, year = match.groups()
    elif match := _NAMED_FIRST.fullmatch(text):
        name, day, year = match.groups()
    else:
        return None
    month = _MONTHS.get(name[:3].casefold())
    return date(_year(year), month, int(day)) if month else None


def _from_numbers(parts: tuple[str, ...], order: DateOrder) -> date:
    first, second, third = parts
    if (order is DateOrder.YEAR_FIRST) != (len(first) > 2):  # noqa: PLR2004 - two digits
        raise ValueError(parts)
    if order is DateOrder.YEAR_FIRST:
        return date(int(first), int(second), int(third))
    day, month = (first, second) if order is DateOrder.DAY_FIRST else (second, first)
    return date(_year(third), int(month), int(day))


def _year(text: str) -> int:
    return int(text) + (2000 if len(text) <= 2 else 0)  # noqa: PLR2004 - two digits


def time_of(text: str) -> time:
    """Return the time of day that a text names, such as 7:15, 07.15, 0715 or 7:15 pm.

    Raises:
        Unclear: it names none.
    """
    tidy = " ".join(text.split())
    if match := _PACKED_TIME.fullmatch(tidy):
        return time(int(match[1]), int(match[2]))
    match = _TIME.fullmatch(tidy)
    if match is not None and (match[2] or match[4]):
        hour, minute, second = (int(match[at] or 0) for at in (1, 2, 3))
        half = (match[4] or "").casefold()
        if half and 1 <= hour <= _NOON:
            hour = hour % _NOON + (_NOON if half == "p" else 0)
        try:
            return time(hour, minute, second)
        except ValueError:
            pass
    raise Unclear(Message("{text} is no time of day that can be read.", {"text": tidy or "–"}))


def says_half(text: str) -> bool:
    """Tell whether a time of day says itself which half of the day it is of."""
    match = _TIME.fullmatch(" ".join(text.split()))
    return match is not None and bool(match[4])


def after_noon(naive: datetime, before: datetime) -> datetime:
    """Return a time of a twelve-hour clock, which comes after the row before if it can."""
    later = naive + timedelta(hours=_NOON)
    earlier_than_before = naive.date() == before.date() and naive < before
    return later if earlier_than_before and naive.hour < _NOON and later >= before else naive


def goes_back(rows: Iterable[tuple[str, str]]) -> bool:
    """Tell whether, day by day, times look as if those after noon began at 1 again.

    ``rows`` are days and times of day as they are written, a day left blank being that above it. A
    log that is written from the newest row up goes back all the time, and is not meant.
    """
    forth = back = turns = 0
    last: tuple[str, time] | None = None
    for day, clock in rows:
        try:
            at = time_of(clock)
        except Unclear:
            continue
        of = day or (last[0] if last else "")
        if last is not None and of == last[0] and at != last[1]:
            is_back = at < last[1]
            forth, back = forth + (not is_back), back + is_back
            turns += is_back and at.hour <= _EVENING and last[1].hour >= _MORNING
        last = (of, at)
    return turns > 0 and forth >= back - turns


def split_day_and_time(text: str) -> tuple[str, str]:
    """Return the two halves of a cell that holds both."""
    tidy = " ".join(text.replace("T", " ").split())
    match = re.match(r"(.*?)[ ,]+(\d{1,2}[:.h]\d{2}.*)", tidy)
    return (match[1], match[2]) if match else (tidy, "")


def placed(naive: datetime, zone: tzinfo | None, after: datetime | None) -> datetime:
    """Return a time of the shed's clock with its offset; ``zone`` None is that of this machine.

    Of an hour that comes twice it is the first, unless the row before (``after``) was later.

    Raises:
        Unclear: the clock never showed this time.
    """
    first, second = (_aware(naive.replace(fold=fold), zone) for fold in (0, 1))
    back = first.astimezone(UTC).astimezone(zone).replace(tzinfo=None, fold=0)
    if back != naive:
        raise Unclear(
            Message(
                "{time} did not come that day: the clocks went forward over it.",
                {"time": f"{naive:%H:%M}"},
            )
        )
    return second if after is not None and first < after <= second else first


def _aware(naive: datetime, zone: tzinfo | None) -> datetime:
    aware = naive.replace(tzinfo=zone) if zone else naive.astimezone()
    # A fixed offset, as the journal keeps it: comparing two times of one zone ignores the fold.
    return datetime.fromisoformat(aware.isoformat())
