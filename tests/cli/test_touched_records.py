"""A record that somebody touched neither exports nor prints in silence."""

import csv
import json
from datetime import timedelta
from pathlib import Path

import pytest

from tests.cli.touching import run, touch, touch_a_reading
from tests.gui.logbook.past import keep, troubled_shift
from tests.reports.paper_read import texts
from tests.store.filled import put_filled
from washmon.cli.place import state_folder
from washmon.line.events import ShiftSigned
from washmon.line.fold import fold
from washmon.line.setup import Role
from washmon.recorder.summaries import file_away
from washmon.store import Store
from washmon.store.witness import Witness

CHAIN = "touched"
TABLES = ["summaries", "readings", "actions", "batches", "holds"]


@pytest.fixture
def database(tmp_path: Path) -> Path:
    """A shift with a bit of everything, signed, and its summary."""
    return put_filled(tmp_path / "shed.db", a_signed_shift)


def a_signed_shift(store: Store) -> None:
    keep(store, troubled_shift(hours=1).shift, CHAIN)
    at = store.entries(CHAIN)[-1].recorded_at + timedelta(minutes=5)
    covers = store.head(CHAIN) or ""
    signed = ShiftSigned(at=at, by="RM", role=Role.SUPERVISOR, covers=covers)
    store.append(CHAIN, [signed], at)
    file_away(store, fold(CHAIN, store.entries(CHAIN)))


def cells_of(path: Path) -> list[list[str]]:
    with path.open(newline="", encoding="utf-8") as file:
        return list(csv.reader(file))


@pytest.mark.parametrize("what", TABLES)
def test_a_table_that_is_whole_says_so(database: Path, tmp_path: Path, what: str) -> None:
    told = run("export", what, "-o", tmp_path / "out.csv", "--database", database)
    assert told.exit_code == 0
    assert told.stdout.endswith("WHOLE.\n")
    assert "NOT" not in told.stdout
    assert "journal_whole" not in cells_of(tmp_path / "out.csv")[0]


@pytest.mark.parametrize("what", TABLES)
def test_a_table_of_a_touched_shift_is_written_on_demand_only_and_says_so(
    database: Path, tmp_path: Path, what: str
) -> None:
    touch_a_reading(database)
    out = tmp_path / "out.csv"
    told = run("export", what, "-o", out, "--database", database)
    assert told.exit_code == 1
    assert f"In shift {CHAIN}: Entry " in told.stdout
    assert "NOT WHOLE, so nothing was written" in told.stderr
    assert not out.exists()
    told = run("export", what, "-o", out, "--database", database, "--anyway")
    assert told.exit_code == 1
    assert "NOT WHOLE: In shift" in told.stdout
    head, *rows = cells_of(out)
    assert head[-1] == "journal_whole"
    assert rows
    assert {row[-1] for row in rows} == {"NOT WHOLE"}
    assert {len(row) for row in rows} == {len(head)}


def test_a_touched_record_says_on_page_1_that_it_is_not_whole(
    database: Path, tmp_path: Path
) -> None:
    out = tmp_path / "out.pdf"
    words = ("export", "record", "-o", out, "--shift", CHAIN, "--database", database)
    assert run(*words).exit_code == 0
    assert "NOT WHOLE" not in texts(out.read_bytes())[0]
    touch_a_reading(database)
    out.unlink()
    assert run(*words).exit_code == 1
    assert not out.exists()
    assert run(*words, "--anyway").exit_code == 1
    text = " ".join(texts(out.read_bytes())[0].split())
    assert "NOT WHOLE: this record is not as it was written" in text
    assert "its content or its time was changed after it was written" in text


def test_an_edited_row_of_a_kept_summary_is_found(database: Path, tmp_path: Path) -> None:
    touch(database, "UPDATE summary_rows SET text = replace(text, '1', '2')")
    out = tmp_path / "out.csv"
    told = run("export", "summaries", "-o", out, "--database", database)
    assert told.exit_code == 1
    assert "does not agree with its journal" in told.stdout
    assert run("verify", "--database", database).exit_code == 0
    assert run("verify", "--lists", "--database", database).exit_code == 1


def test_an_export_of_a_shift_whose_entries_are_gone_is_no_quiet_zero(
    database: Path, tmp_path: Path
) -> None:
    touch(database, "DELETE FROM journal")
    told = run("export", "readings", "-o", tmp_path / "out.csv", "--database", database)
    assert told.exit_code == 1
    assert "is in the list, but its entries are gone" in told.stdout


def test_rebuild_looks_first_and_keeps_what_shows_the_loss(database: Path) -> None:
    touch(database, f"DELETE FROM journal WHERE chain = '{CHAIN}' AND seq > 20")  # noqa: S608
    told = run("rebuild", "--database", database)
    assert told.exit_code == 2
    assert f"Shift {CHAIN} has 21 entries, the list of shifts says" in told.stdout
    assert "--anyway" in told.stderr
    told = run("rebuild", "--anyway", "--database", database)
    assert told.exit_code == 0
    (kept,) = database.parent.glob("shed-before-rebuild-*.db")
    with Store.open(kept, read_only=True) as store:
        assert "the list of shifts says" in str(store.verify()[0])


def test_a_witness_misses_what_was_cut_off_and_a_rebuild_does_not_hide_it(database: Path) -> None:
    told = run("verify", "--database", database)
    assert told.exit_code == 0
    assert "Not witnessed" in told.stderr
    with Store.open(database, read_only=True) as store:
        witness = Witness(state_folder(), store.place)
        witness.look(store, store.entries(CHAIN)[-1].recorded_at)
        length = len(store.entries(CHAIN))
    assert witness.path.stat().st_mode & 0o777 == 0o600
    assert "Witnessed up to" in run("verify", "--database", database).stderr
    touch(
        database,
        f"DELETE FROM journal WHERE chain = '{CHAIN}' AND seq = {length - 1}",  # noqa: S608
    )
    assert run("rebuild", "--anyway", "--database", database).exit_code == 0
    told = run("verify", "--json", "--database", database)
    assert told.exit_code == 1
    (fault,) = json.loads(told.stdout)["faults"]
    assert f"Entry {length - 1} of shift {CHAIN} is missing or was changed" in fault
    with Store.open(database, read_only=True) as store:  # what it has seen it does not forget
        witness.look(store, store.entries(CHAIN)[-1].recorded_at)
        assert len(list(witness.faults(store))) == 1


def test_a_backup_that_is_put_back_is_told_to_the_witness(database: Path, tmp_path: Path) -> None:
    assert run("backup", tmp_path / "shelf.db", "--database", database).exit_code == 0
    with Store.open(database) as store:
        at = store.entries(CHAIN)[-1].recorded_at
        covers = store.head(CHAIN) or ""
        signed = ShiftSigned(at=at, by="RM", role=Role.SUPERVISOR, covers=covers)
        store.append(CHAIN, [signed], at)
        Witness(state_folder(), store.place).look(store, at)
    assert run("restore", tmp_path / "shelf.db", "--database", database).exit_code == 0
    told = run("verify", "--database", database)
    assert told.exit_code == 0
    assert "Witnessed up to" in told.stderr
