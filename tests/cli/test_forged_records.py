"""Somebody alters records and makes every hash fit: verify, exports and prints say so all the same.

Each way is done by hand on the file: guards off, entries changed, all later hashes of the chain
reckoned anew, the list of shifts made to fit. What nobody can find is who replaces the file and
the witness together.
"""

import json
import sqlite3
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from tests.cli.touching import run
from tests.store.filled import put_filled
from tests.store.shed import batch, ended, line_setup, minutes, note, started
from washmon.cli.place import state_folder
from washmon.line.events import Decision, Event, HoldPlaced, HoldReleased, ReadingTaken, ShiftSigned
from washmon.line.journal import GENESIS, SITE, link, paper_number
from washmon.line.setup import Role
from washmon.line.site_events import PinSet, SetupSaved
from washmon.recorder.anchoring import anchored
from washmon.store import Store
from washmon.store.schema import GUARDS
from washmon.store.witness import Witness

FIRST, LAST = "a", "b"
Row = tuple[int, str, bytes, str]
Alter = Callable[[list[Row]], list[Row]]


@pytest.fixture
def database(tmp_path: Path) -> Path:
    """A site with a PIN, a signed shift with a hold, and one after it; witnessed."""
    path = put_filled(tmp_path / "shed.db", two_signed_shifts)
    with Store.open(path) as store:
        Witness(state_folder(), store.place).look(store, minutes(99))
    return path


def two_signed_shifts(store: Store) -> None:
    at = minutes(0)
    pin = PinSet(at=at, by="RM", who="RM", hash="x", role=Role.MANAGER)
    store.append(SITE, [SetupSaved(at=at, by="RM", setup=line_setup())], at)
    store.append(SITE, [pin], at)
    hold = HoldPlaced(at=minutes(4), by="RM", tank=1, batches=(1,), reason="low")
    decided = HoldReleased(at=minutes(5), by="RM", hold=3, decision=Decision.DISCARD, reason="bad")
    low = ReadingTaken(at=minutes(3), by="RM", tank=1, fac_mg_l=12, ph=7.0)
    for begin, chain in ((0, FIRST), (60, LAST)):
        first = started(begin, after=store.last_shift_head())
        rest: list[Event] = [batch(2), low, hold, decided, note(6), ended(begin + 9)]
        for event in (anchored(store, chain, first), *rest):
            store.append(chain, [event], event.at)
        signed = ShiftSigned(
            at=minutes(begin + 10),
            by="RM",
            role=Role.SUPERVISOR,
            covers=store.head(chain) or "",
        )
        store.append(chain, [signed], signed.at)


def forge(path: Path, chain: str, alter: Alter) -> None:
    """Alter a chain and make all of it fit."""
    db = sqlite3.connect(path, isolation_level=None)
    for (name,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
        db.execute(f"DROP TRIGGER {name}")
    rows = db.execute(
        "SELECT seq, recorded_at, body, hash FROM journal WHERE chain = ? ORDER BY seq", (chain,)
    ).fetchall()
    db.execute("DELETE FROM journal WHERE chain = ?", (chain,))
    before = GENESIS
    known: dict[str, str] = {}
    for seq, (_, at, body, old) in enumerate(alter(rows)):
        event = json.loads(body)
        if event.get("covers") in known:  # signatures are moved along
            event["covers"] = known[event["covers"]]
        made = json.dumps(event, separators=(",", ":"), ensure_ascii=False).encode()
        before = known[old] = link(before, chain, seq, datetime.fromisoformat(at), made)
        db.execute("INSERT INTO journal VALUES (?, ?, ?, ?, ?)", (chain, seq, at, made, before))
    for sql in GUARDS["sqlite"]:
        db.execute(sql)
    db.close()
    with Store.open(path) as store:
        store.rebuild_projections()


def changed(seq: int, **values: Any) -> Alter:
    def alter(rows: list[Row]) -> list[Row]:
        found = []
        for place, at, body, digest in rows:
            event = json.loads(body)
            if place == seq:
                event |= values
            made = json.dumps(event, separators=(",", ":"), ensure_ascii=False).encode()
            found.append((place, at, made, digest))
        return found

    return alter


def without(*seqs: int) -> Alter:
    return lambda rows: [row for row in rows if row[0] not in seqs]


def only_before(seq: int) -> Alter:
    return lambda rows: [row for row in rows if row[0] < seq]


def swapped(one: int, other: int) -> Alter:
    def alter(rows: list[Row]) -> list[Row]:
        rows[one], rows[other] = rows[other], rows[one]
        return rows

    return alter


def backdated(rows: list[Row]) -> list[Row]:
    return [(seq, minutes(seq - 30).isoformat(), body, digest) for seq, _, body, digest in rows]


def doubled(rows: list[Row]) -> list[Row]:
    return [*rows[:3], (3, rows[2][1], rows[2][2], ""), *rows[3:]]


WAYS: dict[str, tuple[str, Alter]] = {
    "a reading of a past shift": (FIRST, changed(2, fac_mg_l=50)),
    "who made a reading": (FIRST, changed(2, by="XX")),
    "when a batch was washed": (FIRST, changed(1, at=minutes(3).isoformat())),
    "the lot of a batch": (FIRST, changed(1, lot="other")),
    "a decision about a hold": (FIRST, changed(4, decision="release")),
    "a whole reading": (FIRST, without(2)),
    "the signature": (FIRST, only_before(7)),
    "all after the start": (FIRST, only_before(1)),
    "two entries swapped": (FIRST, swapped(1, 2)),
    "an entry written in": (FIRST, doubled),
    "when all was written down": (FIRST, backdated),
    "a reading of the newest shift": (LAST, changed(2, fac_mg_l=50)),
    "the end of the newest shift": (LAST, only_before(5)),
    "the newest shift": (LAST, only_before(0)),
    "the first PIN": (SITE, only_before(1)),
    "the site": (SITE, only_before(0)),
    "a limit of the set-up": (SITE, changed(0, by="XX")),
}


@pytest.fixture(params=WAYS)
def forged(request: pytest.FixtureRequest, database: Path) -> tuple[Path, str]:
    """Return a database that was forged, and the chain that was."""
    chain, alter = WAYS[request.param]
    forge(database, chain, alter)
    return database, chain


def test_what_was_forged_to_fit_is_found_by_verify_by_exports_and_prints(
    forged: tuple[Path, str], tmp_path: Path
) -> None:
    path, chain = forged
    told = run("verify", "--database", path)
    assert told.exit_code == 1
    assert told.stdout
    if chain == SITE:
        return  # no export holds what stands on the site's chain
    table, record = tmp_path / "x.csv", tmp_path / "x.pdf"
    done = run("export", "readings", "-o", table, "--database", path)
    assert (done.exit_code, table.exists()) == (1, False), done.output
    done = run("export", "record", "-o", record, "--shift", chain, "--database", path)
    assert done.exit_code == (2 if "There is no shift" in done.output else 1), done.output
    assert not record.exists()
    done = run("export", "readings", "-o", table, "--anyway", "--database", path)
    assert done.exit_code == 1
    assert "NOT WHOLE" in done.output


def test_a_number_on_paper_misses_what_file_and_witness_together_hide(database: Path) -> None:
    with Store.open(database, read_only=True) as store:
        numbers = [paper_number(store.head(chain) or "") for chain in (FIRST, LAST)]
    for number in numbers:
        told = run("verify", "--witness", *number.split(), "--database", database)  # as printed
        assert told.exit_code == 0, told.output
        assert f"{number} is entry 7 of shift" in told.stdout
    forge(database, LAST, changed(2, fac_mg_l=50))
    Witness(state_folder(), database.resolve()).forget()
    told = run("verify", "--witness", numbers[1], "--database", database)
    assert told.exit_code == 1
    assert f"No entry has the witness number {numbers[1]}" in told.stdout
    told = run("verify", "--witness", "12345", "--database", database)
    assert told.exit_code == 2
    assert "5 blocks of 5 digits" in told.output


def test_a_backup_that_was_put_back_says_so_in_the_records(database: Path, tmp_path: Path) -> None:
    assert run("backup", tmp_path / "shelf.db", "--database", database).exit_code == 0
    assert run("restore", tmp_path / "shelf.db", "--database", database).exit_code == 0
    with Store.open(database, read_only=True) as store:
        newest = store.entries(SITE)[-1].event
    assert type(newest).__name__ == "BackupRestored"
    assert getattr(newest, "backup", "") == "shelf.db"
    assert run("verify", "--database", database).exit_code == 0
