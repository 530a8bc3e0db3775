import sqlite3
from collections.abc import Callable
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.store.shed import batch, minutes, note, run_shift, started
from tests.strategies import events, times
from washmon.line.events import DoseAdded, Event
from washmon.line.flags import Amount
from washmon.line.journal import GENESIS, extend, link, verify
from washmon.store import CannotWrite, Damaged, Store, StoreBug, StoreUnavailable, projecting
from washmon.store.errors import ChainTaken
from washmon.store.store import NOT_SAVED, SAVED_AFTER_ALL
from washmon.store.writing import Doubt


def test_appended_entries_come_back_equal_in_a_later_run(where: str) -> None:
    with Store.open(where) as store:
        first = store.append("a", [started()], minutes(0))
        rest = store.append("a", [batch(1), note(2)], minutes(2))
    with Store.open(where) as store:
        assert store.entries("a") == [*first, *rest]
        assert [entry.seq for entry in store.entries("a")] == [0, 1, 2]
        assert store.head("a") == rest[-1].hash


def test_what_was_written_since_it_was_opened_is_told_the_newest_last(tmp_path: Path) -> None:
    with Store.open(tmp_path / "shed.db") as store:
        assert list(store.touched) == []
        for chain, at in (("a", 0), ("b", 20), ("a", 30)):
            store.append(chain, [note(at) if at else started()], minutes(at))
        assert list(store.touched) == ["b", "a"]
        store.rebuild_projections()
        assert list(store.touched) == ["b", "a"]
    with Store.open(tmp_path / "shed.db", read_only=True) as store:
        assert list(store.touched) == []


def test_an_entry_is_linked_to_the_one_before_it_also_after_a_restart(where: str) -> None:
    with Store.open(where) as store:
        store.append("a", [started()], minutes(0))
    with Store.open(where) as store:
        store.append("a", [note(1)], minutes(1))
        first, second = store.rows("a")
    assert first.hash == link(GENESIS, "a", 0, first.recorded_at, first.body)
    assert second.hash == link(first.hash, "a", 1, second.recorded_at, second.body)


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(steps=st.lists(st.tuples(st.lists(events(), max_size=3), times()), max_size=4))
def test_any_sequence_of_events_comes_back_equal_and_verifies(
    new_place: Callable[[], str], steps: list[tuple[list[Event], datetime]]
) -> None:
    where = new_place()
    with Store.open(where) as store:
        appended = [entry for step in steps for entry in store.append("a", *step)]
    with Store.open(where) as store:
        assert store.entries("a") == appended
        assert verify("a", store.rows("a")) == len(appended)
        kept = store.shifts()
        store.rebuild_projections()
        assert store.shifts() == kept


def test_a_shift_that_goes_on_is_not_read_anew_for_each_entry(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> None:
        raise AssertionError("read anew")

    with Store.open(tmp_path / "shed.db") as store:
        store.append("a", [started()], minutes(0))
        monkeypatch.setattr(projecting, "read_rows", refuse)
        assert [one.seq for one in store.append("a", [batch(1), note(2)], minutes(2))] == [1, 2]
    # Nobody remembers it in a later run: then it is read.
    with (
        Store.open(tmp_path / "shed.db") as store,
        pytest.raises(AssertionError, match="read anew"),
    ):
        store.append("a", [note(3)], minutes(3))


def test_a_chain_that_is_to_begin_begins_once(where: str) -> None:
    with Store.open(where) as store:
        kept = store.begin("a", [started()], minutes(0))
        with pytest.raises(ChainTaken, match="There is a record a already"):
            store.begin("a", [started(1)], minutes(1))
        assert store.entries("a") == list(kept)
        store.append("a", [note(2)], minutes(2))
        assert store.verify() == []


def test_chains_do_not_touch_each_other(where: str) -> None:
    with Store.open(where) as store:
        for count in range(3):
            for chain in ("a", "b"):
                store.append(chain, [note(count, chain)], minutes(count))
        assert [entry.seq for entry in store.entries("b")] == [0, 1, 2]
        assert store.verify() == []


def test_the_time_of_writing_keeps_its_offset_to_the_letter(where: str) -> None:
    at = datetime(2026, 5, 7, 6, 0, 0, 123456, timezone(timedelta(hours=-7, minutes=-30)))
    with Store.open(where) as store:
        store.append("a", [note(0)], at)
        assert store.rows("a")[0].recorded_at.isoformat() == at.isoformat()


def test_a_time_without_a_zone_is_a_bug(where: str) -> None:
    with Store.open(where) as store:
        with pytest.raises(StoreBug, match="no time zone"):
            store.append("a", [note(0)], datetime(2026, 5, 7))  # noqa: DTZ001 - on purpose
        assert store.entries("a") == []


def test_what_could_not_be_read_back_is_not_written(where: str) -> None:
    lost = Amount(float("nan"), "mL")  # JSON has no NaN
    with Store.open(where) as store:
        store.append("a", [note(0)], minutes(0))
        dose = DoseAdded(at=minutes(1), by="RM", tank=1, product="jug", amount=lost)
        with pytest.raises(StoreBug, match="could not be read back"):
            store.append("a", [note(1), dose], minutes(1))
        assert len(store.entries("a")) == 1
        store.append("a", [note(2)], minutes(2))
        assert store.verify() == []


def test_no_events_leave_no_trace(where: str) -> None:
    with Store.open(where) as store:
        assert store.append("a", [], minutes(0)) == ()
        assert store.head("a") is None


def test_commits_are_durable_and_readers_do_not_block_them(tmp_path: Path) -> None:
    with Store.open(tmp_path / "shed.db") as store:
        assert store._writing is not None
        connection = store._writing._connection
        with connection.begin():
            pragma = {
                name: connection.exec_driver_sql(f"PRAGMA {name}").scalar()
                for name in (
                    "synchronous",
                    "fullfsync",
                    "checkpoint_fullfsync",
                    "journal_mode",
                    "busy_timeout",
                    "foreign_keys",
                )
            }
        full = 2  # https://www.sqlite.org/pragma.html#pragma_synchronous
        assert pragma == {
            "synchronous": full,
            "fullfsync": 1,
            "checkpoint_fullfsync": 1,
            "journal_mode": "wal",
            "busy_timeout": 5000,
            "foreign_keys": 1,
        }


def test_a_writing_transaction_takes_the_lock_when_it_begins(tmp_path: Path) -> None:
    path = tmp_path / "shed.db"
    with Store.open(path) as store:
        assert store._writing is not None
        other = sqlite3.connect(path, timeout=0, isolation_level=None)
        with store._writing._connection.begin(), pytest.raises(sqlite3.OperationalError):
            other.execute("BEGIN IMMEDIATE")
        other.close()


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE journal SET body = x'00' WHERE seq = 0",
        "DELETE FROM journal WHERE seq = 1",
        "REPLACE INTO journal SELECT chain, seq, recorded_at, x'00', hash FROM journal LIMIT 1",
        "INSERT INTO journal SELECT chain, seq + 9, recorded_at, body, hash FROM journal LIMIT 1",
    ],
)
def test_a_careless_hand_is_kept_off_the_journal(tmp_path: Path, sql: str) -> None:
    path = tmp_path / "shed.db"
    with Store.open(path) as store:
        store.append("a", [note(0), note(1)], minutes(1))
    db = sqlite3.connect(path)
    with pytest.raises(sqlite3.IntegrityError, match="append-only"):
        db.execute(sql)
    db.close()


def test_a_store_that_is_behind_the_file_links_onto_the_file(where: str) -> None:
    with Store.open(where) as store:
        store.append("a", [note(0)], minutes(0))
        assert store._writing is not None
        store._writing._folds["a"] = store._writing._folds["a"].then(
            store.append("a", [note(1)], minutes(1))
        )
        store._writing._folds["a"] = store._writing._folds["a"].then(store.entries("a")[:1])
        store.append("a", [note(2)], minutes(2))
        assert verify("a", store.rows("a")) == 3


def test_a_table_that_is_gone_is_damage(tmp_path: Path) -> None:
    with Store.open(tmp_path / "shed.db") as store:
        db = sqlite3.connect(store.path)
        db.execute("DROP TABLE shift")
        db.close()
        with pytest.raises(Damaged, match="no such table"):
            store.shifts()


def test_a_bug_in_a_statement_is_told_as_one(tmp_path: Path) -> None:
    with (
        Store.open(tmp_path / "shed.db") as store,
        pytest.raises(StoreBug, match="syntax error"),
        store._asking() as connection,
    ):
        connection.exec_driver_sql("SELEKT 1")


def test_an_event_of_a_later_version_is_named(tmp_path: Path) -> None:
    with Store.open(tmp_path / "shed.db") as store:
        at = minutes(0)
        body = b'{"event":"moon landed on"}'
        db = sqlite3.connect(store.path)
        row = ("a", 0, at.isoformat(), body, link(GENESIS, "a", 0, at, body))
        db.execute("INSERT INTO journal VALUES (?, ?, ?, ?, ?)", row)
        db.commit()
        db.close()
        assert store.verify() == []
        with pytest.raises(StoreUnavailable, match=r"Entry 0 .* newer version"):
            store.entries("a")


def test_a_closed_store_saves_nothing(where: str) -> None:
    store = Store.open(where)
    run_shift(store, "a")
    store.close()
    store.close()
    with pytest.raises(CannotWrite):
        store.append("a", [note(20)], minutes(20))


def test_what_was_in_doubt_and_is_there_is_not_written_again(where: str) -> None:
    with Store.open(where) as store:
        writing = store._writing
        assert writing is not None
        saved = store.append("a", [started(), note(1)], minutes(1))
        writing.doubt = Doubt("a", saved)
        assert store.append("a", [started(), note(1)], minutes(5)) == saved
        assert writing.doubt is None
        writing.doubt = Doubt("a", saved)
        assert store.heed() == SAVED_AFTER_ALL
        (more,) = store.append("a", [note(1)], minutes(6))  # the same words once more
        assert more.seq == 2
        assert store.heed() == ""
        assert len(store.entries("a")) == 3


def test_what_was_in_doubt_and_is_not_there_is_written_when_it_is_entered_again(where: str) -> None:
    with Store.open(where) as store:
        writing = store._writing
        assert writing is not None
        (first,) = store.append("a", [started()], minutes(0))
        lost = Doubt("a", tuple(entry for entry, _ in extend("a", first, [note(1)], minutes(1))))
        writing.doubt = lost
        assert store.heed() == NOT_SAVED
        writing.doubt = lost
        (again,) = store.append("a", [note(1)], minutes(1))
        assert again == lost.entries[0]
        assert [entry.seq for entry in store.entries("a")] == [0, 1]
        assert store.verify() == []


def test_a_doubt_is_of_the_very_events_of_its_shift(where: str) -> None:
    with Store.open(where) as store:
        doubt = Doubt("a", store.append("a", [started(), note(1)], minutes(1)))
    assert doubt.is_of("a", [started(), note(1)])
    assert not doubt.is_of("b", [started(), note(1)])
    assert not doubt.is_of("a", [started()])
    assert not doubt.is_of("a", [started(), note(2)])
