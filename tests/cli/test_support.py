"""``washmon report``: enough to mend the program, and nothing of the shed's own."""

import faulthandler
import json
import logging
import os
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from msgspec.structs import replace
from typer.testing import CliRunner

from tests.shed import START, a_setup
from tests.store.shed import minutes, note, started
from washmon import faultlog
from washmon.cli.commands import app
from washmon.cli.place import state_folder
from washmon.line.events import BatchWashed
from washmon.line.journal import SITE
from washmon.line.setup import Person, Role
from washmon.line.site_events import PinSet, SetupSaved
from washmon.recorder.troubles import Troubles
from washmon.store import Store

CANARY = "kanarie"


@pytest.fixture
def _log(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setattr(sys, "excepthook", lambda *_: None)  # else they fail the test
    monkeypatch.setattr(threading, "excepthook", lambda *_: None)
    # A crash of the tests themselves is to be printed, not kept in a file.
    monkeypatch.setattr(faulthandler, "enable", os.close)
    faultlog.keep_in(state_folder())
    yield
    for handler in logging.getLogger("washmon").handlers[:]:
        logging.getLogger("washmon").removeHandler(handler)
        handler.close()


@pytest.fixture
def database(tmp_path: Path) -> Path:
    """A shed with the canary in every name, lot, note, path and PIN."""
    path = tmp_path / CANARY / f"{CANARY}.db"
    people = (Person(initials=CANARY[:3], name=CANARY, role=Role.MANAGER),)
    setup = replace(
        a_setup(), site=CANARY, location=CANARY, line=CANARY, commodity=CANARY, people=people
    )
    tanks = tuple(replace(tank, name=CANARY) for tank in setup.tanks)
    setup = replace(setup, tanks=tanks)
    with Store.open(path) as store:
        store.append(SITE, [SetupSaved(at=START, by=CANARY, setup=setup)], START)
        store.append(SITE, [PinSet(at=START, by=CANARY, who=CANARY, hash=CANARY)], START)
        washed = BatchWashed(at=minutes(1), by=CANARY, tanks=(1,), lot=CANARY)
        store.append(CANARY, [started(), washed, note(2, CANARY)], minutes(2))
    return path


def meet_faults(database: Path) -> None:
    """Meet faults whose own sentences hold the canary, in every way that one is noted."""
    with Troubles().told(CANARY):
        raise ValueError(CANARY)
    fault = KeyError(CANARY)
    fault.__cause__ = OSError(2, CANARY, str(database))
    sys.excepthook(KeyError, fault, None)

    def die() -> None:
        raise RuntimeError(CANARY)

    thread = threading.Thread(target=die, name=CANARY)
    thread.start()
    thread.join()


@pytest.mark.usefixtures("_log")
def test_no_name_lot_note_path_or_pin_is_in_log_or_report(database: Path, tmp_path: Path) -> None:
    meet_faults(database)
    out = tmp_path / "report.json"
    told = CliRunner().invoke(app, ["report", str(out), "--database", str(database), "--yes"])
    assert told.exit_code == 0, told.output
    text = out.read_text("utf-8")
    assert text in told.output  # it was shown
    log = "\n".join(faultlog.read(state_folder()))
    for one in (text, log):
        assert CANARY not in one.casefold()
        for kind in ("ValueError", "KeyError", "FileNotFoundError", "RuntimeError"):
            assert f"builtins.{kind} at " in one
    report = json.loads(text)
    assert report["records"]["entries"] == 3
    assert report["records"]["whole"] is True
    assert report["records"]["setups"][0]["people"] == {"manager": 1}
    assert {one.stat().st_mode & 0o777 for one in state_folder().glob("*.log")} == {0o600}


def test_a_report_is_written_only_after_it_was_agreed_to(database: Path, tmp_path: Path) -> None:
    out = tmp_path / "report.json"
    words = ["report", str(out), "--database", str(database)]
    told = CliRunner().invoke(app, words, input="n\n")
    assert (told.exit_code, out.exists()) == (0, False)
    assert '"washmon":' in told.output
    assert CliRunner().invoke(app, words, input="y\n").exit_code == 0
    assert out.exists()


def test_a_report_of_records_that_cannot_be_read_says_why(tmp_path: Path) -> None:
    out = tmp_path / "report.json"
    (tmp_path / "shed.db").write_bytes(b"no database")
    words = ["report", str(out), "--yes", "--database", str(tmp_path / "shed.db")]
    assert CliRunner().invoke(app, words).exit_code == 0
    assert json.loads(out.read_text())["records"] == {"unavailable": "NotADatabase"}
