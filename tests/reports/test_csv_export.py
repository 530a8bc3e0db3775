"""CSV: the format by RFC 4180, cells that no spreadsheet runs, whole files or none."""

import csv
import errno
import os
import re
import stat
from collections.abc import Iterator
from datetime import date, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from tests.reports.reading_cells import read_back
from tests.reports.telling import told_shifts
from tests.shed import START, Shed, a_setup
from tests.some import some
from tests.tools.make_readme import dictionary_markdown
from washmon.line.events import (
    Corrected,
    Decision,
    DoseAdded,
    HoldReleased,
    Instrument,
    InstrumentChecked,
    NoteWritten,
    ReadingTaken,
)
from washmon.line.flags import Amount
from washmon.line.state import ShiftState
from washmon.reports.cells import Cell, written
from washmon.reports.csv_export import (
    ExportError,
    export,
    suggested_name,
)
from washmon.reports.summary import TankSummary
from washmon.reports.tables import ACTIONS, BATCHES, HOLDS, READINGS, SUMMARIES, TABLES, Table


def a_shift() -> Shed:
    """A shift with a corrected reading, a hold with its decision, and words to quote."""
    shed = Shed()
    shed.fill()
    shed.dose(ml=62.5)
    wrong = shed.wait(6).read(fac=500, ph=7.1)
    right = ReadingTaken(at=wrong.event.at, by="RM", tank=1, fac_mg_l=50, ph=7.1)
    shed.tell(
        Corrected(at=shed.now, by="TK", entry=wrong.seq, reason="a 0 too many", instead=right)
    )
    (batch,) = shed.wash(1)
    hold = shed.wait(2).hold(batch.seq)
    shed.tell(
        HoldReleased(
            at=shed.now, by="RM", hold=hold.seq, decision=Decision.WASH_AGAIN, reason="low"
        )
    )
    shed.tell(NoteWritten(at=shed.now, by="RM", tank=2, text='=HYPERLINK("x"), "cold", señal\nok'))
    return shed


def rows_of(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file, strict=True))


def exported(tmp_path: Path, table: Table[Any], shift: ShiftState) -> list[dict[str, str]]:
    path = tmp_path / "out.csv"
    count = export(path, table, [shift])
    rows = rows_of(path)
    assert count == len(rows)
    return rows


def test_lines_end_with_crlf_and_quotes_are_doubled(tmp_path: Path) -> None:
    # RFC 4180, section 2: rules 1 (CRLF), 6 (quoted where needed) and 7 (doubled quotes).
    path = tmp_path / "out.csv"
    export(path, ACTIONS, [a_shift().shift])
    raw = path.read_bytes()
    assert not raw.startswith(b"\xef\xbb\xbf")
    assert raw.endswith(b"\r\n")
    assert raw.count(b"\r\n") == len(rows_of(path)) + 1
    assert '"\'=HYPERLINK(""x""), ""cold"", señal\nok"'.encode() in raw


def test_a_byte_order_mark_is_there_when_asked_for(tmp_path: Path) -> None:
    path = tmp_path / "out.csv"
    export(path, HOLDS, [], bom=True)
    assert path.read_bytes().startswith(b"\xef\xbb\xbfshift,")


def test_readings_tell_what_holds_and_what_was_written_first(tmp_path: Path) -> None:
    (row,) = exported(tmp_path, READINGS, a_shift().shift)
    assert (row["fac_mg_l"], row["ph"], row["fill"]) == ("50", "7.1", "1")
    assert row["at"] == "2026-05-07T07:06:00-04:00"
    assert (row["corrected"], row["corrected_by"]) == ("yes", "TK")
    assert row["correction_reason"] == "a 0 too many"
    assert (row["original_fac_mg_l"], row["original_ph"]) == ("500", "7.1")


def test_a_withdrawn_reading_is_told_by_its_correction_only(tmp_path: Path) -> None:
    shed = Shed()
    shed.fill()
    wrong = shed.read(fac=50)
    shed.tell(Corrected(at=shed.now, by="TK", entry=wrong.seq, reason="wrong tank"))
    assert exported(tmp_path, READINGS, shed.shift) == []
    row = exported(tmp_path, ACTIONS, shed.shift)[-1]
    assert (row["action"], row["about_entry"], row["text"]) == (
        "correction",
        str(wrong.seq),
        "wrong tank",
    )


def test_actions_carry_amounts_with_their_units_in_the_column_names(tmp_path: Path) -> None:
    rows = exported(tmp_path, ACTIONS, a_shift().shift)
    assert [row["action"] for row in rows] == [
        "shift started",
        "filled",
        "dose",
        "correction",
        "hold",
        "release",
        "note",
    ]
    by_action = {row["action"]: row for row in rows}
    assert by_action["dose"]["amount_ml"] == "62.5"
    assert by_action["dose"]["amount_g"] == ""
    assert by_action["dose"]["product"] == "hypochlorite"
    assert by_action["filled"]["volume_l"] == "500"
    assert by_action["release"]["decision"] == "wash again"
    assert by_action["release"]["about_entry"] == by_action["hold"]["entry"]
    assert read_back(by_action["note"]["text"]) == '=HYPERLINK("x"), "cold", señal\nok'


def test_batches_and_holds_point_to_each_other(tmp_path: Path) -> None:
    shift = a_shift().shift
    (batch,) = exported(tmp_path, BATCHES, shift)
    (hold,) = exported(tmp_path, HOLDS, shift)
    assert (batch["held"], batch["holds"], batch["hold_open"]) == ("yes", hold["entry"], "no")
    assert (hold["batches"], hold["lots"]) == (batch["entry"], "L-1")
    assert (hold["decision"], hold["decided_by"], hold["open"]) == ("wash again", "RM", "no")


def test_a_decided_hold_tells_the_whole_corrective_action(tmp_path: Path) -> None:
    # 21 CFR 117.150: correct the problem, and reduce the chance that it recurs.
    shed = Shed()
    shed.fill()
    (batch,) = shed.wash(1)
    decided = HoldReleased(
        at=shed.now,
        by="RM",
        hold=shed.hold(batch.seq).seq,
        decision=Decision.DISCARD,
        reason="low",
        found="the pump stood still",
        water="changed",
        prevention="-a spare pump",
    )
    shed.tell(decided)
    (row,) = exported(tmp_path, HOLDS, shed.shift)
    told = (row["cause"], row["water_corrected"], row["prevention"])
    assert told == ("the pump stood still", "changed", "'-a spare pump")


@given(told_shifts(second=True))
@settings(deadline=None)
def test_whatever_was_told_each_cell_fits_its_column_and_a_summary_says_what_was_summed_up(
    tmp_path_factory: pytest.TempPathFactory, shift: ShiftState
) -> None:
    for table in TABLES:
        for row in table.rows(shift):
            for column in table.columns:
                fits(column.name, column.cell(row))
    path = tmp_path_factory.getbasetemp() / "summaries.csv"
    export(path, SUMMARIES, [shift])
    for written_row, summary in zip(rows_of(path), SUMMARIES.rows(shift), strict=True):
        says(written_row, summary)


def fits(name: str, cell: Cell) -> None:
    """Hold a cell against what the name of its column promises."""
    numeric = ("_mg_l", "_l", "_ml", "_g", "_kg", "_s", "_c", "_ntu", "_mv", "_share")
    assert isinstance(written(cell), str)
    if name.endswith(numeric):
        assert cell is None or isinstance(cell, float | int), name
    if name.endswith("_at") or name == "at":
        assert cell is None or (isinstance(cell, datetime) and cell.utcoffset() is not None)


def says(row: dict[str, str], summary: TankSummary) -> None:
    """Hold a row of the file against the summary that it was written from."""
    assert row["tank"] == str(summary.tank)
    assert float(row["water_used_l"]) == pytest.approx(summary.water_l)
    assert float(row["sanitizer_ml"]) == pytest.approx(
        sum(used.amount.value for used in summary.sanitizer_used), abs=1e-5
    )
    if summary.fac is None:
        assert row["fac_median_mg_l"] == ""
    else:
        assert float(row["fac_median_mg_l"]) == pytest.approx(summary.fac.median, abs=1e-6)
    assert int(row["corrective_actions"]) == len(summary.corrective)


@given(st.text(max_size=30))
def test_text_comes_back_as_it_was_and_never_begins_a_formula(text: str) -> None:
    cell = written(text)
    assert read_back(cell) == text
    assert not cell.lstrip(" ").startswith(("=", "+", "-", "@", "\t", "\r", "\n", "＝"))


@given(st.text(alphabet="a ;|\t\r\n'=+-@", max_size=12))
def test_text_comes_back_and_begins_no_formula_where_a_spreadsheet_splits_it(text: str) -> None:
    cell = written(text)
    assert read_back(cell) == text
    for part in re.split("[;|\t\r\n]", cell):
        assert not part.lstrip(" ").startswith(("=", "+", "-", "@"))


def test_a_formula_behind_a_semicolon_is_made_harmless() -> None:
    assert written("a;=1+1") == "a;'=1+1"
    assert written("a; -1|@b\n=2") == "a; '-1|'@b\n'=2"
    assert read_back("'\t=1") == "\t=1"  # as earlier versions wrote it


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@SUM(A1)", "'=1", " =1"])
def test_what_a_spreadsheet_would_run_is_made_harmless(text: str) -> None:
    # Leading characters after OWASP, "CSV Injection".
    assert written(text) == f"'{text}"
    assert read_back(f"'{text}") == text


@pytest.mark.parametrize(
    ("cell", "text"),
    [
        (-1.5, "-1.5"),
        (0.1 + 0.2, "0.3"),
        (1e-9, "0"),
        (-1e-9, "0"),
        (1e15, "1000000000000000"),
        (1e22, "1" + "0" * 22),
        (float("inf"), "inf"),
        (48.0, "48"),
        (100, "100"),
        (True, "yes"),
        (None, ""),
        (datetime.fromisoformat("2026-05-07T07:00:00.123456-04:00"), "2026-05-07T07:00:00-04:00"),
        (date(2026, 12, 1), "2026-12-01"),
        ("O'Neil", "O'Neil"),
    ],
)
def test_cells_are_written_plainly(cell: Any, text: str) -> None:
    assert written(cell) == text


@pytest.mark.parametrize("table", TABLES, ids=lambda table: table.key)
def test_column_names_are_unique_and_plain(table: Table[Any]) -> None:
    names = [column.name for column in table.columns]
    assert len(set(names)) == len(names)
    assert all(
        name.isascii() and name == name.lower() and name.isidentifier() for name in some(names)
    )
    assert all(column.meaning and "|" not in column.meaning for column in some(table.columns))


def test_the_dictionary_names_every_column_once() -> None:
    text = dictionary_markdown()
    for table in TABLES:
        section = text.split(f"### {table.key}\n")[1].split("### ")[0]
        for column in table.columns:
            assert section.count(f"| `{column.name}` | {column.meaning} |") == 1


def test_shifts_are_asked_for_one_at_a_time(tmp_path: Path) -> None:
    shift = a_shift().shift
    asked: list[int] = []
    written_then: list[int] = []

    def stream() -> Iterator[ShiftState]:
        for number in range(4):
            asked.append(number)
            yield replace(shift, chain=f"shift-{number}")

    def progress(done: int) -> None:
        written_then.append(len(asked) - done)

    path = tmp_path / "out.csv"
    count = export(path, READINGS, stream(), progress=progress)
    assert count == 4
    assert written_then == [0, 0, 0, 0]
    assert [row["shift"] for row in rows_of(path)] == [f"shift-{number}" for number in range(4)]


def test_a_cancelled_export_leaves_what_was_there(tmp_path: Path) -> None:
    path = tmp_path / "out.csv"
    path.write_text("mine")
    done: list[int] = []
    shift = a_shift().shift
    result = export(
        path, READINGS, [shift] * 5, progress=done.append, cancelled=lambda: len(done) >= 2
    )
    assert result is None
    assert done == [1, 2]
    assert path.read_text() == "mine"
    assert list(tmp_path.iterdir()) == [path]


def test_a_missing_folder_is_told_in_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(ExportError, match=r"There is no folder .*gone: choose another place"):
        export(tmp_path / "gone" / "out.csv", READINGS, [])


@pytest.mark.parametrize(
    ("number", "sentence"),
    [
        (errno.ENOSPC, "The disk is full"),
        (errno.EACCES, "can't be written in"),
        (errno.EROFS, "can't be written in"),
        (errno.EIO, "was not written"),
    ],
)
def test_a_disk_that_refuses_is_told_and_leaves_no_half_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int, sentence: str
) -> None:
    def refuse(descriptor: int) -> None:
        raise OSError(number, os.strerror(number), str(descriptor))

    path = tmp_path / "out.csv"
    path.write_text("mine")
    monkeypatch.setattr(os, "fsync", refuse)
    with pytest.raises(ExportError, match=sentence):
        export(path, READINGS, [a_shift().shift])
    assert path.read_text() == "mine"
    assert list(tmp_path.iterdir()) == [path]


def test_a_disk_that_is_really_full_is_told_and_leaves_no_half_file(tmp_path: Path) -> None:
    path = tmp_path / "out.csv"
    path.write_text("mine")
    (tmp_path / "out.csv.part").symlink_to("/dev/full")  # Linux: whatever is written fits nowhere
    with pytest.raises(ExportError, match="The disk is full"):
        export(path, READINGS, [a_shift().shift])
    assert path.read_text() == "mine"
    assert list(tmp_path.iterdir()) == [path]


def test_a_file_that_a_spreadsheet_holds_open_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def held_open(part: Path, target: Path) -> Path:
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(part), None, str(target))

    path = tmp_path / "out.csv"
    path.write_text("mine")
    monkeypatch.setattr(Path, "replace", held_open)  # as Windows answers to a rename onto it
    with pytest.raises(ExportError, match="close it if another program has it open"):
        export(path, READINGS, [a_shift().shift])
    assert path.read_text() == "mine"
    assert list(tmp_path.iterdir()) == [path]


def test_a_shift_through_the_hour_that_comes_twice_keeps_its_order_and_offsets(
    tmp_path: Path,
) -> None:
    # In New York, 1 November 2026, 01:30 comes at UTC-04:00 and again at UTC-05:00.
    shed = Shed(start=datetime(2026, 11, 1, 0, 30, tzinfo=timezone(timedelta(hours=-4))))
    shed.fill()
    shed.wait(60).read(1, 50, ph=7.0)
    shed.now = datetime(2026, 11, 1, 1, 30, tzinfo=timezone(timedelta(hours=-5)))
    shed.read(1, 47, ph=7.0)
    rows = exported(tmp_path, READINGS, shed.shift)
    assert [row["at"] for row in rows] == ["2026-11-01T01:30:00-04:00", "2026-11-01T01:30:00-05:00"]


def test_a_target_that_is_a_folder_is_told(tmp_path: Path) -> None:
    (tmp_path / "out.csv").mkdir()
    with pytest.raises(ExportError, match="can't be written"):
        export(tmp_path / "out.csv", READINGS, [])
    assert [path.name for path in tmp_path.iterdir()] == ["out.csv"]


@pytest.mark.parametrize(
    ("line", "name"),
    [
        ("Leaf line", "washmon-readings-leaf-line-2026-05-07.csv"),
        ("Línea de hojas / 2", "washmon-readings-linea-de-hojas-2-2026-05-07.csv"),
        ('..\\con:*?"<>|', "washmon-readings-con-2026-05-07.csv"),
        ("芽", "washmon-readings-2026-05-07.csv"),
    ],
)
def test_suggested_names_are_safe_on_every_system(line: str, name: str) -> None:
    assert suggested_name(READINGS, line, START.date()) == name


def test_a_range_of_dates_stands_in_the_name() -> None:
    name = suggested_name(SUMMARIES, "Leaf line", date(2026, 5, 1), date(2026, 5, 7))
    assert name == "washmon-summaries-leaf-line-2026-05-01-2026-05-07.csv"


def test_a_file_can_be_read_by_others_as_any_new_file(tmp_path: Path) -> None:
    export(tmp_path / "out.csv", HOLDS, [])
    (tmp_path / "plain").touch()
    mode = stat.S_IMODE((tmp_path / "out.csv").stat().st_mode)
    assert mode == stat.S_IMODE((tmp_path / "plain").stat().st_mode)


def test_a_new_pack_of_strips_is_written_with_its_day(tmp_path: Path) -> None:
    shed = Shed()
    opened = InstrumentChecked(
        at=shed.now, by="TK", instrument=Instrument.STRIPS, lot="S-7", use_by=date(2027, 1, 31)
    )
    shed.tell(opened)
    (row,) = (one for one in exported(tmp_path, ACTIONS, shed.shift) if one["instrument"])
    assert (row["strips_lot"], row["strips_use_by"]) == ("S-7", "2027-01-31")


def test_a_solid_product_is_written_in_grams(tmp_path: Path) -> None:
    shed = Shed(a_setup())
    shed.fill()
    dose = shed.dose()
    assert isinstance(dose.event, DoseAdded)
    solid = replace(dose.event, amount=Amount(60.0, "g"))
    shed.tell(Corrected(at=shed.now, by="RM", entry=dose.seq, reason="powder", instead=solid))
    row = exported(tmp_path, ACTIONS, shed.shift)[2]
    assert (row["amount_ml"], row["amount_g"], row["corrected"]) == ("", "60", "yes")
    assert row["original"] == "Dose tank 1: 60 mL hypochlorite"


def test_the_readme_carries_the_dictionary() -> None:
    readme = Path(__file__).parents[2].joinpath("README.md").read_text(encoding="utf-8")
    section = readme.split("<!-- dictionary -->")[1].split("<!-- end of dictionary -->")[0]
    assert section.strip() == dictionary_markdown().strip()
