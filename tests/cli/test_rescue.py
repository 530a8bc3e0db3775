"""``washmon restore``, ``salvage`` and ``reset-pin``: bad days at the command line."""

import json
import sqlite3
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from tests.gui.logbook.past import days_ago, keep, quiet_shift
from tests.shed import START
from washmon.cli.commands import app
from washmon.cli.place import UNUSABLE
from washmon.line.events import NoteWritten
from washmon.line.journal import SITE
from washmon.line.pins import pins_of
from washmon.line.site_events import PinReset, PinSet
from washmon.store.store import Store


@pytest.fixture
def database(tmp_path: Path) -> Path:
    path = tmp_path / "shed.db"
    with Store.open(path) as store:
        keep(store, quiet_shift(days_ago(3)).shift, "quiet")
        store.append(SITE, [PinSet(at=START, by="BO", who="BO", hash="h")], START)
    return path


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(app, [str(word) for word in words])


def length(path: Path) -> int:
    with Store.open(path, read_only=True) as store:
        return len(store.entries("quiet"))


def test_a_backup_is_put_back_and_what_was_there_is_kept(database: Path, tmp_path: Path) -> None:
    shelf = tmp_path / "shelf.db"
    assert run("backup", shelf, "--database", database).exit_code == 0
    before = length(database)
    with Store.open(database) as store:
        store.append("quiet", [NoteWritten(at=START, by="RM", text="later")], START)
    told = run("restore", shelf, "--database", database)
    assert told.exit_code == 0, told.output
    assert length(database) == before
    aside = Path(told.stdout.splitlines()[1].removeprefix("What was there before is kept as "))
    assert length(aside) == before + 1
    assert run("verify", "--database", database).exit_code == 0


def test_a_backup_that_is_none_changes_nothing(database: Path, tmp_path: Path) -> None:
    before = length(database)
    told = run("restore", tmp_path / "nowhere.db", "--database", database)
    assert told.exit_code == UNUSABLE
    assert "There is no backup at" in told.stderr
    assert length(database) == before


def test_a_sound_database_loses_nothing_in_a_salvage(database: Path, tmp_path: Path) -> None:
    into = tmp_path / "saved.db"
    told = run("salvage", database, into)
    assert told.exit_code == 0, told.output
    assert told.stdout.splitlines()[1] == "Nothing is lost."
    assert length(into) == length(database)


def test_every_file_may_be_named_from_the_folder_one_works_in(
    database: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(database.parent)
    for words in (
        ("backup", "copy.db", "--database", database.name),
        ("salvage", "copy.db", "saved.db"),
        ("restore", "saved.db", "--database", "other.db"),
        ("verify", "--database", "other.db"),
    ):
        told = run(*words)
        assert told.exit_code == 0, told.output
    assert length(Path("other.db")) == length(database)


def test_what_a_salvage_could_not_save_is_said(database: Path, tmp_path: Path) -> None:
    db = sqlite3.connect(database)
    db.execute("DROP TRIGGER journal_never_deleted")
    db.execute("DELETE FROM journal WHERE chain = 'quiet' AND seq = 3")
    db.commit()
    db.execute("VACUUM")  # or the entry would still be dug out
    db.close()
    told = run("salvage", database, tmp_path / "saved.db", "--json")
    assert told.exit_code == 1
    found = json.loads(told.stdout)
    assert found["lost"][0] == "Entry 3 of shift quiet is lost."
    again = run("salvage", database, tmp_path / "saved.db")
    assert again.exit_code == UNUSABLE
    assert "there is a file of this name" in again.stderr


def test_a_forgotten_pin_is_taken_away_and_the_journal_says_how(database: Path) -> None:
    told = run("reset-pin", "BO", "--database", database)
    assert told.exit_code == 0, told.output
    with Store.open(database, read_only=True) as store:
        entries = store.entries(SITE)
    last = entries[-1].event
    assert isinstance(last, PinReset)
    assert (last.by, last.who) == ("console", "BO")
    assert pins_of(entries).freed == {"BO"}
    assert run("reset-pin", "BO", "--database", database).exit_code == UNUSABLE
