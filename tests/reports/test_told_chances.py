"""What a record and a table tell of how likely held batches met too little."""

import csv
from pathlib import Path

from msgspec.structs import replace

from tests.reports.paper_read import flat
from tests.shed import Shed
from washmon.line.events import HoldPlaced, Limit
from washmon.reports.csv_export import export
from washmon.reports.printed import printed
from washmon.reports.tables import HOLDS


def held(chances: tuple[float | None, ...], *failed: Limit) -> Shed:
    """Return a shift on which four batches of one lot were held, so estimated."""
    shed = Shed()
    shed.fill()
    seqs = tuple(entry.seq for entry in shed.wash(4))
    hold = HoldPlaced(at=shed.now, by="RM", tank=1, batches=seqs, reason="too little")
    shed.tell(replace(hold, chances=chances, failed=failed))
    return shed


def hold_row(shed: Shed, folder: Path) -> dict[str, str]:
    export(folder / "holds.csv", HOLDS, [shed.shift])
    with (folder / "holds.csv").open(encoding="utf-8", newline="") as file:
        (row,) = csv.DictReader(file)
    return row


def test_the_table_of_holds_tells_the_chances_and_the_limits(tmp_path: Path) -> None:
    row = hold_row(held((0.0, None, 0.42, 0.987), Limit.LOW, Limit.PH), tmp_path)
    keys = list(row)
    assert keys.index("imported") < keys.index("chances") == keys.index("limits_failed") - 1
    assert row["chances"] == "0.0 ? 0.42 0.987"
    assert row["limits_failed"] == "critical low; pH"


def test_what_was_not_estimated_is_empty_in_the_table(tmp_path: Path) -> None:
    row = hold_row(held(()), tmp_path)
    assert (row["chances"], row["limits_failed"]) == ("", "")


def test_the_record_prints_the_chance_of_each_batch_and_of_the_lot() -> None:
    words = flat(printed(held((0.0, None, 0.42, 0.987), Limit.LOW).shift))
    assert "about 1 of 3" in words
    for chance in ("1 %", "42 %", "99 %"):
        assert chance in words.replace("\N{NO-BREAK SPACE}", " ")
    assert "how likely a held batch was washed in less than the critical low" in words


def test_the_record_says_that_nothing_was_estimated_and_never_nought() -> None:
    words = flat(printed(held(()).shift)).replace("\N{NO-BREAK SPACE}", " ")
    assert "Chance" in words
    assert words.count("estimated") == 7  # the entry, four batches, the foot-note, the hold
    assert " 0 %" not in words[words.index("Batches by lot") :]


def test_the_record_names_another_limit_in_place_of_a_chance() -> None:
    words = flat(printed(held((), Limit.PH).shift))
    assert "a check over the critical pH" in words
    assert "not estimated" not in words
