"""Somebody with a database tool changes one value of a signed shift: the whole program says so."""

import json
import sqlite3
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any, get_args

import pytest
from msgspec.structs import replace
from typer.testing import CliRunner

from tests.gui.logbook.past import keep, troubled_shift
from tests.shed import Shed
from tests.store.conftest import beside_guards
from washmon.cli.commands import app
from washmon.gui.logbook.record_parts import read_record
from washmon.line.events import (
    ClockChanged,
    Decision,
    Event,
    HoldReleased,
    Instrument,
    InstrumentChecked,
    LinePaused,
    LineResumed,
    LotSent,
    RegistersTold,
    ShiftReviewed,
    ShiftSigned,
    WaterExchanged,
)
from washmon.line.flag_events import FlagShelved, FlagUnshelved
from washmon.line.flags import Level
from washmon.line.fold import fold
from washmon.line.journal import SITE, encode, link
from washmon.line.learned import UsualLearned
from washmon.line.practice_events import BehindTheScenes, WorldChange
from washmon.line.registers import Device
from washmon.line.setup import Role
from washmon.line.site_events import (
    BackupRestored,
    CourseSet,
    PinMistaken,
    PinReset,
    PinSet,
    RegistersUsed,
    SetupSaved,
    ThingRegistered,
    TrainingSigned,
)
from washmon.line.training import Course, Trained
from washmon.recorder.summaries import file_away
from washmon.store.errors import StoreUnavailable
from washmon.store.store import Store

CHAIN = "signed"


@pytest.fixture
def database(tmp_path: Path) -> Path:
    """A shift with every kind of entry, signed and reviewed, with the guards off."""
    path = tmp_path / "shed.db"
    shed = troubled_shift(hours=1)
    tell_the_rest(shed)
    with Store.open(path) as store:
        tell_the_site(store, shed)
        keep(store, shed.shift, CHAIN)
        at = store.entries(CHAIN)[-1].recorded_at + timedelta(minutes=5)
        for kind, by, role in (
            (ShiftSigned, "RM", Role.SUPERVISOR),
            (ShiftReviewed, "BO", Role.MANAGER),
        ):
            covers = store.head(CHAIN) or ""
            store.append(CHAIN, [kind(at=at, by=by, role=role, covers=covers)], at)
        file_away(store, fold(CHAIN, store.entries(CHAIN)))
    db = sqlite3.connect(path)
    for name in ("journal_never_updated", "journal_only_extended"):
        db.execute(f"DROP TRIGGER {name}")
    db.close()
    return path


def test_guards_that_were_taken_off_are_told_and_put_back(database: Path) -> None:
    with Store.open(database) as store:
        assert "had been taken off, and were put back" in store.heed()
        assert store.verify() == []
    with Store.open(database) as store:
        assert store.heed() == ""


METER = Device(key="Meter A", name="Meter A", serial="0417", measures=("ph",), check_days=7)


def tell_the_rest(shed: Shed) -> None:
    """Enter late, after the end of a shift, what it has not had."""
    shed.tell(LinePaused(at=shed.now, by="RM"))
    shed.wait(2).tell(LineResumed(at=shed.now, by="RM"))
    shed.tell(ClockChanged(at=shed.now, by="RM", by_s=0, reason="looked at"))
    shed.tell(WaterExchanged(at=shed.now, by="RM", tank=1, volume_l=50.0))
    shed.fill(2, 400.0, second=True)
    shed.swap(2)
    tried = InstrumentChecked(
        at=shed.now,
        by="TK",
        instrument=Instrument.STRIPS,
        standard=50.0,
        found=48.0,
        against="kit",
        lot="S-1",
        use_by=date(2026, 12, 1),
    )
    shed.tell(tried)
    shed.tell(UsualLearned(at=shed.now, by="rules", taught=(), shifts=("shift-before",)))
    shed.tell(LotSent(at=shed.now, by="RM", lot="L-1", to="Shop", reference="N-1", sent_kg=9.0))
    shed.tell(RegistersTold(at=shed.now, by="TK", things=(METER,)))
    shed.tell(BehindTheScenes(at=shed.now, by="trainer", change=WorldChange(strip_share=0.9)))
    key: dict[str, Any] = {"at": shed.now, "by": "TK", "tank": 1, "rule": "chlorine-low"}
    until = shed.now + timedelta(minutes=20)
    shed.tell(FlagShelved(**key, until=until, reason="kit comes", level=Level.ACT))
    shed.tell(FlagUnshelved(**key))
    hold, decision = shed.shift.open_holds[0].seq, Decision.WASH_AGAIN
    shed.tell(HoldReleased(at=shed.now, by="BO", hold=hold, decision=decision, reason="seen"))


def tell_the_site(store: Store, shed: Shed) -> None:
    """Journal all that stands on the site's chain."""
    at = shed.shift.started.at - timedelta(hours=1)
    for event in (
        SetupSaved(at=at, by="BO", setup=shed.shift.setup),
        PinSet(at=at, by="BO", who="RM", hash="$argon2id$", role=Role.SUPERVISOR),
        PinMistaken(at=at, by="RM"),
        PinReset(at=at, by="BO", who="RM", role=Role.SUPERVISOR),
        BackupRestored(at=at, by="rules", backup="shed-2026-05-06.db"),
        ThingRegistered(at=at, by="RM", what=METER),
        RegistersUsed(
            at=at, by="RM", shift=CHAIN, drawn={"Drum 7": 80.0}, made_with={"ph": "Meter A"}
        ),
        CourseSet(at=at, by="RM", course=Course(scenarios=("A weak jug",), months=6)),
        TrainingSigned(
            at=at,
            by="RM",
            what=Trained(
                person="TK",
                scenario="A weak jug",
                attempt="practice-1",
                head="ab12",
                on=at.date(),
                advice="on",
                score=84.5,
            ),
        ),
    ):
        store.append(SITE, [event], at)


def other(value: Any) -> Any:
    """Return a value of the same kind that is another."""
    match value:
        case bool():
            return not value
        case int() | float():
            return value + 1
        case str():
            return f"{value}x"
    return 0


def leaves(node: Any, way: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    if isinstance(node, dict) and node:
        for key, inner in node.items():
            yield from leaves(inner, (*way, key))
    elif isinstance(node, list) and node:
        for place, inner in enumerate(node):
            yield from leaves(inner, (*way, place))
    else:
        yield way


def flipped(body: bytes) -> Iterator[tuple[tuple[str | int, ...], bytes]]:
    """Yield the way to each single value of an entry, with the entry in which it is another."""
    for way in leaves(json.loads(body)):
        data = json.loads(body)
        *before, last = way
        node = data
        for key in before:
            node = node[key]
        node[last] = other(node[last])
        yield way, json.dumps(data, separators=(",", ":"), ensure_ascii=False).encode()


def put(db: sqlite3.Connection, seq: int, chain: str = CHAIN, **values: object) -> None:
    for name, value in values.items():
        db.execute(
            f"UPDATE journal SET {name} = ? WHERE chain = ? AND seq = ?",  # noqa: S608 - ours
            (value, chain, seq),
        )
    db.commit()


def test_every_single_value_of_a_signed_shift_is_guarded(database: Path) -> None:
    count = 0
    db = sqlite3.connect(database)
    db.execute("PRAGMA synchronous = OFF")
    with Store.open(database, read_only=True) as store:
        assert beside_guards(store) == []
        assert read_record(CHAIN)(store).alarm() == ""
        for row in store.rows(CHAIN):
            for way, body in flipped(row.body):
                put(db, row.seq, body=body)
                named = [(fault.chain, fault.seq) for fault in beside_guards(store)]
                assert (CHAIN, row.seq) in named, way
                assert _logbook_says(store, row.seq), way
                count += 1
            put(db, row.seq, body=row.body)
        assert beside_guards(store) == []
    db.close()
    assert count > 750


def test_every_single_value_of_the_sites_chain_is_guarded(database: Path) -> None:
    db = sqlite3.connect(database)
    db.execute("PRAGMA synchronous = OFF")
    with Store.open(database, read_only=True) as store:
        for row in store.rows(SITE):
            for way, body in flipped(row.body):
                put(db, row.seq, SITE, body=body)
                assert (SITE, row.seq) in [(one.chain, one.seq) for one in beside_guards(store)], (
                    way
                )
            put(db, row.seq, SITE, body=row.body)
        assert beside_guards(store) == []
    db.close()


def test_no_kind_of_entry_is_left_out_of_this(database: Path) -> None:
    with Store.open(database, read_only=True) as store:
        kinds = {type(one.event) for chain in (CHAIN, SITE) for one in store.entries(chain)}
    assert set(get_args(Event)) == kinds


def _logbook_says(store: Store, seq: int) -> bool:
    try:
        return f"Entry {seq}: " in read_record(CHAIN)(store).alarm()
    except StoreUnavailable as trouble:  # it is no event any more
        return f"Entry {seq}: " in str(trouble)


def test_the_command_line_names_the_entry_and_says_so_to_scripts(database: Path) -> None:
    db = sqlite3.connect(database)
    with Store.open(database, read_only=True) as store:
        row = store.rows(CHAIN)[5]
    put(db, 5, body=row.body.replace(b'"by":"RM"', b'"by":"XX"'))
    told = CliRunner().invoke(app, ["verify", "--database", str(database)])
    put(db, 5, body=row.body)
    db.close()
    assert told.exit_code == 1
    assert f"In shift {CHAIN}: Entry 5: its content or its time was changed" in told.stdout
    Store.open(database).close()  # puts the guards back
    assert CliRunner().invoke(app, ["verify", "--database", str(database)]).exit_code == 0


def test_hashes_that_were_forged_to_fit_do_not_fit_the_signatures(database: Path) -> None:
    """Whoever forges all hashes, and what the list remembers, is still missed by the signatures."""
    db = sqlite3.connect(database)
    with Store.open(database, read_only=True) as store:
        rows, entries = store.rows(CHAIN), store.entries(CHAIN)
        before = rows[6].hash
        for row, entry in zip(rows[7:], entries[7:], strict=True):
            body = row.body
            if row.seq == 7:
                body = encode(replace(entry.event, at=entry.event.at + timedelta(seconds=1)))
            before = link(before, CHAIN, row.seq, row.recorded_at, body)
            put(db, row.seq, body=body, hash=before)
        db.execute("UPDATE shift SET head = ? WHERE chain = ?", (before, CHAIN))
        db.commit()
        signature, review = len(rows) - 2, len(rows) - 1
        assert [fault.seq for fault in beside_guards(store)] == [signature, review]
        assert f"the signature of entry {signature}" in read_record(CHAIN)(store).alarm()
        for row in rows[7:]:
            put(db, row.seq, body=row.body, hash=row.hash)
        db.execute("UPDATE shift SET head = ? WHERE chain = ?", (rows[-1].hash, CHAIN))
        db.commit()
        assert beside_guards(store) == []
    db.close()
