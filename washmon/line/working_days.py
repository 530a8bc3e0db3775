"""Working days between two days: Monday to Friday; public holidays are not known and count."""

from datetime import date, timedelta

REVIEW_WITHIN = 7
"""Working days after its making within which a record of monitoring or of corrective action is
reviewed: 21 CFR 117.165 (value from memory)."""
_SATURDAY = 5


def working_days(made: date, done: date) -> int:
    """Return the working days after the day of making, up to and with the day of doing.

    A negative span has none.
    """
    days = (made + timedelta(days=one) for one in range(1, (done - made).days + 1))
    return sum(day.weekday() < _SATURDAY for day in days)
