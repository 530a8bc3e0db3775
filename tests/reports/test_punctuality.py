"""Checks in time, counted by hand from told shifts."""

from datetime import date, timedelta

import pytest
from msgspec.structs import replace

from tests.shed import START, Shed, a_setup, a_tank
from washmon.line.events import Corrected, ReadingTaken, ShiftEnded
from washmon.line.fold import fold
from washmon.reports.punctuality import NOBODY, Check, Punctual, by_person, checks, checks_in
from washmon.reports.tables import TABLES


def a_shed(check_minutes: float | None = 30.0, check_batches: int | None = 6) -> Shed:
    """A tank that was filled at 7:00 and read at 7:05."""
    tank = a_tank(1, "Dunk", check_minutes=check_minutes, check_batches=check_batches)
    shed = Shed(a_setup(tank))
    shed.fill()
    shed.wait(5)
    return read(shed, "RM")


def read(shed: Shed, by: str) -> Shed:
    shed.tell(ReadingTaken(at=shed.now, by=by, tank=1, fac_mg_l=50.0))
    return shed


def end(shed: Shed) -> list[Check]:
    shed.tell(ShiftEnded(at=shed.now, by="RM"))
    found = checks(shed.shift)
    assert checks_in(shed.shift.chain, shed.shift.entries) == found
    return found


def late(found: list[Check]) -> list[tuple[str, float]]:
    return [(one.by, one.late_min) for one in found]


def test_a_check_within_its_minutes_is_in_time_and_one_after_them_is_late() -> None:
    shed = a_shed(check_batches=None)
    read(shed.wait(30), "TK")  # on the minute
    read(shed.wait(32), "TK")  # within the two minutes before it is flagged
    read(shed.wait(41), "RM")
    found = end(shed)
    assert late(found) == [("TK", 0), ("TK", 0), ("RM", 11)]
    assert found[0].due_at == START + timedelta(minutes=35)


def test_batches_make_a_check_due_before_its_minutes_are_over() -> None:
    shed = a_shed()
    shed.wash(6)  # the sixth at 7:17
    read(shed.wait(1), "TK")
    shed.wash(7)  # the sixth at 7:30
    read(shed.wait(3), "TK")
    assert late(end(shed)) == [("TK", 0), ("TK", 5)]


def test_an_early_check_settles_the_next_one() -> None:
    shed = a_shed()
    for _ in range(3):
        shed.wash(2)
        read(shed.wait(1), "TK")
    assert late(end(shed)) == [("TK", 0), ("TK", 0), ("TK", 0)]


def test_a_check_that_nobody_took_stands_with_nobody() -> None:
    shed = a_shed(check_batches=None)
    shed.wait(90)
    assert late(end(shed)) == [(NOBODY, 60)]


def test_what_was_not_due_before_the_water_went_is_not_missed() -> None:
    shed = a_shed(check_batches=None)
    shed.wait(31).fill()
    shed.wait(5)
    read(shed, "RM")
    shed.wait(10)
    assert end(shed) == []


def test_the_time_that_a_second_fill_waited_is_nobodys_lateness() -> None:
    shed = a_shed(check_batches=None)
    shed.fill(1, 400.0, second=True)
    shed.tell(ReadingTaken(at=shed.now, by="TK", tank=1, fac_mg_l=50.0, second=True))
    read(shed.wait(30), "RM")
    shed.wait(25).swap()
    read(shed.wait(40), "TK")  # 65 min after it was measured, 40 after the swap
    assert late(end(shed)) == [("RM", 0), ("TK", 10)]


def test_batches_of_the_next_fill_make_no_check_of_the_last_one_due() -> None:
    shed = a_shed(check_minutes=None)
    shed.wash(5)
    shed.fill()
    shed.wash(3)
    assert end(shed) == []


def test_a_reading_of_something_else_is_no_check() -> None:
    shed = a_shed(check_batches=None)
    shed.wait(20)
    shed.tell(ReadingTaken(at=shed.now, by="TK", tank=1, ph=7.0))
    read(shed.wait(20), "RM")
    assert late(end(shed)) == [("RM", 10)]


def test_a_corrected_time_counts_as_corrected() -> None:
    shed = a_shed(check_batches=None)
    shed.wait(50)
    wrong = shed.tell(ReadingTaken(at=shed.now, by="TK", tank=1, fac_mg_l=50.0))
    assert isinstance(wrong.event, ReadingTaken)
    right = replace(wrong.event, at=shed.now - timedelta(minutes=25))
    shed.tell(Corrected(at=shed.now, by="RM", entry=wrong.seq, reason="time", instead=right))
    assert late(end(shed))[0] == ("TK", 0)


@pytest.mark.parametrize("changes", [{"practice": True}, {"imported": "log.csv"}])
def test_practice_and_imported_shifts_say_nothing_about_people(changes: dict[str, object]) -> None:
    shed = a_shed()
    read(shed.wait(60), "TK")
    first, *rest = shed.shift.entries
    started = replace(shed.shift.started, **changes)
    assert checks(fold("other", [replace(first, event=started), *rest])) == []


def check(days: int, by: str, late_min: float, line: str = "Leaf line") -> Check:
    return Check(line, 1, START + timedelta(days=days), by, late_min)


def test_a_week_of_a_person_has_its_share_and_the_median_of_what_was_late() -> None:
    # START is Thursday, 7 May 2026.
    found = [
        check(0, "TK", 0),
        check(0, "TK", 4),
        check(1, "TK", 10),
        check(1, "RM", 0),
        check(1, NOBODY, 30),
        check(4, "TK", 6),
        check(1, "TK", 99, line="Root line"),
    ]
    may_4, may_11 = date(2026, 5, 4), date(2026, 5, 11)
    assert by_person(found, "Leaf line") == [
        Punctual(may_4, "RM", 1, 1, None),
        Punctual(may_4, "TK", 3, 1, 7.0),
        Punctual(may_4, NOBODY, 1, 0, 30.0),
        Punctual(may_11, "TK", 1, 0, 6.0),
    ]


def test_no_export_has_a_column_of_it() -> None:
    names = {column.name for table in TABLES for column in table.columns}
    assert not [name for name in names if "punctual" in name or "late" in name or "in_time" in name]
