"""A determined hand, with the guards off: whatever it changes of a shift is found and named."""

import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.store.conftest import Sql, beside_guards
from tests.store.make_sample import fill
from tests.store.shed import batch, minutes, note
from washmon.line.journal import encode, link
from washmon.store import Store

CHAIN = "wed"  # the shift of the sample with every kind of event
LENGTH = 13


@pytest.fixture
def store(where: str, unguarded: Callable[[], None]) -> Iterator[Store]:
    with Store.open(where) as store:
        fill(store)
        unguarded()
        assert len(store.entries(CHAIN)) == LENGTH
        assert beside_guards(store) == []
        yield store


def flipped(value: object) -> Iterator[object]:
    """Values that differ from a stored one in one place: each character or byte in turn."""
    match value:
        case int():
            yield from (value + 1, value + 1000)
        case str():
            for place, letter in enumerate(value):
                yield value[:place] + chr(ord(letter) ^ 1) + value[place + 1 :]
        case bytes():
            for place, byte in enumerate(value):
                yield value[:place] + bytes([byte ^ 1]) + value[place + 1 :]


def change(by_hand: Sql, seq: int, field: str, value: object) -> None:
    place = "chain = :chain AND seq = :seq"
    by_hand(f"UPDATE journal SET {field} = :value WHERE {place}", value=value, chain=CHAIN, seq=seq)  # noqa: S608 - ours


def named(store: Store) -> set[tuple[str | None, int | None]]:
    return {(fault.chain, fault.seq) for fault in beside_guards(store)}


@pytest.mark.parametrize("seq", range(LENGTH))
def test_every_field_of_every_entry_is_guarded(store: Store, by_hand: Sql, seq: int) -> None:
    row = store.rows(CHAIN)[seq]
    for field, value in (
        ("hash", row.hash),
        ("recorded_at", row.recorded_at.isoformat()),
        ("body", row.body),
    ):
        # The first, the middle and the last character; the next test takes every one.
        *_, last = values = list(flipped(value))
        for other in (values[0], values[len(values) // 2], last):
            change(by_hand, seq, field, other)
            assert (CHAIN, seq) in named(store), (field, other)
        change(by_hand, seq, field, value)
    assert beside_guards(store) == []


def test_every_single_byte_of_an_entry_is_guarded(tmp_path: Path) -> None:
    with Store.open(tmp_path / "shed.db") as store:
        fill(store)
        db = sqlite3.connect(store.path, isolation_level=None)
        db.execute("PRAGMA synchronous = OFF")
        for name in ("journal_never_updated", "journal_only_extended"):
            db.execute(f"DROP TRIGGER {name}")
        count = 0
        for row in store.rows(CHAIN)[2:5]:
            place = (CHAIN, row.seq)
            at = row.recorded_at.isoformat()
            for field, value in (("hash", row.hash), ("recorded_at", at), ("body", row.body)):
                sql = f"UPDATE journal SET {field} = ? WHERE chain = ? AND seq = ?"  # noqa: S608 - ours
                for other in flipped(value):
                    db.execute(sql, (other, *place))
                    assert place in named(store), (field, other)
                    count += 1
                db.execute(sql, (value, *place))
        db.close()
        assert beside_guards(store) == []
        assert count > 600


@pytest.mark.parametrize("seq", range(LENGTH))
def test_a_place_or_a_shift_that_was_changed_is_found(store: Store, by_hand: Sql, seq: int) -> None:
    change(by_hand, seq, "seq", 99)
    assert (CHAIN, seq) in named(store)
    by_hand("UPDATE journal SET seq = :seq WHERE seq = 99", seq=seq)
    change(by_hand, seq, "chain", "nowhere")
    assert (CHAIN, seq) in named(store)
    if seq > 0:
        assert ("nowhere", 0) in named(store)


@pytest.mark.parametrize("seq", range(LENGTH))
def test_each_removed_entry_is_found(store: Store, by_hand: Sql, seq: int) -> None:
    by_hand("DELETE FROM journal WHERE chain = :chain AND seq = :seq", chain=CHAIN, seq=seq)
    assert (CHAIN, seq) in named(store)


def test_each_of_several_changes_is_named(store: Store, by_hand: Sql) -> None:
    for seq in (1, 4):
        change(by_hand, seq, "body", store.rows(CHAIN)[seq].body + b" ")
    by_hand("DELETE FROM journal WHERE chain = :chain AND seq = :seq", chain=CHAIN, seq=LENGTH - 2)
    assert [fault.seq for fault in beside_guards(store)] == [1, 4, LENGTH - 2]


@pytest.mark.parametrize("seq", range(LENGTH - 1))
def test_two_swapped_entries_are_found(store: Store, by_hand: Sql, seq: int) -> None:
    for was, becomes in ((seq, 99), (seq + 1, seq), (99, seq + 1)):
        change(by_hand, was, "seq", becomes)
    assert (CHAIN, seq) in named(store)


@pytest.mark.parametrize("seq", range(LENGTH + 1))
def test_each_inserted_entry_is_found_even_with_a_hash_that_fits(
    store: Store, by_hand: Sql, seq: int
) -> None:
    rows = store.rows(CHAIN)
    for place in range(LENGTH - 1, seq - 1, -1):
        change(by_hand, place, "seq", place + 1)
    at, body = minutes(1), encode(batch(1, "LB-9"))
    digest = link(rows[seq - 1].hash if seq else "0" * 64, CHAIN, seq, at, body)
    by_hand(
        "INSERT INTO journal VALUES (:chain, :seq, :at, :body, :hash)",
        chain=CHAIN,
        seq=seq,
        at=at.isoformat(),
        body=body,
        hash=digest,
    )
    # It follows from what was before it, so what comes after it is what does not follow.
    assert (CHAIN, min(seq + 1, LENGTH)) in named(store)


def test_a_chain_that_was_forged_to_its_end_is_missed_by_what_remembers_its_end(
    store: Store, by_hand: Sql
) -> None:
    before = store.rows(CHAIN)[LENGTH - 2]
    at, body = minutes(2902), encode(note(2902, "nothing happened"))
    digest = link(before.hash, CHAIN, LENGTH - 1, at, body)
    for field, value in (("recorded_at", at.isoformat()), ("body", body), ("hash", digest)):
        change(by_hand, LENGTH - 1, field, value)
    assert CHAIN in {fault.chain for fault in beside_guards(store)}
