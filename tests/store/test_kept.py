"""What was made of ended shifts is kept beside the database, and forgotten whenever in doubt."""

import os
import sqlite3
from pathlib import Path

import pytest

from washmon.store.kept import Kept, KeptText

PLACE = Path("shed.db")
TEXT = KeptText("head", 3, "α, β\n" * 40)


def test_what_was_kept_is_there_in_a_later_run_of_the_same_program(tmp_path: Path) -> None:
    chains = [f"shift {number}" for number in range(401)]  # more than are asked for at once
    with Kept(tmp_path / "state", PLACE, "1.0") as kept:
        for chain in chains:
            kept.put("csv", chain, TEXT)
        kept.put("csv", chains[0], TEXT._replace(rows=4))
        kept.put("parts", chains[1], TEXT)
    with Kept(tmp_path / "state", PLACE, "1.0") as kept:
        found = kept.texts("csv", chains)
        assert found == dict.fromkeys(chains, TEXT) | {chains[0]: TEXT._replace(rows=4)}
        assert kept.texts("parts", chains) == {chains[1]: TEXT}
    with Kept(tmp_path / "state", Path("other.db"), "1.0") as kept:
        assert kept.texts("csv", chains) == {}


@pytest.mark.skipif(os.name == "nt", reason="Windows has other rights")
def test_it_is_for_its_owner_alone(tmp_path: Path) -> None:
    with Kept(tmp_path, PLACE, "1.0") as kept:
        assert kept.path.stat().st_mode & 0o777 == 0o600


def test_what_another_program_made_is_forgotten(tmp_path: Path) -> None:
    for mark, expected in (("1.0", {}), ("1.1", {}), ("1.1", {"a": TEXT}), ("1.0", {})):
        with Kept(tmp_path, PLACE, mark) as kept:
            assert kept.texts("csv", ["a"]) == expected
            kept.put("csv", "a", TEXT)


def test_without_a_folder_nothing_is_kept_and_a_broken_file_is_made_anew(tmp_path: Path) -> None:
    with Kept(None, PLACE, "1.0") as kept:
        kept.put("csv", "a", TEXT)
        assert kept.texts("csv", ["a"]) == {}
    with Kept(tmp_path, PLACE, "1.0") as kept:
        path = kept.path
    path.write_bytes(b"no database at all, only words" * 100)
    for expected in ({}, {"a": TEXT}):
        with Kept(tmp_path, PLACE, "1.0") as kept:
            assert kept.texts("csv", ["a"]) == expected
        with Kept(tmp_path, PLACE, "1.0") as kept:
            kept.put("csv", "a", TEXT)
    with sqlite3.connect(path) as db:
        db.execute("UPDATE made SET text = X'00'")  # not as it was packed
    db.close()
    with Kept(tmp_path, PLACE, "1.0") as kept:
        assert kept.texts("csv", ["a"]) == {}
