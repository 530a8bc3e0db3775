"""Entries picked out of the pages of a file, whatever sizes they have.

The format: https://www.sqlite.org/fileformat2.html.
"""

import random
import sqlite3
import struct
from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from tests.some import some
from washmon.store.carve import _varint, carve
from washmon.store.fresh import StoredRow

TABLE = (
    "CREATE TABLE journal (chain TEXT, seq INTEGER, recorded_at TEXT, body BLOB, hash TEXT, "
    "PRIMARY KEY (chain, seq)) WITHOUT ROWID"
)
PLACES = (0, 1, 2, 127, 128, 32_767, 32_768, 2**23 - 1, 2**23, 2**31, 2**40, 2**47, 2**62)
"""SQLite stores a number in 0, 1, 2, 3, 4, 6 or 8 bytes (section 2.1)."""


def written(path: Path, page: int, rows: list[StoredRow]) -> None:
    db = sqlite3.connect(path)
    db.execute(f"PRAGMA page_size = {page}")
    db.execute(TABLE)
    db.executemany("INSERT INTO journal VALUES (?, ?, ?, ?, ?)", rows)
    db.commit()
    db.close()


def a_row(seq: int, length: int = 40, chain: str = "a shift") -> StoredRow:
    return StoredRow(chain, seq, "2026-05-07T07:00:00+00:00", b"x" * length, f"{seq:064x}")


@pytest.mark.parametrize("page", [512, 1024, 4096, 65_536])
def test_bodies_of_all_lengths_are_put_together_from_the_pages_they_spill_over(
    tmp_path: Path, page: int
) -> None:
    # About where a cell no longer fits in its page, and where its rest fills whole pages (1.6).
    most, least = (page - 12) * 64 // 255 - 23, (page - 12) * 32 // 255 - 23
    near = {
        base + turn * (page - 4) + by
        for base in (least, most)
        for turn in (0, 1, 2)
        for by in range(-120, 5, 4 if page > 512 else 1)
    }
    rows = [a_row(seq, length) for seq, length in enumerate(sorted(one for one in near if one > 0))]
    written(tmp_path / "shed.db", page, rows)
    assert sorted(carve(tmp_path / "shed.db")) == rows


def test_places_of_all_sizes_are_read(tmp_path: Path) -> None:
    rows = [a_row(seq) for seq in PLACES]
    written(tmp_path / "shed.db", 4096, rows)
    assert sorted(carve(tmp_path / "shed.db")) == rows


def test_a_record_of_another_kind_is_no_entry(tmp_path: Path) -> None:
    odd = [
        ("a shift", -1, "time", b"x", "hash"),  # no place
        ("a shift", 1.5, "time", b"x", "hash"),
        ("a shift", 2, "time", "a text", "hash"),
        ("a shift", 3, b"time", b"x", "hash"),
        ("a shift", 4, None, b"x", "hash"),
    ]
    db = sqlite3.connect(tmp_path / "shed.db")
    db.execute(TABLE.replace(" INTEGER", "").replace(" TEXT", "").replace(" BLOB", ""))
    db.executemany("INSERT INTO journal VALUES (?, ?, ?, ?, ?)", odd)
    db.commit()
    db.close()
    assert list(carve(tmp_path / "shed.db")) == []


@pytest.mark.parametrize("page", [512, 1024, 2048, 4096, 8192, 16_384, 32_768, 65_536])
def test_pages_of_every_size_are_told_apart(tmp_path: Path, page: int) -> None:
    rows = [a_row(seq, page // 9) for seq in range(20)]
    written(tmp_path / "shed.db", page, rows)
    assert sorted(carve(tmp_path / "shed.db")) == rows


@pytest.mark.parametrize("told", [0, 2, 256, 511, 4095, 4097, 6144])
def test_where_the_head_tells_no_size_the_usual_one_is_taken(tmp_path: Path, told: int) -> None:
    """A power of two from 512 to 32,768, or 1 for 65,536 (section 1.3.2)."""
    rows = [a_row(seq, 500) for seq in range(20)]
    written(tmp_path / "shed.db", 4096, rows)
    content = (tmp_path / "shed.db").read_bytes()
    (tmp_path / "shed.db").write_bytes(content[:16] + struct.pack(">H", told) + content[18:])
    assert sorted(carve(tmp_path / "shed.db")) == rows


@pytest.fixture
def small(tmp_path: Path) -> tuple[Path, list[StoredRow]]:
    """A file of some forty pages of 512 bytes: leaves, inner pages and long bodies."""
    rows = [a_row(seq, 900 if seq % 7 == 0 else 60) for seq in range(60)]
    written(tmp_path / "shed.db", 512, rows)
    return tmp_path / "shed.db", rows


def test_of_a_file_that_ends_anywhere_whole_entries_are_found_and_nothing_else(
    small: tuple[Path, list[StoredRow]],
) -> None:
    path, rows = small
    content = path.read_bytes()
    found = []
    for length in range(0, len(content), 211):
        path.write_bytes(content[:length])
        carved = list(carve(path))
        assert set(carved) <= set(rows)
        found.append(len(carved))
    assert found[0] == 0
    assert found[-1] > 50
    assert sorted(found) == found  # more of the file holds more of the entries


def test_no_damage_stops_the_search(small: tuple[Path, list[StoredRow]]) -> None:
    path, rows = small
    whole = path.read_bytes()
    left = []
    for seed in range(60):
        chance = random.Random(seed)  # noqa: S311 - repeatable, not secret
        content = bytearray(whole)
        for _ in range(20):
            content[chance.randrange(len(content))] = chance.randrange(256)
        path.write_bytes(content)
        left.append(len(set(carve(path)) & set(rows)))
    assert all(count > 20 for count in some(left))


def a_log(salt: bytes, size: int, *frames: tuple[int, int, bytes, bytes]) -> bytes:
    """A log of pages: number, pages after a commit (0: not committed), salt, content (4.1)."""
    head = struct.pack(">IIII", 0x377F0682, 3007000, size, 0) + salt + bytes(8)
    return head + b"".join(
        struct.pack(">II", number, commits) + of + bytes(8) + page
        for number, commits, of, page in frames
    )


@pytest.fixture
def pages(tmp_path: Path) -> list[bytes]:
    """Pages of 1024 bytes with one entry each: of place 0, 1, 2 and 3."""
    made = []
    for seq in range(4):
        written(tmp_path / f"{seq}.db", 1024, [a_row(seq)])
        made.append((tmp_path / f"{seq}.db").read_bytes()[1024:2048])
    return made


SALT, OLD = b"saltsalt", b"stalesal"


def of_log(folder: Path, pages: list[bytes], log: bytes) -> list[int]:
    """The places that are found in a file of three pages, the last two being 0 and 1, and a log."""
    path = folder / "shed.db"
    head = bytearray(1024)
    head[16:18] = struct.pack(">H", 1024)
    path.write_bytes(bytes(head) + pages[0] + pages[1])
    path.with_name("shed.db-wal").write_bytes(log)
    return [row.seq for row in carve(path)]


def test_what_the_log_has_committed_is_read_instead_and_nothing_else_of_it(
    tmp_path: Path, pages: list[bytes]
) -> None:
    third, fourth = pages[2:]
    committed, open_yet = (2, 3, SALT, third), (3, 0, SALT, fourth)
    cases = [
        ([], [0, 1]),
        ([committed], [2, 1]),
        ([committed, open_yet], [2, 1]),  # the power went before it was committed
        ([open_yet, committed], [2, 3]),  # one transaction of two pages
        ([committed, (3, 3, OLD, fourth)], [2, 1]),  # left of an older turn of the log
        ([(2, 3, OLD, third), (3, 3, SALT, fourth)], [0, 1]),
        ([committed, (2, 3, SALT, fourth)], [3, 1]),  # the later one counts
        ([(4, 4, SALT, third)], [0, 1, 2]),  # a page that the file has not yet
        ([(7, 7, SALT, third)], [0, 1, 2]),
    ]
    for frames, expected in cases:
        assert of_log(tmp_path, pages, a_log(SALT, 1024, *frames)) == expected, frames


def test_a_log_that_ends_within_a_page_counts_up_to_there(
    tmp_path: Path, pages: list[bytes]
) -> None:
    log = a_log(SALT, 1024, (2, 3, SALT, pages[2]), (3, 3, SALT, pages[3]))
    for lost, expected in ((0, [2, 3]), (1, [2, 1]), (1023, [2, 1]), (1024 + 20, [2, 1])):
        assert of_log(tmp_path, pages, log[: len(log) - lost]) == expected
    for length in (0, 16, 24, 31, 32):
        assert of_log(tmp_path, pages, log[:length]) == [0, 1]


def as_varint(number: int) -> bytes:
    """Seven bits to the byte, the highest says that more follow; a ninth byte has all eight."""
    if number < 2**56:
        parts = [number >> shift & 0x7F for shift in range(49, -1, -7)]
        while len(parts) > 1 and parts[0] == 0:
            parts.pop(0)
        return bytes([*(part | 0x80 for part in parts[:-1]), parts[-1]])
    parts = [number >> shift & 0x7F | 0x80 for shift in range(57, 7, -7)]
    return bytes([*parts, number & 0xFF])


@example(2**56 - 1, b"")
@example(2**56, b"")
@example(2**64 - 1, b"before")
@given(st.integers(0, 63).flatmap(lambda bits: st.integers(0, 2 << bits)), st.binary(max_size=3))
def test_numbers_of_one_to_nine_bytes_are_read(number: int, before: bytes) -> None:
    number = min(number, 2**64 - 1)
    stored = as_varint(number)
    assert 1 <= len(stored) <= 9
    assert _varint(before + stored + b"\xff", len(before)) == (number, len(before) + len(stored))
