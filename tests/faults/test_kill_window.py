"""The whole program is killed at random moments while a hand makes entries in its window."""

import sys
from pathlib import Path

import pytest

from tests.faults.killing import Killer
from tests.faults.washing import wash_for_ever
from washmon.line.fold import fold
from washmon.store import Store

KILLS = 100
LONGEST_S = 1.8
CHAIN = "shift-kill"


@pytest.mark.fault
@pytest.mark.xdist_group("kill-window")
def test_every_entry_that_the_window_showed_as_saved_survives_a_kill(tmp_path: Path) -> None:
    killer = Killer(wash_for_ever, seed=20260508)
    path = tmp_path / "shed.db"
    told: dict[int, str] = {}
    heard_in = 0
    for kill in range(KILLS):
        lines = killer.run(path, LONGEST_S)
        heard_in += bool(lines)
        for line in lines:
            seq, digest = line.decode().split()
            told[int(seq)] = digest
        if not path.exists():
            continue
        with Store.open(path) as store:
            assert store.verify() == [], f"kill {kill}"
            found = {row.seq: row.hash for row in store.rows(CHAIN)}
            assert told.items() <= found.items(), f"kill {kill}"
            if found:
                fold(CHAIN, store.entries(CHAIN))
    sys.stdout.write(f"{KILLS} kills, {heard_in} among entries, {len(told)} entries shown saved\n")
    assert heard_in > KILLS // 5, "most kills fell before the first entry"
    assert len(told) > KILLS
