"""The witness beside a database: what it remembers, and what it misses later."""

import os
import stat
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.store.shed import minutes, note, run_shift, started
from washmon.line.journal import SITE
from washmon.store import Store, witness
from washmon.store.witness import Witness


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store.open(tmp_path / "shed.db") as store:
        yield store


@pytest.fixture
def memory(tmp_path: Path, store: Store) -> Witness:
    return Witness(tmp_path / "state", store.place)


def test_it_remembers_where_the_chains_ended_and_when_that_was_seen(
    store: Store, memory: Witness
) -> None:
    assert memory.ends() == {}
    run_shift(store, "a")
    store.append(SITE, [note(20)], minutes(20))
    memory.look(store, minutes(30))
    first = {"a": store.end("a"), SITE: store.end(SITE)}
    assert {chain: (one.seq, one.hash) for chain, one in memory.ends().items()} == first
    store.append(SITE, [note(40)], minutes(40))
    memory.look(store, minutes(50))
    seen = {chain: (one.seq, one.seen_at) for chain, one in memory.ends().items()}
    assert seen == {"a": (2, minutes(30)), SITE: (1, minutes(50))}
    assert list(memory.faults(store)) == []


def test_it_is_for_its_owner_alone_and_of_one_database(store: Store, memory: Witness) -> None:
    run_shift(store, "a")
    memory.look(store, minutes(30))
    if os.name != "nt":
        assert stat.S_IMODE(memory.path.stat().st_mode) == 0o600
        assert stat.S_IMODE(memory.path.parent.stat().st_mode) == 0o700
    other = Witness(memory.path.parent, Path("other.db"))
    assert other.path != memory.path
    other.path.write_bytes(memory.path.read_bytes())  # of another database: it says nothing here
    assert other.ends() == {}
    memory.path.write_bytes(b"no JSON")
    assert memory.ends() == {}
    memory.forget()
    memory.forget()
    assert not memory.path.exists()


def gone(store: Store, chain: str, keep: int) -> None:
    """Cut a chain off from a place on, with all that the database itself says of it."""
    writing = store._writing
    assert writing is not None
    with writing.connection.begin():
        for name in ("journal_never_deleted", "journal_never_updated"):
            writing.connection.exec_driver_sql(f"DROP TRIGGER IF EXISTS {name}")
        writing.connection.exec_driver_sql(
            "DELETE FROM journal WHERE chain = ? AND seq >= ?", (chain, keep)
        )
    store.rebuild_projections()


def test_what_was_cut_off_is_missed_in_all_chains_or_in_one(store: Store, memory: Witness) -> None:
    for count, chain in enumerate("abc"):
        run_shift(store, chain, 60.0 * count)
    store.append(SITE, [note(200)], minutes(200))
    memory.look(store, minutes(300))
    gone(store, "c", 2)
    gone(store, SITE, 0)
    told = {str(one): (one.chain, one.seq) for one in memory.faults(store)}
    assert told == {
        "Entry 2 of shift c is missing or was changed: it was seen on 2026-05-07 11:00.": ("c", 2),
        "Entry 0 of the site's chain is missing or was changed: it was seen on 2026-05-07 11:00.": (
            SITE,
            0,
        ),
    }
    assert [one.chain for one in memory.faults(store, "c")] == ["c"]
    assert list(memory.faults(store, "a")) == []
    memory.look(store, minutes(400))  # looking again does not learn the forgery
    assert len(list(memory.faults(store))) == 2


def test_a_chain_that_goes_on_after_a_cut_is_still_missed(store: Store, memory: Witness) -> None:
    store.append("a", [started(), note(1), note(2)], minutes(2))
    memory.look(store, minutes(5))
    gone(store, "a", 1)
    store.append("a", [note(11), note(12), note(13)], minutes(13))
    memory.look(store, minutes(20))
    assert memory.ends()["a"].seq == 2
    assert [one.seq for one in memory.faults(store)] == [2]


def test_a_shift_that_runs_is_seen_however_many_came_after(store: Store, memory: Witness) -> None:
    store.append("running", [started(0)], minutes(0))
    for count in range(8):
        run_shift(store, f"later {count}", 60.0 * count + 30)
    memory.look(store, minutes(999))
    assert "running" in memory.ends()
    newest = {f"later {count}" for count in (3, 4, 5, 6, 7)}
    assert {*memory.ends()} == {"running", *newest}
    gone(store, "later 0", 0)  # it is not among those that are looked at, and was not seen
    assert list(memory.faults(store)) == []


def test_the_ones_written_last_are_remembered(
    store: Store, memory: Witness, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(witness, "MOST_CHAINS", 3)
    monkeypatch.setattr(witness, "_NEWEST", 1)
    for count, chain in enumerate("abcde"):
        run_shift(store, chain, 60.0 * count)
        memory.look(store, minutes(60 * count + 30))
    assert {*memory.ends()} == {"c", "d", "e"}
    store.append("c", [note(400)], minutes(400))
    memory.look(store, minutes(401))
    run_shift(store, "f", 500.0)
    memory.look(store, minutes(600))
    assert [*memory.ends()] == ["e", "c", "f"]
