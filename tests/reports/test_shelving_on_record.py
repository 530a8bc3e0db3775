"""What a record says of a flag that was put aside for a while."""

import csv
import io
from pathlib import Path

import pytest
from pypdf import PdfReader

from tests.gui.board.scenes import ME
from tests.shed import Shed, a_setup, a_tank
from washmon.gui.logbook.shift_tables import listing
from washmon.line.flag_events import FlagUnshelved
from washmon.reports.csv_export import export
from washmon.reports.printed import printed
from washmon.reports.record_lists import LISTS
from washmon.reports.tables import ACTIONS


@pytest.fixture
def shed() -> Shed:
    shed = Shed(a_setup(a_tank(1, "Only")))
    shed.fill()
    shed.wait(10).read(fac=30, ph=7.0)
    shed.look()
    shed.wait(2).shelve()
    shed.look()
    shed.wait(5).tell(FlagUnshelved(at=shed.now, by="TK", tank=1, rule="chlorine-low"))
    shed.look()
    return shed


def test_the_actions_file_has_both_with_until_and_why(shed: Shed, tmp_path: Path) -> None:
    path = tmp_path / "actions.csv"
    export(path, ACTIONS, [shed.shift])
    with path.open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file, strict=True) if row["rule"]]
    assert [row["action"] for row in rows] == ["flag shelved", "flag brought back"]
    assert [row["rule"] for row in rows] == ["chlorine-low", "chlorine-low"]
    assert [row["until"] for row in rows] == ["2026-05-07T07:32:00-04:00", ""]
    assert rows[0]["text"] == "a kit is being fetched"
    columns = list(rows[0])
    assert columns.index("until") > columns.index("imported")  # old ones keep their place


def test_the_printed_record_lists_what_was_shelved_beside_the_flags(shed: Shed) -> None:
    pages = PdfReader(io.BytesIO(printed(shed.shift))).pages
    said = " ".join(" ".join(page.extract_text() for page in pages).split())
    assert "Shelved for a while (raised all the same):" in said
    assert "07:17 TK" in said
    assert "a kit is being fetched" in said


def test_the_flags_of_the_logbook_say_from_when_to_when_and_by_whom(shed: Shed) -> None:
    listed = listing(LISTS["flags"], shed.shift, ME)
    place = listed.heads.index("Shelved")
    assert [row[place].text for row in listed.rows] == ["07:12–07:17 RM"]


def test_a_shift_without_any_has_no_such_column() -> None:
    shed = Shed(a_setup(a_tank(1, "Only")))
    shed.fill()
    shed.wait(10).read(fac=30, ph=7.0)
    shed.look()
    assert "Shelved" not in listing(LISTS["flags"], shed.shift, ME).heads
    said = " ".join(p.extract_text() for p in PdfReader(io.BytesIO(printed(shed.shift))).pages)
    assert "Shelved for a while" not in said
