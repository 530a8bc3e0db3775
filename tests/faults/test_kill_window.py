"""The whole program is killed at random moments while a hand makes entries in its window."""

import os
import sys
from pathlib import Path

import pytest

from tests.faults.killing import Killer
from tests.faults.washing import wash_for_ever
from washmon.line.fold import fold
from washmon.store import Store

KILLS = int(os.environ.get("WASHMON_KILLS", "30"))
"""Every third at any moment from the start on, the others among entries."""
LONGEST_S, LONGEST_AT_WORK_S = 1.8, 0.3
CHAIN = "shift-kill"


@pytest.mark.fault
@pytest.mark.xdist_group("kill-window")
def test_every_entry_that_the_window_showed_as_saved_survives_a_kill(tmp_path: Path) -> None:
    killer = Killer(wash_for_ever, seed=20260508)
    path = tmp_path / "shed.db"
    told: dict[int, str] = {}
    heard_in = 0
    for kill in range(KILLS):
        at_work = kill % 3 > 0
        longest_s = LONGEST_AT_WORK_S if at_work else LONGEST_S
        lines = killer.run(path, longest_s, at_work=at_work)
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
    assert heard_in >= KILLS * 2 // 3
    assert len(told) > KILLS
