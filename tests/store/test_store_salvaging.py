import random
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.store.shed import batch, minutes, note, run_shift, started
from washmon.line.journal import GENESIS, SITE, encode, link
from washmon.store import (
    CannotWrite,
    NotADatabase,
    RawEntry,
    Store,
    StoreInUse,
    StoreUnavailable,
    salvage,
)
from washmon.store.fresh import StoredRow
from washmon.store.salvage import NO_LIST, _best, _losses, _runs

CHAINS = [f"shift-{count}" for count in range(6)]


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Six shifts over some fifty pages, with entries of all sizes: some fill pages of their own."""
    path = tmp_path / "shed.db"
    with Store.open(path) as store:
        for count, chain in enumerate(CHAINS):
            at = 60.0 * count
            extra = tuple(note(at + 2, f"{size} " * size) for size in (1, 30, 300, 3000, 9) * 6)
            run_shift(store, chain, at, extra)
    return path


@pytest.fixture
def whole(path: Path) -> dict[str, list[RawEntry]]:
    with Store.open(path, read_only=True) as store:
        return {chain: store.rows(chain) for chain in CHAINS}


def told_places(lost: tuple[str, ...]) -> Iterator[tuple[str, int]]:
    """The places that sentences of loss name."""
    for sentence in lost:
        words = sentence.rstrip(".").split()
        match words:
            case ["Entry", seq, "of", "shift", chain, *_]:
                yield chain, int(seq)
            case ["Entries", first, "to", last, "of", "shift", chain, *_]:
                yield from ((chain, seq) for seq in range(int(first), int(last) + 1))
            case ["All", count, "entries", "of", "shift", chain, *_]:
                yield from ((chain, seq) for seq in range(int(count)))


def check(path: Path, into: Path, whole: dict[str, list[RawEntry]]) -> tuple[int, int]:
    """Salvage; each entry must be there as it was, or be told. Return how many were saved of all.

    What is at the very end of a shift may be lost untold where the list of shifts is lost as well;
    then that is said.
    """
    before = path.read_bytes()
    done = salvage(path, into)
    assert path.read_bytes() == before
    told = set(told_places(done.lost))
    saved = 0
    with Store.open(into) as store:
        for chain, rows in whole.items():
            found = {row.seq: row for row in store.rows(chain)}
            assert done.kept.get(chain, 0) == len(found)
            for row in rows:
                if found.get(row.seq) == row:
                    saved += 1
                elif row.seq < max(found, default=0) or row.seq in found:
                    assert (chain, row.seq) in told, (chain, row.seq)
        store.append("after", [started(9999), batch(9999)], minutes(9999))
        assert "after" in [row.chain for row in store.shifts()]
    return saved, sum(map(len, whole.values()))


def test_a_sound_file_comes_over_whole(
    path: Path, tmp_path: Path, whole: dict[str, list[RawEntry]]
) -> None:
    done = salvage(path, tmp_path / "new.db")
    assert done.lost == ()
    assert done.kept == dict.fromkeys(CHAINS, 33)
    with (
        Store.open(tmp_path / "new.db", read_only=True) as new,
        Store.open(path, read_only=True) as old,
    ):
        assert {chain: new.rows(chain) for chain in CHAINS} == whole
        assert new.verify() == []
        assert new.shifts() == old.shifts()
    assert {"new.db"} == {file.name for file in tmp_path.glob("new*")}


@pytest.mark.parametrize("share", [0.98, 0.9, 0.5, 0.2])
def test_of_a_file_that_was_cut_off_the_beginning_is_saved(
    path: Path, tmp_path: Path, whole: dict[str, list[RawEntry]], share: float
) -> None:
    content = path.read_bytes()
    path.write_bytes(content[: int(len(content) * share)])
    saved, all_of_them = check(path, tmp_path / "new.db", whole)
    assert saved >= all_of_them * share * 0.6


@pytest.mark.parametrize("seed", range(12))
def test_of_a_file_with_flipped_bits_all_but_the_hit_entries_are_saved(
    path: Path, tmp_path: Path, whole: dict[str, list[RawEntry]], seed: int
) -> None:
    chance = random.Random(seed)  # noqa: S311 - repeatable, not secret
    content = bytearray(path.read_bytes())
    for _ in range(10):
        content[chance.randrange(len(content))] ^= 1 << chance.randrange(8)
    path.write_bytes(content)
    saved, all_of_them = check(path, tmp_path / "new.db", whole)
    assert saved >= all_of_them - 3 * 10  # a flip in the head of a page may hide its neighbours


@pytest.mark.parametrize("seed", range(4))
def test_of_a_file_with_holes_the_other_pages_are_saved(
    path: Path, tmp_path: Path, whole: dict[str, list[RawEntry]], seed: int
) -> None:
    chance = random.Random(seed)  # noqa: S311 - repeatable, not secret
    content = bytearray(path.read_bytes())
    pages = range(0, len(content), 4096)
    for begin in chance.sample(pages, len(pages) // 5):
        content[begin : begin + 4096] = chance.randbytes(4096)
    path.write_bytes(content)
    saved, all_of_them = check(path, tmp_path / "new.db", whole)
    assert saved > all_of_them * 0.3


def test_a_file_whose_head_is_gone_still_yields_its_entries(
    path: Path, tmp_path: Path, whole: dict[str, list[RawEntry]]
) -> None:
    content = path.read_bytes()
    path.write_bytes(bytes(4096) + content[4096:])
    with pytest.raises(StoreUnavailable):
        Store.open(path)
    saved, all_of_them = check(path, tmp_path / "new.db", whole)
    assert saved == all_of_them
    assert salvage(path, tmp_path / "once more.db").lost == (NO_LIST,)


def test_whole_shifts_may_be_lost_untold_only_where_that_is_said(
    path: Path, tmp_path: Path, whole: dict[str, list[RawEntry]]
) -> None:
    path.write_bytes(path.read_bytes()[: 16 * 4096])
    done = salvage(path, tmp_path / "new.db")
    gone = {*whole} - {*done.kept} - {chain for chain, _ in told_places(done.lost)}
    assert gone
    assert NO_LIST in done.lost


def test_entries_that_only_the_log_holds_are_saved(tmp_path: Path) -> None:
    path = tmp_path / "shed.db"
    with Store.open(path) as store:
        run_shift(store, "a")
        # As a crash would leave them: the log has not been folded into the file.
        left = {ending: (tmp_path / f"shed.db{ending}").read_bytes() for ending in ("", "-wal")}
        entries = store.entries("a")
    crashed = tmp_path / "crashed.db"
    crashed.write_bytes(b"\xff" * len(left[""]))
    crashed.with_name("crashed.db-wal").write_bytes(left["-wal"])
    assert salvage(crashed, tmp_path / "new.db").kept == {"a": 3}
    with Store.open(tmp_path / "new.db") as store:
        assert store.entries("a") == entries


def test_a_changed_entry_is_saved_and_named(path: Path, tmp_path: Path) -> None:
    db = sqlite3.connect(path)
    db.execute("DROP TRIGGER journal_never_updated")
    change = "CAST(replace(CAST(body AS TEXT), 'LB-0507-3', 'LB-0507-8') AS BLOB)"
    db.execute(f"UPDATE journal SET body = {change} WHERE chain = 'shift-2' AND seq = 1")  # noqa: S608 - ours
    db.commit()
    db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    db.execute("VACUUM")  # no older copy of it is left in the file
    db.close()
    done = salvage(path, tmp_path / "new.db")
    (sentence,) = done.lost
    assert sentence.startswith("Entry 1 of shift shift-2 was saved as it reads now")


def test_a_time_that_is_no_text_costs_its_own_entry_alone(
    path: Path, tmp_path: Path, whole: dict[str, list[RawEntry]]
) -> None:
    db = sqlite3.connect(path)
    db.execute("DROP TRIGGER journal_never_updated")
    db.execute(
        "UPDATE journal SET recorded_at = CAST(X'FFFE' || recorded_at AS TEXT) "
        "WHERE chain = 'shift-2' AND seq = 1"
    )
    db.execute("UPDATE shift SET chain = CAST(X'FF' AS TEXT) WHERE chain = 'shift-5'")
    db.commit()
    db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    db.execute("VACUUM")
    db.close()
    done = salvage(path, tmp_path / "new.db")
    kept = {chain: len(rows) - (chain == "shift-2") for chain, rows in whole.items()}
    assert done.kept == kept


def test_lost_shifts_and_lost_starts_are_told(path: Path, tmp_path: Path) -> None:
    db = sqlite3.connect(path)
    db.execute("DROP TRIGGER journal_never_deleted")
    db.execute("DELETE FROM journal WHERE chain = 'shift-1' OR chain = 'shift-3' AND seq < 2")
    db.execute("DELETE FROM journal WHERE chain = 'shift-4'")
    db.execute("DELETE FROM shift WHERE chain = 'shift-4'")
    db.commit()
    db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    db.execute("VACUUM")
    db.close()
    assert salvage(path, tmp_path / "new.db").lost == (
        "All 33 entries of shift shift-1 are lost.",
        "Entries 0 to 1 of shift shift-3 are lost.",
        "The start of shift shift-3 is lost, so the Logbook can't list it.",
        "Shift shift-4 is missing: shift shift-5 was started after it.",
    )


def a_row(seq: int, chain: str, before: str) -> StoredRow:
    at, body = minutes(seq), encode(note(seq))
    return StoredRow(chain, seq, at.isoformat(), body, link(before, chain, seq, at, body))


def rows_of(chain: str, count: int) -> list[StoredRow]:
    rows: list[StoredRow] = []
    for seq in range(count):
        rows.append(a_row(seq, chain, rows[-1].hash if rows else GENESIS))
    return rows


@pytest.mark.parametrize(
    ("kept", "expected", "told"),
    [
        ([0, 1, 2, 3], 4, []),
        ([0, 1, 2, 3], 0, []),  # the list of shifts is lost: nothing is expected
        ([0, 1, 2, 3], 3, []),  # or it is older
        ([0, 1, 2], 4, ["Entry 3 of {} is lost."]),
        ([0, 1], 4, ["Entries 2 to 3 of {} are lost."]),
        ([0, 3], 4, ["Entries 1 to 2 of {} are lost."]),
        ([0, 2], 3, ["Entry 1 of {} is lost."]),
        ([], 4, ["All 4 entries of {} are lost."]),
        ([], 0, ["All that was found of {} is lost."]),  # and the list of shifts
    ],
)
@pytest.mark.parametrize("chain", ["a", SITE])
def test_what_is_lost_is_told_by_its_places(
    kept: list[int], expected: int, told: list[str], chain: str
) -> None:
    rows = rows_of(chain, 4)
    where = "the site's chain" if chain == SITE else "shift a"
    found = list(_losses(chain, [rows[place] for place in kept], expected))
    assert found == [sentence.format(where) for sentence in told]


def test_a_lost_start_is_told_of_a_shift_alone_as_the_site_needs_none() -> None:
    (lost, unlisted) = _losses("a", rows_of("a", 3)[1:], 3)
    assert (lost, unlisted) == (
        "Entry 0 of shift a is lost.",
        "The start of shift a is lost, so the Logbook can't list it.",
    )
    assert list(_losses(SITE, rows_of(SITE, 3)[1:], 3)) == ["Entry 0 of the site's chain is lost."]


@pytest.mark.parametrize("place", [0, 1, 2])
def test_an_entry_that_does_not_follow_is_named_once(place: int) -> None:
    rows = rows_of("a", 3)
    rows[place] = rows[place]._replace(body=encode(note(place, "something else")))
    (said,) = _losses("a", rows, 3)
    assert said.startswith(f"Entry {place} of shift a was saved as it reads now")


def test_of_several_at_a_place_the_one_that_follows_is_kept() -> None:
    """A page may hold what a deleted row, or a turn of the log, left of an older journal."""
    rows = rows_of("a", 3)
    older = rows[1]._replace(body=encode(note(1, "older")), hash="0" * 64)
    broken = rows[2]._replace(body=b"{no entry")
    zoneless = rows[0]._replace(recorded_at="2026-05-07T06:00:00")
    places = {0: [zoneless, rows[0]], 1: [older, rows[1]], 2: [broken, rows[2]]}
    assert list(_best("a", places)) == rows
    assert list(_best("a", places | {1: [older]})) == [rows[0], older, rows[2]]
    assert list(_best("a", {0: [rows[0]], 1: [broken], 2: [rows[2]]})) == [rows[0], rows[2]]


def test_a_shift_that_nothing_tells_of_but_what_can_not_be_read_is_named(tmp_path: Path) -> None:
    path = tmp_path / "shed.db"
    with Store.open(path) as store:
        run_shift(store, "a")
    db = sqlite3.connect(path)
    db.execute("INSERT INTO journal VALUES ('b', 0, 'noon', X'7B7D', 'hash')")
    db.commit()
    db.close()
    assert salvage(path, tmp_path / "new.db").lost == ("All that was found of shift b is lost.",)


def test_what_other_shifts_say_was_there_is_told_beside_what_the_list_knows(
    path: Path, tmp_path: Path
) -> None:
    db = sqlite3.connect(path)
    db.execute("DROP TRIGGER journal_never_deleted")
    db.execute("DELETE FROM journal WHERE chain IN ('shift-1', 'shift-3')")
    db.execute("DELETE FROM shift WHERE chain = 'shift-3'")
    db.execute("UPDATE shift SET entries = 'many' WHERE chain = 'shift-2'")
    db.commit()
    db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    db.execute("VACUUM")
    db.close()
    assert salvage(path, tmp_path / "new.db").lost == (
        "All 33 entries of shift shift-1 are lost.",
        "Shift shift-3 is missing: shift shift-4 was started after it.",
    )


def test_salvage_overwrites_nothing_and_keeps_off_what_is_in_use(
    path: Path, tmp_path: Path
) -> None:
    (tmp_path / "new.db").write_bytes(b"mine")
    with pytest.raises(CannotWrite, match="there is a file of this name"):
        salvage(path, tmp_path / "new.db")
    with Store.open(path), pytest.raises(StoreInUse):
        salvage(path, tmp_path / "other.db")
    assert not (tmp_path / "other.db").exists()


@pytest.mark.parametrize(
    "content",
    [b"", b"hello", bytes(20_000), random.Random(1).randbytes(40_000)],  # noqa: S311 - no secret
    ids=["empty", "text", "zeros", "noise"],
)
def test_a_file_without_entries_gets_a_clear_sentence(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "holiday.jpg"
    path.write_bytes(content)
    with pytest.raises(NotADatabase):
        salvage(path, tmp_path / "new.db")
    assert not list(tmp_path.glob("new*"))


def test_places_that_follow_each_other_are_told_together() -> None:
    assert list(_runs([1, 2, 3, 7, 9, 10])) == [(1, 3), (7, 7), (9, 10)]
    assert list(_runs([])) == []
