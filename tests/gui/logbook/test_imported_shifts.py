"""A shift that was taken over from a spreadsheet says so wherever it is read."""

import csv
from pathlib import Path

import pytest
from msgspec.structs import replace
from pytestqt.qtbot import QtBot

from tests.gui.logbook.conftest import READER
from tests.gui.logbook.past import days_ago, keep, troubled_shift
from washmon.gui.client import RecorderClient
from washmon.gui.logbook.logbook import Logbook
from washmon.line.fold import fold
from washmon.line.journal import IMPORTED
from washmon.line.state import ShiftState
from washmon.reports.csv_export import export
from washmon.reports.tables import TABLES, WEEK
from washmon.store.store import Store

CHAIN = f"{IMPORTED}20260504"


def an_imported_shift() -> ShiftState:
    shift = troubled_shift(days_ago(3)).shift
    first, *rest = shift.entries
    started = replace(shift.started, imported="old log.csv")
    return fold(CHAIN, [replace(first, event=started), *rest])


def test_the_list_and_the_page_of_the_logbook_say_imported(
    qtbot: QtBot, client: RecorderClient
) -> None:
    def keep_it(store: Store) -> str:
        return keep(store, an_imported_shift(), CHAIN)

    client.recorder.read(keep_it).result()
    book = Logbook(client)
    qtbot.addWidget(book)
    book.show()
    with qtbot.waitSignal(book.list.loaded):
        book.open(READER)
    model = book.list.model
    at = [shift.chain for shift in model.shifts].index(CHAIN)
    assert model.row(at)[-1].text.startswith("Imported · Ended")
    with qtbot.waitSignal(book.page.loaded):
        book.open_shift(CHAIN)
    assert book.page.head.title.text().startswith("Imported: Leaf line")
    assert "taken over from old log.csv" in book.page.head.facts.text()


@pytest.mark.parametrize("table", TABLES, ids=lambda table: str(table.key))
def test_every_table_has_the_file_in_a_column(tmp_path: Path, table: object) -> None:
    (chosen,) = [one for one in TABLES if one is table]
    target = tmp_path / "out.csv"
    export(target, chosen, [an_imported_shift()])
    with target.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert rows
    if chosen is WEEK:  # it has no room for the name of a file
        assert {row["reviewed_by"] for row in rows} == {"imported"}
    else:
        assert {row["imported"] for row in rows} == {"old log.csv"}
