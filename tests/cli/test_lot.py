"""``washmon lot``: a trace on paper or as a table, from the command line."""

import csv
import sqlite3
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from tests.gui.logbook.past import keep
from tests.reports.traced import a_shift
from washmon.cli.commands import app
from washmon.store.store import Store


@pytest.fixture
def shed(tmp_path: Path) -> Path:
    with Store.open(tmp_path / "shed.db") as store:
        keep(store, a_shift(source="North field"), "first")
        keep(store, a_shift(days=1, to=""), "second")
    return tmp_path / "shed.db"


def trace(shed: Path, *words: str) -> Result:
    return CliRunner().invoke(app, ["lot", *words, "--database", str(shed)])


def test_a_lot_is_traced_to_a_table_the_oldest_shift_first(shed: Path, tmp_path: Path) -> None:
    out = tmp_path / "lot.csv"
    told = trace(shed, "l-1", "-o", str(out))
    assert told.exit_code == 0, told.output
    assert "from 2 shifts" in told.stdout
    assert "WHOLE." in told.stdout
    with out.open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert list(dict.fromkeys(row["shift"] for row in rows)) == ["first", "second"]
    sent = [row["sent_to"] for row in rows if row["what"] == "Batch"]
    assert sent == ["Green market (D-7)"] * 2 + ["not recorded"] * 4


def test_it_is_printed_and_what_can_not_be_is_said_in_one_sentence(
    shed: Path, tmp_path: Path
) -> None:
    out = tmp_path / "lot.pdf"
    assert trace(shed, "L-1", "-o", str(out), "--by", "BO").exit_code == 0
    assert out.read_bytes().startswith(b"%PDF")
    unknown = trace(shed, "L-9", "-o", str(out))
    assert unknown.exit_code == 2
    assert unknown.stderr == "washmon: No shift knows this lot: nothing was written.\n"
    odd = trace(shed, "L-1", "-o", str(tmp_path / "lot.txt"))
    assert "neither a .pdf nor a .csv" in odd.stderr


def test_what_is_not_whole_is_traced_only_on_demand(shed: Path, tmp_path: Path) -> None:
    with sqlite3.connect(shed) as db:
        db.execute("DROP TRIGGER journal_never_updated")
        (body,) = db.execute("SELECT body FROM journal WHERE seq = 4").fetchone()
        assert b"12.5" in body
        forged = (body.replace(b"12.5", b"92.5"),)
        db.execute("UPDATE journal SET body = ? WHERE seq = 4 AND chain = 'first'", forged)
    out = tmp_path / "lot.csv"
    assert trace(shed, "L-1", "-o", str(out)).exit_code == 1
    assert not out.exists()
    assert trace(shed, "L-1", "-o", str(out), "--anyway").exit_code == 1
    assert "NOT WHOLE" in out.read_text("utf-8")
