"""The program is killed at random moments while entries are made."""

import os
from pathlib import Path

import pytest

from tests.faults.killing import Killer
from tests.faults.writer import CHAIN, append_for_ever
from washmon.line.journal import verify
from washmon.store import Store

KILLS = int(os.environ.get("WASHMON_KILLS", "100"))
KILLS_PER_DATABASE = 10  # a new one now and then, so that its making is interrupted too
LONGEST_S = 0.2


def _words(line: bytes) -> tuple[str, str]:
    seq, digest = line.decode().split()
    return seq, digest


@pytest.mark.fault
@pytest.mark.xdist_group("kill")
def test_nothing_that_was_told_to_be_saved_is_lost_by_a_kill(tmp_path: Path) -> None:
    killer = Killer(append_for_ever, seed=20260507)
    told: dict[str, str] = {}
    saved = 0
    for kill in range(KILLS):
        path = tmp_path / f"{kill // KILLS_PER_DATABASE}.db"
        if kill % KILLS_PER_DATABASE == 0:
            told = {}
        # However busy the machine is, every second one falls into the work.
        heard = killer.run(path, LONGEST_S, at_work=kill % 2 == 1)
        told.update((seq, digest) for seq, digest in map(_words, heard))
        saved += len(heard)
        with Store.open(path) as store:  # its lock went with it
            assert store.verify() == [], f"kill {kill}"
            rows = store.rows(CHAIN)
            found = {str(row.seq): row.hash for row in rows}
            assert told.items() <= found.items(), f"kill {kill}"
            assert verify(CHAIN, rows) == len(rows)
            assert [row.entries for row in store.shifts()] == ([len(rows)] if rows else [])
    assert saved >= KILLS // 2
