"""``washmon export``, ``verify``, ``backup`` and ``rules``, on a database with past shifts."""

import csv
import json
import sqlite3
from pathlib import Path

import pytest
from pypdf import PdfReader
from typer.testing import CliRunner, Result

from tests.gui.logbook.past import days_ago, keep, quiet_shift, troubled_shift
from tests.some import some
from tests.store.filled import put_filled
from washmon.cli.commands import app
from washmon.line.flags import ALWAYS_ON
from washmon.reports.tables import TABLES
from washmon.rules import all_rules
from washmon.store.store import Store

DAY = days_ago(1).date().isoformat()


@pytest.fixture
def database(tmp_path: Path) -> Path:
    return put_filled(tmp_path / "shed.db", two_shifts)


def two_shifts(store: Store) -> None:
    keep(store, quiet_shift(days_ago(30)).shift, "quiet")
    keep(store, troubled_shift(days_ago(1)).shift, "troubled")


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(app, [str(word) for word in words])


def rows_of(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file, strict=True))


@pytest.mark.parametrize("table", [table.key for table in TABLES])
def test_every_table_is_written_for_all_shifts_oldest_first(database: Path, table: str) -> None:
    target = database.with_name("out.csv")
    told = run("export", table, "--output", target, "--database", database)
    assert told.exit_code == 0, told.output
    rows = rows_of(target)
    counted = "1 row" if len(rows) == 1 else f"{len(rows)} rows"
    assert told.stdout == f"{counted} from 2 shifts in {target}. WHOLE.\n"
    if table == "week":  # it has days, and no names of journals
        assert len({row["date"] for row in rows}) == 2
        return
    shifts = list(dict.fromkeys(row["shift"] for row in rows))
    assert shifts == (["troubled"] if table == "holds" else ["quiet", "troubled"])


@pytest.mark.parametrize(
    ("range_", "shifts"),
    [
        (["--since", DAY], ["troubled"]),
        (["--until", DAY], ["quiet", "troubled"]),
        (["--since", DAY, "--until", DAY], ["troubled"]),
        (["--until", days_ago(2).date().isoformat()], ["quiet"]),
        (["--since", days_ago(0).date().isoformat()], []),
    ],
)
def test_a_range_of_days_takes_its_first_and_its_last_day(
    database: Path, range_: list[str], shifts: list[str]
) -> None:
    target = database.with_name("out.csv")
    run("export", "summaries", "-o", target, "--database", database, *range_)
    assert list(dict.fromkeys(row["shift"] for row in rows_of(target))) == shifts


def test_a_byte_order_mark_is_written_on_request(database: Path) -> None:
    target = database.with_name("out.csv")
    run("export", "readings", "-o", target, "--database", database, "--bom")
    assert target.read_bytes().startswith(b"\xef\xbb\xbf")


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["--since", "7 May"], "'7 May' is no date: write it as 2026-05-31."),
        (["--since", "2026-05-08", "--until", "2026-05-07"], "The first day is after the last"),
        (["--output", "gone/out.csv"], "There is no folder"),
        (["--database", "gone.db"], "There is no database at"),
    ],
)
def test_what_can_not_be_exported_is_said_in_one_sentence(
    database: Path, words: list[str], sentence: str
) -> None:
    folder = database.parent
    target = folder / "out.csv"
    given = [str(folder / word) if "." in word else word for word in words]
    told = run("export", "readings", "-o", target, "--database", database, *given)
    assert (told.exit_code, told.stdout) == (2, "")
    assert sentence in told.stderr
    assert told.stderr.count("\n") == 1
    assert not target.exists()


def test_a_whole_journal_is_told_to_be_whole(database: Path) -> None:
    told = run("verify", "--database", database)
    assert (told.exit_code, told.stdout) == (
        0,
        "The journal is whole: every entry follows from the last.\n",
    )


def test_one_changed_byte_is_found_and_its_place_told(database: Path) -> None:
    with sqlite3.connect(database) as behind:
        (table,) = [
            name
            for (name,) in behind.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
            if {"chain", "seq", "body"} <= {row[1] for row in behind.execute(columns(name))}
        ]
        for (name,) in behind.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'"):
            behind.execute(f'DROP TRIGGER "{name}"')
        behind.execute(
            f"UPDATE {table} SET body = replace(body, '\"fac_mg_l\":22.0', '\"fac_mg_l\":32.0')"  # noqa: S608
            " WHERE chain = 'troubled'"
        )
        assert behind.total_changes > 0
    behind.close()
    told = run("verify", "--database", database)
    found = json.loads(run("verify", "--json", "--database", database).stdout)
    assert told.exit_code == 1
    assert found["whole"] is False
    assert "troubled" in told.stdout
    assert told.stdout.splitlines() == found["faults"]


def columns(table: str) -> str:
    return f'PRAGMA table_info("{table}")'


def test_a_copy_is_whole_and_holds_all_shifts_even_beside_a_writer(database: Path) -> None:
    copy = database.with_name("copy.db")
    with Store.open(database) as writing:
        told = run("backup", copy, "--database", database)
        assert told.exit_code == 0, told.output
        entries = writing.entries("troubled")
    with Store.open(copy, read_only=True) as copied:
        assert copied.entries("troubled") == entries
        assert copied.verify() == []


@pytest.mark.parametrize("target", ["shed.db", "shed.db/copy.db"])
def test_a_copy_over_itself_or_into_a_file_is_refused(database: Path, target: str) -> None:
    told = run("backup", database.parent / target, "--database", database)
    assert (told.exit_code, told.stdout) == (2, "")
    assert told.stderr.count("\n") == 1
    with Store.open(database) as store:
        assert store.verify() == []


def test_every_rule_is_listed_with_its_source() -> None:
    listed = json.loads(run("rules", "--json").stdout)
    assert {row["id"]: row["source"] for row in listed} == {
        rule.id: rule.source for rule in all_rules()
    }
    assert {row["id"] for row in listed if row["always_on"]} == ALWAYS_ON
    text = run("rules").stdout
    assert text.count("Never switched off or shelved.") == len(ALWAYS_ON)
    assert all(row["title"] in text and row["source"] for row in some(listed))


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_record_of_one_shift_is_printed(database: Path, paper: str) -> None:
    target = database.with_name("record.pdf")
    words = ("--shift", "troubled", "--paper", paper, "-o", target, "--database", database)
    told = run("export", "record", *words)
    assert told.exit_code == 0, told.output
    (first, *_) = PdfReader(target).pages
    assert float(first.mediabox.width) == pytest.approx({"a4": 595.28, "letter": 612}[paper], abs=1)


def test_records_of_a_range_become_a_file_each(database: Path, tmp_path: Path) -> None:
    folder = tmp_path / "records"
    folder.mkdir()
    told = run("export", "record", "-o", folder, "--database", database)
    assert told.stdout == f"2 records in {folder}. WHOLE.\n"
    assert len(list(folder.glob("washmon-record-leaf-line-*.pdf"))) == 2


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["--shift", "gone"], "There is no shift 'gone'"),
        (["--shift", "quiet", "--since", "2026-01-01"], "either --shift or days"),
        ([], "is no folder"),
    ],
)
def test_a_record_that_can_not_be_printed_is_told_in_one_sentence(
    database: Path, words: list[str], sentence: str
) -> None:
    target = database.with_name("record.pdf")
    told = run("export", "record", *words, "-o", target, "--database", database)
    assert told.exit_code == 2
    assert sentence in told.stderr
    assert told.stderr.count("\n") == 1
    assert not target.exists()


def test_one_shift_can_be_asked_of_a_table(database: Path) -> None:
    target = database.with_name("out.csv")
    told = run("export", "readings", "--shift", "quiet", "-o", target, "--database", database)
    assert told.stdout == f"2 rows from 1 shift in {target}. WHOLE.\n"


def test_what_the_lists_say_is_held_against_the_journal_and_made_anew(database: Path) -> None:
    told = run("verify", "--lists", "--database", database)
    assert (told.exit_code, told.stdout.endswith("The lists agree with it.\n")) == (0, True)
    db = sqlite3.connect(database)
    for change, said in (
        ("UPDATE summary_rows SET text = replace(text, 'RM', 'XX') WHERE chain = 'quiet'", "quiet"),
        ("UPDATE tank_summary SET body = replace(body, 'RM', 'XX')", "troubled"),
        ("UPDATE shift SET supervisor = 'XX' WHERE chain = 'quiet'", "quiet"),
        ("UPDATE shift SET stage = 'reviewed' WHERE chain = 'troubled'", "troubled"),
    ):
        with db:
            db.execute(change)
        assert run("verify", "--database", database).exit_code == 0  # the journal is whole
        told = run("verify", "--lists", "--database", database)
        assert told.exit_code == 1, change
        assert f"shift {said} does not agree with its journal" in told.stdout
        told = run("rebuild", "--database", database)
        assert told.stdout == "Made anew from the journal: the list, and 2 summaries.\n"
        assert run("verify", "--lists", "--database", database).exit_code == 0
    db.close()


def test_kept_rows_are_what_is_exported_and_old_ones_are_not(database: Path) -> None:
    kept, anew = database.with_name("kept.csv"), database.with_name("anew.csv")
    run("export", "summaries", "--output", kept, "--database", database)
    db = sqlite3.connect(database)
    for change in (
        "UPDATE summary_rows SET form = 'of an earlier version'",
        "UPDATE tank_summary SET body = '{}'",
    ):
        with db:
            db.execute(change)
        run("export", "summaries", "--output", anew, "--database", database)
        assert anew.read_bytes() == kept.read_bytes()
    db.close()
