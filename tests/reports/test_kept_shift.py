"""A shift with every kind of entry, as an earlier version wrote and exported it, reads the same.

What stands in ``kept`` is never written anew. Columns that came later stand behind those of then.
"""

import csv
import json
from datetime import datetime
from pathlib import Path
from typing import get_args

import pytest

from washmon.line.events import Event
from washmon.line.fold import fold
from washmon.line.journal import Entry, decode, verify
from washmon.line.site_events import PinMistaken, PinReset, PinSet, SetupSaved
from washmon.line.state import ShiftState
from washmon.reports.csv_export import export
from washmon.reports.tables import TABLES

KEPT = Path(__file__).parent / "kept"
CHAIN = "shift-test"
KINDS_OF_THEN = 24
MENDED = {("actions", "25"): {"found": ""}}
"""By table and entry: what was wrong in the water stood in the column of what a check showed."""
OF_THE_SITE = {SetupSaved, PinSet, PinReset, PinMistaken}


def rows() -> list[tuple[int, datetime, bytes, str]]:
    lines = (KEPT / "journal.jsonl").read_text("utf-8").splitlines()
    found = (json.loads(line) for line in lines)
    return [(seq, datetime.fromisoformat(at), body.encode(), end) for seq, at, body, end in found]


@pytest.fixture
def shift() -> ShiftState:
    return fold(CHAIN, [Entry(seq, at, decode(body), end) for seq, at, body, end in rows()])


def test_the_journal_of_then_opens_and_holds(shift: ShiftState) -> None:
    assert verify(CHAIN, rows()) == len(shift.entries)
    kinds = {type(entry.event) for entry in shift.entries}
    assert len(kinds) == KINDS_OF_THEN
    assert kinds <= set(get_args(Event)) - OF_THE_SITE


@pytest.mark.parametrize("kept", sorted(KEPT.glob("*.csv")), ids=lambda path: path.stem)
def test_each_table_of_then_is_exported_the_same(
    kept: Path, shift: ShiftState, tmp_path: Path
) -> None:
    table = next(one for one in TABLES if one.key == kept.stem)
    export(tmp_path / "now.csv", table, [shift])
    now, then = _cells(tmp_path / "now.csv"), _cells(kept)
    assert [column.name for column in table.columns][: len(then[0])] == then[0]
    for row, old in zip(now, then, strict=True):
        told = zip(then[0], row, old, strict=False)
        assert {name: is_ for name, is_, was in told if is_ != was} == MENDED.get(
            (kept.stem, old[4]), {}
        )


def _cells(path: Path) -> list[list[str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file))
