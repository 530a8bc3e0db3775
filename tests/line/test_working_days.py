"""Working days by the calendar of a site, against numpy's."""

from datetime import date, timedelta

import numpy as np
from hypothesis import example, given
from hypothesis import strategies as st

from tests.shed import a_setup
from washmon.line.validate import faults
from washmon.line.working_days import WEEK, Weekday, WorkCalendar, working_days

DAYS = st.dates(date(2000, 1, 1), date(2100, 1, 1))


@given(
    DAYS,
    st.integers(0, 800),
    st.sets(st.sampled_from(WEEK), min_size=1),
    st.lists(st.integers(-20, 820), max_size=30),
)
@example(date(2026, 5, 4), 4, set(WEEK), [0, 4])  # closed on the first day, and on the last
def test_they_are_those_of_numpy(
    made: date, span: int, worked: set[Weekday], closed: list[int]
) -> None:
    # numpy.busday_count counts [begin, end): one day on, that is (made, done].
    done = made + timedelta(days=span)
    off = tuple(made + timedelta(days=one) for one in closed)
    expected = np.busday_count(
        made + timedelta(days=1),
        done + timedelta(days=1),
        weekmask=[day in worked for day in WEEK],
        holidays=list(off),
    )
    assert working_days(made, done, WorkCalendar(worked=tuple(worked), closed=off)) == expected


def test_a_span_that_goes_back_has_none() -> None:
    assert working_days(date(2026, 5, 8), date(2026, 5, 1)) == 0


def test_a_week_without_a_working_day_is_refused() -> None:
    empty = a_setup(calendar=WorkCalendar(worked=()))
    assert [one.path for one in faults(empty)] == ["calendar.worked"]
    many = tuple(date(2026, 1, 1) + timedelta(days=one) for one in range(1001))
    assert [one.path for one in faults(a_setup(calendar=WorkCalendar(closed=many)))] == [
        "calendar.closed"
    ]
