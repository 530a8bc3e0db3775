"""Entries picked out of the pages of a file, whatever sizes they have.

The format: https://www.sqlite.org/fileformat2.html.
"""

import sqlite3
from pathlib import Path

import pytest

from washmon.store.carve import carve
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
