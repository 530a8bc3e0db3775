"""Working days between two days, by the calendar of the site."""

from datetime import date, datetime
from enum import StrEnum

from msgspec import Struct

REVIEW_WITHIN = 7
"""Working days after its making within which a record of monitoring or of corrective action is
reviewed: 21 CFR 117.165 (value from memory)."""
WARNED_AT = 5
"""Working days from which on a record that waits for its review is pointed out; common practice,
no published source."""


class Weekday(StrEnum):
    """The days of the week, in the order of ISO 8601."""

    MONDAY = "Monday"
    TUESDAY = "Tuesday"
    WEDNESDAY = "Wednesday"
    THURSDAY = "Thursday"
    FRIDAY = "Friday"
    SATURDAY = "Saturday"
    SUNDAY = "Sunday"


WEEK = tuple(Weekday)


class WorkCalendar(Struct, frozen=True, kw_only=True):
    """When a site works: the days of the week, less the days on which it is closed."""

    worked: tuple[Weekday, ...] = WEEK[:5]
    closed: tuple[date, ...] = ()


USUAL = WorkCalendar()


def working_days(made: date, done: date, calendar: WorkCalendar = USUAL) -> int:
    """Return the working days after the day of making, up to and with the day of doing.

    A negative span has none.
    """
    span = (done - made).days
    if span <= 0:
        return 0
    weeks, rest = divmod(span, len(WEEK))
    over = (WEEK[(made.weekday() + one) % len(WEEK)] for one in range(1, rest + 1))
    days = weeks * len(set(calendar.worked)) + sum(day in calendar.worked for day in over)
    closed = {day for day in calendar.closed if made < day <= done}
    return days - sum(WEEK[day.weekday()] in calendar.worked for day in closed)


def day_there(at: datetime, where: datetime) -> date:
    """Return the day of a moment by the clock that another one was told by."""
    return at.astimezone(where.tzinfo).date()
