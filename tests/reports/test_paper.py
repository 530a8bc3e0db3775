"""Tables on paper: a number that breaks is another number."""

from contextlib import closing
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.reports.paper_read import texts
from washmon.reports.paper import PaperSize, Running, Sheet, fitted

SIZES = st.floats(1, 60)


@given(st.lists(st.tuples(SIZES, SIZES), min_size=1, max_size=17))
def test_columns_keep_the_width_of_the_page_and_get_what_others_can_spare(
    columns: list[tuple[float, float]],
) -> None:
    widths, longest = zip(*columns, strict=True)
    given_to = fitted(widths, longest)
    assert sum(given_to) == pytest.approx(sum(widths))
    for width, need, got in zip(widths, longest, given_to, strict=True):
        assert got >= min(width, need) - 1e-9  # whoever gives keeps what it needs
        assert got <= max(width, need) + 1e-9


def test_no_number_and_no_date_breaks_where_another_column_has_room() -> None:
    with closing(
        Sheet(PaperSize.A4, Running("A", "b", "c"), datetime(2026, 6, 1, tzinfo=UTC), 1)
    ) as it:
        it.listing(
            ("Time", "kg", "Entry"),
            (1.0, 0.6, 20),
            [("2026-02-04 10:58", "16153.5", "a long entry " * 12)],
        )
        lines = texts(bytes(it.output()))[0].split()
    assert {"2026-02-04", "16153.5"} <= set(lines)


def test_a_hash_may_break_and_takes_no_room_from_others() -> None:
    assert fitted([10, 20, 150], [9, 20, 160]) == [10, 20, 150]
