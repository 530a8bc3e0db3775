"""A spreadsheet log: what is read from it, what is asked, what can't be taken and why."""

import csv
import io
import os
import tracemalloc
from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import structs

from tests.gui.logbook.past import three_tanks
from tests.some import some
from washmon.line.events import (
    BatchWashed,
    DoseAdded,
    Event,
    NoteWritten,
    ReadingTaken,
    ShiftEnded,
    ShiftStarted,
    TankFilled,
)
from washmon.line.fold import fold
from washmon.line.journal import IMPORTED, encode, extend
from washmon.line.message import say
from washmon.line.setup import Price
from washmon.reports.summing import summarize
from washmon.reports.tables import SUMMARIES
from washmon.reports.trends import weeks
from washmon.sessions.imported.choices import Choices
from washmon.sessions.imported.log import HeadRow, Log, LogError, parse_log, read_log
from washmon.sessions.imported.log_columns import (
    MEASURED,
    LogField,
    decimal_signs,
    dose_unit,
    guess,
    guess_taste,
    held_twice,
    lacks_unit,
    tanks_named,
)
from washmon.sessions.imported.log_rows import (
    Changed,
    Left,
    TakenBefore,
    TakenRow,
    hold_against,
    take,
)
from washmon.sessions.imported.shifts import ImportedShift, shifts
from washmon.sessions.imported.when import (
    DateOrder,
    Unclear,
    day_of,
    goes_back,
    orders_of,
    placed,
    time_of,
)
from washmon.units import UnitSystem

NOW = datetime(2026, 12, 31, tzinfo=UTC)
ZONE = ZoneInfo("America/New_York")
PLAIN = """Date,Time,Tank,ppm,pH,Initials,Lot
2026-04-13,07:10,1,50,7.0,RM,L-1
2026-04-13,07:40,Second dunk,44,7.2,RM,L-1
2026-04-14,07:05,tank 1,18,7.9,TK,L-2
"""


def a_log(text: str = PLAIN) -> Log:
    return parse_log("old log.csv", text.encode())


def choices_for(log: Log, **changes: Any) -> Choices:
    usual = Choices(
        tanks=tanks_named(log, three_tanks()),
        columns=guess(log, three_tanks()),
        setup=three_tanks(),
        order=DateOrder.YEAR_FIRST,
        zone=ZONE,
        dose_unit=dose_unit(log, guess(log, three_tanks())),
    )
    return replace(usual, **changes)


def taken(log: Log, **changes: Any) -> list[TakenRow | Left]:
    return take(log, choices_for(log, **changes), NOW)


def why(row: TakenRow | Left) -> str:
    assert isinstance(row, Left)
    return say(row.why, UnitSystem.METRIC).replace("\N{NO-BREAK SPACE}", " ")


def events(row: TakenRow | Left) -> tuple[object, ...]:
    assert isinstance(row, TakenRow)
    return row.events


def made(text: str = PLAIN, **changes: Any) -> list[ImportedShift]:
    log = a_log(text)
    choices = choices_for(log, **changes)
    return shifts(log, take(log, choices, NOW), choices, "RM")


# -- the file ---------------------------------------------------------------------------------


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_separator_and_encoding_are_found(separator: str, encoding: str) -> None:
    text = "Fecha,Hora,Tanque,Cloro,pH,Inicial\n2026-04-13,07:10,Señal 1,50,7,JÑ\n"
    log = parse_log("a.csv", text.replace(",", separator).encode(encoding))
    assert log.separator == separator
    assert log.rows[0].cells[2] == "Señal 1"
    assert log.heads[0] == "Fecha"
    assert log.rows[0].number == 2


def test_a_file_without_headings_keeps_its_first_row() -> None:
    log = a_log("2026-04-13,07:10,1,50\n2026-04-13,07:20,1,48\n")
    assert log.heads == ()
    assert [row.number for row in log.rows] == [1, 2]


@pytest.mark.parametrize(
    ("body", "sentence"),
    [
        (b"", "There is nothing in a.csv"),
        (b"\n\n , ,\n", "There is nothing in a.csv"),
        (b"PK\x03\x04rest", "is a workbook: save it as CSV"),
        (b"abc\x00\x01\x02", "is no text"),
    ],
)
def test_what_is_no_log_is_told_in_one_sentence(body: bytes, sentence: str) -> None:
    with pytest.raises(LogError, match=sentence):
        parse_log("a.csv", body)


@pytest.mark.parametrize(
    ("body", "sentence"),
    [
        (b'"a,' * 30_000, "more columns or cells"),
        (b'"' + b"a" * 200_000 + b'"', "can't be read as CSV"),
        (b"," * 2_000_000, "more columns or cells"),
        (b"1,2\n" * 600_000, "more columns or cells"),
        (b"a" * 10_000_001, "too large for a log"),
    ],
)
def test_a_file_that_would_fill_the_memory_or_the_day_is_refused(
    body: bytes, sentence: str
) -> None:
    tracemalloc.start()
    with pytest.raises(LogError, match=sentence):
        parse_log("a.csv", body)
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert most < 400_000_000


@pytest.mark.parametrize(
    ("text", "separator"),
    [
        ("2026-04-13;07:10;7,1\n2026-04-13;07:20;7,2\n", ";"),
        ("Fecha;pH\n2026-04-13;7,1\n", ";"),
        ('Date,Note\n2026-04-13,"a; b; c"\n2026-04-14,"d; e; f"\n', ","),
        ("one column\nalone\n", ";"),
    ],
)
def test_a_decimal_comma_is_no_separator(text: str, separator: str) -> None:
    assert a_log(text).separator == separator


def test_a_pipe_is_no_log_and_nobody_waits_for_it(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "log.csv")
    with pytest.raises(LogError, match="it is no file"):
        read_log(tmp_path / "log.csv")


def test_a_file_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(LogError, match="can't be read"):
        read_log(tmp_path / "gone.csv")


# -- columns ----------------------------------------------------------------------------------


def names(columns: Mapping[int, str]) -> list[str]:
    """What columns hold: the names of ``Field``, or the fields of a reading."""
    of = {one.value: one.name for one in LogField} | {
        name: one.field for name, one in MEASURED.items()
    }
    return [of[holds] for holds in columns.values()]


@pytest.mark.parametrize(
    ("head", "fields"),
    [
        (
            "Date,Time,Tank,ppm,pH,Initials,Lot",
            "DATE TIME TANK fac_mg_l ph BY LOT",
        ),
        (
            "Fecha,Hora,Tanque,Cloro libre,pH,Iniciales,Lote,Observaciones",
            "DATE TIME TANK fac_mg_l ph BY LOT NOTE",
        ),
        (
            "Date/Time;Sink;Free Cl;Total Cl;Water temp (°F);Pulp temp (°F);Operator",
            "DATE_TIME TANK fac_mg_l total_mg_l water_c pulp_c BY",
        ),
        (
            "Day,Hour,PAA ppm,Turbidity NTU,ORP mV,Crates",
            "DATE TIME paa_mg_l turbidity_ntu orp_mv BATCHES",
        ),
    ],
)
def test_common_headings_are_known(head: str, fields: str) -> None:
    log = a_log(head + "\n" + "1,2,3\n")
    assert names(guess(log, three_tanks()))[: len(log.heads)] == fields.split()


def test_units_come_from_the_headings_or_are_the_usual_ones() -> None:
    for head, taste in (
        ("Water °F", UnitSystem.US),
        ("Water (C)", UnitSystem.METRIC),
        ("Water temp", None),
    ):
        log = a_log(f"Date,{head}\n2026-04-13,50\n")
        for usual in UnitSystem:
            assert guess_taste(log, guess(log, three_tanks()), usual) is (taste or usual)


@pytest.mark.parametrize(
    ("numbers", "signs"),
    [
        ("7.1 48", (".",)),
        ("7,1 48", (",",)),
        ("7 48", (".",)),
        ("1,200", (",", ".")),
        ("7.1 1,200", (".", ",")),
    ],
)
def test_a_decimal_sign_is_asked_for_only_where_it_is_open(
    numbers: str, signs: tuple[str, ...]
) -> None:
    rows = "\n".join(f"2026-04-13;{number}" for number in numbers.split())
    log = a_log(f"Date;ppm\n{rows}\n")
    assert decimal_signs(log, guess(log, three_tanks())) == signs


# -- days and times ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("days", "orders"),
    [
        (["03/04/2026"], (DateOrder.DAY_FIRST, DateOrder.MONTH_FIRST)),
        (["03/04/2026", "13/04/2026"], (DateOrder.DAY_FIRST,)),
        (["03/04/2026", "04/13/2026"], (DateOrder.MONTH_FIRST,)),
        (["2026-04-03"], (DateOrder.YEAR_FIRST,)),
        (["13/13/2026"], ()),
        (["31/04/2026", "03/04/2026", "13/04/2026"], (DateOrder.DAY_FIRST,)),  # one is wrong
        (["3 April 2026"], (DateOrder.YEAR_FIRST,)),
    ],
)
def test_the_order_of_days_is_asked_for_only_where_it_is_open(
    days: list[str], orders: tuple[DateOrder, ...]
) -> None:
    assert orders_of(days) == orders


@pytest.mark.parametrize(
    ("text", "order", "day"),
    [
        ("03/04/2026", DateOrder.DAY_FIRST, date(2026, 4, 3)),
        ("03/04/2026", DateOrder.MONTH_FIRST, date(2026, 3, 4)),
        ("3.4.26", DateOrder.DAY_FIRST, date(2026, 4, 3)),
        ("2026/4/3", DateOrder.YEAR_FIRST, date(2026, 4, 3)),
        ("20260403", DateOrder.DAY_FIRST, date(2026, 4, 3)),
        ("3-Apr-26", DateOrder.MONTH_FIRST, date(2026, 4, 3)),
        ("3 de abril de 2026", DateOrder.DAY_FIRST, date(2026, 4, 3)),
        ("Fri, April 3, 2026", DateOrder.DAY_FIRST, date(2026, 4, 3)),
    ],
)
def test_days_are_read_as_people_write_them(text: str, order: DateOrder, day: date) -> None:
    assert day_of(text, order) == day


@pytest.mark.parametrize("text", ["", "soon", "31/02/2026", "3/4", "03/04/1066", "5 foo 2026"])
def test_what_is_no_day_is_told(text: str) -> None:
    with pytest.raises(Unclear):
        day_of(text, DateOrder.DAY_FIRST)


@pytest.mark.parametrize(
    ("text", "clock"),
    [
        ("7:15", time(7, 15)),
        ("07.15", time(7, 15)),
        ("0715", time(7, 15)),
        ("7h15", time(7, 15)),
        ("7:15:30", time(7, 15, 30)),
        ("7:15 pm", time(19, 15)),
        ("12:05 a.m.", time(0, 5)),
        ("12:05 PM", time(12, 5)),
        ("7 am", time(7)),
    ],
)
def test_times_are_read_as_people_write_them(text: str, clock: time) -> None:
    assert time_of(text) == clock


@pytest.mark.parametrize("text", ["", "7", "25:00", "7:75", "noon"])
def test_what_is_no_time_is_told(text: str) -> None:
    with pytest.raises(Unclear):
        time_of(text)


def test_the_hour_that_comes_twice_goes_on_where_the_log_goes_back() -> None:
    # New York, 1 November 2026: 01:00 to 02:00 comes at UTC-04:00 and again at UTC-05:00.
    log = a_log(
        "Date,Time,Tank,ppm,Initials\n"
        "2026-11-01,01:10,1,50,RM\n2026-11-01,01:50,1,46,RM\n2026-11-01,01:20,1,44,RM\n"
    )
    found = [events(row)[0] for row in taken(log)]
    offsets = [one.at.isoformat()[-6:] for one in found if isinstance(one, ReadingTaken)]
    assert offsets == ["-04:00", "-04:00", "-05:00"]


def test_the_hour_that_never_came_is_refused() -> None:
    # New York, 8 March 2026: from 02:00 straight to 03:00.
    with pytest.raises(Unclear, match="did not come"):
        placed(datetime(2026, 3, 8, 2, 30), ZONE, None)  # noqa: DTZ001 - a clock on the wall


# -- rows -------------------------------------------------------------------------------------


def test_a_row_becomes_a_reading_and_the_lot_it_speaks_of() -> None:
    reading, note = events(taken(a_log())[0])
    assert isinstance(reading, ReadingTaken)
    assert (reading.tank, reading.fac_mg_l, reading.ph, reading.by) == (1, 50, 7.0, "RM")
    assert reading.at.isoformat() == "2026-04-13T07:10:00-04:00"
    assert isinstance(note, NoteWritten)
    assert "L-1" in note.text


def test_tanks_are_known_by_number_and_by_name() -> None:
    numbers = [
        one.tank for row in taken(a_log()) for one in events(row) if isinstance(one, ReadingTaken)
    ]
    assert numbers == [1, 2, 1]


def test_batches_doses_and_notes_are_taken_where_there_are_columns_for_them() -> None:
    log = a_log(
        "Date,Time,Tank,Lot,Weight lb,Crates,Bleach added,Comments,Initials\n"
        '2026-04-13,07:10,1,L-1,25,3,"120 mL","muddy, ""cold""",RM\n'
    )
    found = events(taken(log, taste=UnitSystem.US)[0])
    batches = [one for one in found if isinstance(one, BatchWashed)]
    assert len(batches) == 3
    assert batches[0].weight_kg == pytest.approx(25 * 0.45359237)  # NIST SP 811: exact
    (dose,) = [one for one in found if isinstance(one, DoseAdded)]
    assert (dose.amount.value, dose.amount.unit, dose.as_entered) == (120, "mL", "120 mL")
    assert [one.text for one in found if isinstance(one, NoteWritten)] == ['muddy, "cold"']


def test_decimal_commas_and_degrees_fahrenheit_are_read() -> None:
    log = a_log("Date;Time;Tank;ppm;pH;Water F;By\n2026-04-13;07:10;1;48,5;7,1;50;RM\n")
    (reading,) = events(taken(log, decimal_sign=",", taste=UnitSystem.US)[0])
    assert isinstance(reading, ReadingTaken)
    assert (reading.fac_mg_l, reading.ph) == (48.5, 7.1)
    assert reading.water_c == pytest.approx(10)


@pytest.mark.parametrize(
    ("row", "sentence"),
    [
        (",07:10,1,50,7,RM", "There is no day in this row."),
        ("2026-04-13,,1,50,7,RM", "There is no time of day in this row."),
        ("2026-13-13,07:10,1,50,7,RM", "2026-13-13 is no day that can be read."),
        ("2026-04-13,7:99,1,50,7,RM", "7:99 is no time of day that can be read."),
        ("2027-04-13,07:10,1,50,7,RM", "2027-04-13 07:10 is in the future."),
        ("2026-04-13,07:10,9,50,7,RM", "There is no tank 9 in Leaf line."),
        ("2026-04-13,07:10,,50,7,RM", "No tank is named in this row."),
        ("2026-04-13,07:10,1,5000,7,RM", "5000 ppm is not a possible free chlorine"),
        ("2026-04-13,07:10,1,50,77,RM", "77.0 is not a possible pH"),
        ("2026-04-13,07:10,1,ok,7,RM", "ok cannot be read as a concentration"),
        ("2026-04-13,07:10,1,50,7,", "Nobody's initials are in this row."),
        ("2026-04-13,07:10,1,,-,RM", "There is nothing in this row that can be taken."),
        ("2026-04-13", "There is no time of day in this row."),
    ],
)
def test_each_row_that_can_not_be_taken_says_why(row: str, sentence: str) -> None:
    log = a_log(f"Date,Time,Tank,ppm,pH,Initials\n{row}\n2026-04-13,07:30,1,48,7,RM\n")
    bad, good = taken(log)
    assert why(bad).startswith(sentence)
    assert bad.row.number == 2
    assert isinstance(good, TakenRow)


def test_what_a_log_does_not_say_can_be_chosen_for_all_rows() -> None:
    log = a_log("Date,Time,ppm\n2026-04-13,07:10,50\n")
    (reading,) = events(taken(log, tank=3, by="TK")[0])
    assert isinstance(reading, ReadingTaken)
    assert (reading.tank, reading.by) == (3, "TK")


WIDE = """Date,Time,Tank 1 ppm,Tank 1 pH,Second dunk,Tank 2 pH,Rinse ppm,Tank 1 bleach mL,By
2026-04-13,07:10,50,7.0,48,7.1,,,RM
2026-04-13,07:40,44,,,,9,120,RM
"""


def test_a_log_with_columns_for_each_tank_becomes_a_reading_of_each() -> None:
    log = a_log(WIDE)
    assert tanks_named(log, three_tanks()) == {2: 1, 3: 1, 4: 2, 5: 2, 6: 3, 7: 1}
    assert names(guess(log, three_tanks())) == [
        "DATE",
        "TIME",
        "fac_mg_l",
        "ph",
        "fac_mg_l",
        "ph",
        "fac_mg_l",
        "DOSE",
        "BY",
    ]
    first, second = (events(row) for row in taken(log))
    found = [
        (one.tank, one.fac_mg_l, one.ph)
        for one in (*first, *second)
        if isinstance(one, ReadingTaken)
    ]
    assert found == [(1, 50, 7.0), (2, 48, 7.1), (1, 44, None), (3, 9, None)]
    (dose,) = [one for one in second if isinstance(one, DoseAdded)]
    assert (dose.tank, dose.amount.value) == (1, 120)


# -- what a log leaves open -------------------------------------------------------------------


def test_a_value_beyond_its_strip_is_a_remark_and_keeps_the_rest_of_its_row() -> None:
    log = a_log(
        "Date,Time,Tank,ppm,pH,Bleach mL,By\n"
        "2026-04-13,07:10,1,<10,7.0,120,RM\n2026-04-13,07:20,1,> 200,,,RM\n"
    )
    first, second = (events(row) for row in taken(log))
    reading, dose, remark = first
    assert isinstance(reading, ReadingTaken)
    assert (reading.fac_mg_l, reading.ph) == (None, 7.0)
    assert isinstance(dose, DoseAdded)
    assert isinstance(remark, NoteWritten)
    assert remark.text.startswith("Free chlorine <10, as the log says")
    assert [type(one) for one in second] == [NoteWritten]


@pytest.mark.parametrize(
    ("clocks", "asked"),
    [
        (["10:40", "12:40", "1:15", "2:05"], True),
        (["10:40", "12:40", "13:15", "14:05"], False),
        (["10:40", "12:40 pm", "1:15 pm"], False),
        (["2:05", "1:15", "12:40", "10:40", "9:30"], False),  # written from the newest up
        (["22:40", "23:50"], False),
    ],
)
def test_it_is_asked_whether_times_after_noon_begin_at_one_again(
    clocks: list[str], *, asked: bool
) -> None:
    assert goes_back([("2026-04-13", clocks[0]), *(("", clock) for clock in clocks[1:])]) is asked


def test_a_quarter_past_one_after_noon_is_what_was_chosen() -> None:
    log = a_log(
        "Date,Time,Tank,ppm,By\n2026-04-13,12:40,1,50,RM\n2026-04-13,1:15,1,48,RM\n"
        "2026-04-14,1:30,1,47,RM\n2026-04-14,11:30 am,1,46,RM\n"
    )

    def hours(**changes: Any) -> list[int]:
        found = [one for row in taken(log, **changes) for one in events(row)]
        return [one.at.hour for one in found if isinstance(one, ReadingTaken)]

    assert hours() == [12, 1, 1, 11]
    assert hours(twelve_hours=True) == [12, 13, 1, 11]


def test_an_amount_without_a_unit_is_taken_only_in_one_that_was_chosen() -> None:
    log = a_log("Date,Time,Tank,Bleach added,By\n2026-04-13,07:10,1,8,RM\n")
    columns = guess(log, three_tanks())
    assert lacks_unit(log, columns)
    assert dose_unit(log, columns) == ""
    (row,) = taken(log)
    assert why(row) == "8 has no unit: choose one for all."
    (dose,) = events(taken(log, dose_unit="fl oz")[0])
    assert isinstance(dose, DoseAdded)
    assert dose.amount.value == pytest.approx(8 * 29.5735295625)  # NIST SP 811: exact
    assert dose.as_entered == "8 fl oz"
    named = a_log("Date,Time,Tank,Bleach added (fl. oz),By\n2026-04-13,07:10,1,8,RM\n")
    assert dose_unit(named, guess(named, three_tanks())) == "fl oz"
    alone = a_log("Date,Time,Tank,Bleach oz,By\n2026-04-13,07:10,1,8,RM\n")
    assert dose_unit(alone, guess(alone, three_tanks())) == ""  # a measure or a weight
    written = a_log("Date,Time,Tank,Bleach,By\n2026-04-13,07:10,1,8 mL,RM\n")
    assert not lacks_unit(written, guess(written, three_tanks()))


def test_two_columns_of_notes_are_both_kept() -> None:
    log = a_log(
        "Date,Time,Tank,ppm,Notes,Comments,By\n"
        "2026-04-13,07:10,1,50,muddy,cold,RM\n2026-04-13,07:20,1,50,,cold,RM\n"
        "2026-04-13,07:30,1,50,muddy,,RM\n"
    )
    notes = [one.text for row in taken(log) for one in events(row) if isinstance(one, NoteWritten)]
    assert notes == ["muddy; cold", "cold", "muddy"]


def test_two_columns_that_hold_the_same_are_told() -> None:
    log = a_log(WIDE)
    columns, tanks = guess(log, three_tanks()), tanks_named(log, three_tanks())
    assert held_twice(columns, tanks) is None
    assert held_twice({**columns, 8: LogField.DATE}, tanks) is LogField.DATE


TITLED = """Wash log of the leaf line,,,,,
,Bay 2,,,,
Date,Time,Tank 1,,Tank 2,,By
,,ppm,pH,ppm,pH,
2026-04-13,07:10,50,7.0,44,7.1,RM
,07:40,48,7.0,42,7.2,RM
2026-04-14,07:05,46,7.1,40,7.2,RM
"""


def test_titles_and_merged_headings_are_seen_through() -> None:
    log = a_log(TITLED)
    assert log.head == HeadRow(3, 2)
    assert log.heads == ("Date", "Time", "Tank 1 ppm", "Tank 1 pH", "Tank 2 ppm", "Tank 2 pH", "By")
    found = [
        (one.at.day, one.tank, one.fac_mg_l, one.ph)
        for row in taken(log)
        for one in events(row)
        if isinstance(one, ReadingTaken)
    ]
    assert found[:4] == [(13, 1, 50, 7.0), (13, 2, 44, 7.1), (13, 1, 48, 7.0), (13, 2, 42, 7.2)]
    assert found[4] == (14, 1, 46, 7.1)
    alone = taken(log, days_down=False)
    assert why(alone[1]) == "There is no day in this row."


def test_the_headings_can_be_named_and_cells_be_mended() -> None:
    log = a_log("Wash log,,\n" + PLAIN)
    assert log.head.row == 2
    none = log.with_head(HeadRow(0))
    assert (none.heads, len(none.rows)) == ((), 5)
    assert none.with_head(HeadRow(2)) == log
    mended = log.with_cells(4, ("2026-04-13", "07:45", "2", "43", "7.2", "RM", "L-1"))
    assert mended.rows[1].cells[1] == "07:45"
    assert log.rows[1].cells[1] == "07:40"


# -- what was imported before -----------------------------------------------------------------


def journal_of(*imported: ImportedShift) -> list[Event]:
    return [event for shift in imported for event in shift.events]


def test_a_log_that_grew_adds_only_what_is_new() -> None:
    before = journal_of(*made())
    grown = PLAIN + "2026-04-14,09:00,1,44,7,RM,L-2\n2026-04-15,07:00,1,50,7,RM,L-3\n"
    found = hold_against(taken(a_log(grown)), before)
    assert [type(row) for row in found] == [
        TakenBefore,
        TakenBefore,
        TakenBefore,
        TakenRow,
        TakenRow,
    ]
    later = shifts(a_log(grown), found, choices_for(a_log(grown)), "RM")
    assert [one.day.day for one in later] == [14, 15]
    assert {one.chain for one in later}.isdisjoint(one.chain for one in made())
    again = hold_against(taken(a_log(grown)), [*before, *journal_of(*later)])
    assert {type(row) for row in again} == {TakenBefore}


def test_rows_are_known_by_what_they_say_wherever_they_stand() -> None:
    head, *lines = PLAIN.splitlines()
    turned = "\n".join(["A title,,", head, *reversed(lines)])
    found = hold_against(taken(a_log(turned)), journal_of(*made()))
    assert {type(row) for row in found} == {TakenBefore}


def test_a_row_that_says_something_else_now_is_shown_and_not_taken() -> None:
    changed = PLAIN.replace("07:40,Second dunk,44", "07:40,Second dunk,41")
    found = hold_against(taken(a_log(changed)), journal_of(*made()))
    assert [type(row) for row in found] == [TakenBefore, Changed, TakenBefore]
    (row,) = [row for row in found if isinstance(row, Changed)]
    (was, *_) = row.before
    assert isinstance(was, ReadingTaken)
    assert was.fac_mg_l == 44
    assert shifts(a_log(changed), found, choices_for(a_log(changed)), "RM") == []


def test_equal_rows_of_one_file_are_taken_once() -> None:
    first, *_, twice = taken(a_log(PLAIN + PLAIN.splitlines()[1] + "\n"))
    assert isinstance(first, TakenRow)
    assert why(twice) == "This row says the same as row 2: it is taken once."
    bench = "2026-04-13,07:10,2,50,7.0,RM,L-1\n"  # the same of another tank is another reading
    assert all(isinstance(row, TakenRow) for row in some(taken(a_log(PLAIN + bench))))


# -- shifts -----------------------------------------------------------------------------------


def test_each_day_becomes_a_shift_that_is_marked_as_imported() -> None:
    one, two = made()
    assert [one.day, two.day] == [date(2026, 4, 13), date(2026, 4, 14)]
    assert one.chain.startswith(IMPORTED)
    started, note, *_ = one.events
    assert isinstance(started, ShiftStarted)
    assert started.imported == "old log.csv"
    assert [lot.code for lot in started.lots] == ["L-1"]
    assert isinstance(note, NoteWritten)
    assert "rows 2 to 3 (2 taken)" in note.text
    assert isinstance(one.events[-1], ShiftEnded)


def test_an_imported_shift_folds_and_sums_up_as_any_other() -> None:
    one, _ = made()
    entries = [entry for entry, _ in extend(one.chain, None, one.events, NOW)]
    shift = fold(one.chain, entries)
    first, second, third = summarize(shift)
    assert first.fac is not None
    assert (first.fac.lowest, first.shift.imported) == (50, "old log.csv")
    assert second.readings == 1
    assert third.fills == 0  # the log does not speak of it
    assert sum(isinstance(event, TankFilled) for event in one.events) == 2


def test_the_same_rows_of_the_same_file_have_the_same_name() -> None:
    assert [one.chain for one in made()] == [one.chain for one in made()]
    assert made()[0].chain != made(PLAIN + "2026-04-13,08:00,1,50,7,RM,L-1\n")[0].chain


def test_a_lot_used_twice_is_one_lot_of_each_day() -> None:
    text = PLAIN + "2026-04-14,09:00,1,44,7,RM,L-1\n2026-04-14,09:30,1,43,7,RM,L-1\n"
    _, two = made(text)
    started = two.events[0]
    assert isinstance(started, ShiftStarted)
    assert [lot.code for lot in started.lots] == ["L-2", "L-1"]


HOSTILE = ['=HYPERLINK("x")', 'a "quoted"\nline', "\u202eright to left\u202c", "w" * 10_000]


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_words_come_through_as_they_stand(text: str) -> None:
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(["Date", "Time", "Tank", "ppm", "By", "Lot", "Notes"])
    writer.writerow(["2026-04-13", "07:10", "1", "50", text, text, text])
    (one,) = made(out.getvalue())
    notes = [event for event in one.events if isinstance(event, NoteWritten)]
    assert text in [note.text for note in notes]
    assert any(note.by == text for note in notes)
    started = one.events[0]
    assert isinstance(started, ShiftStarted)
    assert [lot.code for lot in started.lots] == [text]


CELLS = st.text(
    st.characters(exclude_characters="\0", exclude_categories=["Cs"]), max_size=30
) | st.sampled_from(["2026-04-13", "07:10", "1", "50", "7,1", "RM"])


@given(st.lists(st.lists(CELLS, max_size=9), min_size=1, max_size=6))
def test_any_table_is_taken_or_told_row_by_row(table: list[list[str]]) -> None:
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(["Date", "Time", "Tank", "ppm", "pH", "By", "Lot", "Crates", "Dose"])
    writer.writerows(table)
    log = parse_log("any.csv", out.getvalue().encode("utf-8", "replace"))
    choices = choices_for(log)
    found = take(log, choices, NOW)
    assert len(found) == len(log.rows)
    for one in shifts(log, found, choices, "RM"):
        assert all(encode(event) for event in one.events)


def test_a_filling_that_no_log_tells_of_is_no_water_used_and_costs_nothing_known() -> None:
    setup = structs.replace(
        three_tanks(), currency="USD", water_price=Price(cost=3.0, amount=1000.0)
    )
    one, _ = made(setup=setup)
    shift = fold(one.chain, [entry for entry, _ in extend(one.chain, None, one.events, NOW)])
    first, _, third = summarize(shift)
    assert (first.fills, first.water_l, first.water_known) == (1, 0, False)
    assert first.cost.total is None  # and not a cost of nothing
    assert (third.water_known, third.cost.total) == (True, 0)
    cells = {column.name: column.cell(first) for column in SUMMARIES.columns}
    assert (cells["water_used_l"], cells["cost_water"]) == (None, None)
    (week,) = weeks([first], "")
    assert not week.cost("USD").whole
