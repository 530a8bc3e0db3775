"""Chains are anchored in each other: what somebody cuts off with a database tool is missed."""

import sqlite3
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from tests.recorder.recorder_bench import Bench
from tests.shed import a_setup
from washmon.line.events import (
    Corrected,
    Event,
    NoteWritten,
    ShiftEnded,
    ShiftReviewed,
    ShiftSigned,
    TankFilled,
)
from washmon.line.journal import SITE
from washmon.line.pins import hash_pin
from washmon.line.setup import Role
from washmon.line.site_events import PinSet, SetupSaved
from washmon.recorder import Answer, Saved
from washmon.recorder.anchoring import anchored
from washmon.store import JournalFault, Store
from washmon.store.schema import GUARDS

PIN = "rake 22"
GUARD_NAMES = [sql.split()[2] for sql in GUARDS["sqlite"]]


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    """A set-up with a PIN, a shift that was signed and corrected late, and one after it."""
    bench = Bench(tmp_path / "shed.db")
    told(bench.enter(SetupSaved(at=bench.now, by="BO", setup=a_setup())))
    pin = PinSet(at=bench.now, by="BO", who="BO", hash="$argon2id$", role=Role.MANAGER)
    to_site(bench, pin)
    lead = PinSet(at=bench.now, by="BO", who="RM", hash=hash_pin(PIN), role=Role.SUPERVISOR)
    to_site(bench, lead)
    yield bench
    bench.recorder.close()


def told(answer: Answer) -> Saved:
    assert isinstance(answer, Saved), answer
    return answer


def to_site(bench: Bench, event: Event) -> None:
    """Write to the site's chain what would need a PIN."""

    def write(store: Store) -> None:
        store.append(SITE, [anchored(store, SITE, event)], bench.now)

    bench.recorder.read(write).result(10)


def wash(bench: Bench) -> str:
    chain = bench.start_shift()
    told(bench.enter(TankFilled(at=bench.now, by="RM", tank=1, volume_l=500)))
    told(bench.enter(NoteWritten(at=bench.now, by="RM", text="pump is loud")))
    bench.now += timedelta(hours=1)
    told(bench.enter(ShiftEnded(at=bench.now, by="RM"), sure=True))
    bench.now += timedelta(hours=1)
    return chain


def correct(bench: Bench, chain: str) -> int:
    note = next(one.seq for one in bench.store.entries(chain) if isinstance(one.event, NoteWritten))
    gone = Corrected(at=bench.now, by="RM", entry=note, reason="another pump", instead=None)
    return told(bench.enter(gone, chain=chain, sure=True, pin=PIN)).entry.seq


def tampered(path: Path, *sql: str) -> list[JournalFault]:
    """Do this without the guards, put them back, have all lists made anew, and verify."""
    with sqlite3.connect(path) as db:
        for name in GUARD_NAMES:
            db.execute(f"DROP TRIGGER {name}")
        for statement in sql:
            db.execute(statement)
    db.close()
    with Store.open(path) as store:
        store.rebuild_projections()
    with Store.open(path, read_only=True) as store:
        return store.verify()


def test_what_was_written_is_whole_and_says_from_when_on_it_is_anchored(bench: Bench) -> None:
    first = wash(bench)
    wash(bench)
    looked = bench.store.look()
    assert looked.faults == ()
    assert looked.anchored_from is not None
    assert looked.anchored_from[:2] == (first, 0)


@pytest.mark.parametrize(
    "cut",
    [
        "DELETE FROM journal WHERE chain = 'site'",
        "DELETE FROM journal WHERE chain = 'site' AND seq >= 1",
    ],
)
def test_the_chain_of_the_site_and_its_pins_are_missed(bench: Bench, cut: str) -> None:
    chain = wash(bench)
    bench.recorder.close()
    (fault,) = tampered(bench.path, cut)
    assert fault.chain == SITE
    assert f"entry 0 of shift {chain} was written after them" in str(fault)


def test_a_late_correction_that_is_cut_off_is_missed_by_the_next_shift(bench: Bench) -> None:
    first = wash(bench)
    for _ in range(3):
        wash(bench)
    seq = correct(bench, first)
    wash(bench)
    assert bench.store.verify() == []
    bench.recorder.close()
    (fault,) = tampered(
        bench.path,
        f"DELETE FROM journal WHERE chain = '{first}' AND seq >= {seq}",  # noqa: S608 - ours
    )
    assert (fault.chain, fault.seq) == (first, seq)


def test_a_shift_that_vanishes_is_missed_by_a_set_up_that_was_saved_after_it(bench: Bench) -> None:
    chain = wash(bench)
    to_site(bench, SetupSaved(at=bench.now, by="BO", setup=a_setup()))
    bench.recorder.close()
    (fault,) = tampered(bench.path, f"DELETE FROM journal WHERE chain = '{chain}'")  # noqa: S608
    assert str(fault).startswith(f"All entries of shift {chain} are missing")


def test_kinds_that_anchor_are_those_that_say_so() -> None:
    for kind in (ShiftEnded, ShiftSigned, ShiftReviewed, SetupSaved, PinSet):
        assert "anchors" in kind.__struct_fields__
