"""From a lot's number to every entry that touched it, and from there into its shift."""

import pytest
from pytestqt.qtbot import QtBot

from tests.gui.logbook.conftest import READER
from tests.shed import Shed
from washmon.gui.client import RecorderClient
from washmon.gui.logbook.logbook import Logbook
from washmon.gui.logbook.lot_page import InShift, LotPage, Traced
from washmon.line.events import BatchWashed
from washmon.reports.lines import lines


def a_logbook(qtbot: QtBot, client: RecorderClient) -> Logbook:
    logbook = Logbook(client)
    qtbot.addWidget(logbook)
    logbook.resize(1366, 700)
    logbook.show()
    with qtbot.waitSignal(logbook.list.loaded):
        logbook.open(READER)
    return logbook


def trace(qtbot: QtBot, logbook: Logbook, code: str) -> list[list[str]]:
    logbook.list.filters.words.line.setText(code)
    with qtbot.waitSignal(logbook.lot.loaded):
        logbook.list.filters.trace.click()
    assert logbook.lot.isVisible()
    return [[cell.text for cell in row] for row in logbook.lot.rows.model.rows]


def test_a_lot_number_leads_to_batches_readings_and_actions_in_all_shifts(
    qtbot: QtBot, client: RecorderClient
) -> None:
    logbook = a_logbook(qtbot, client)
    assert not logbook.list.filters.trace.isEnabled()
    rows = trace(qtbot, logbook, "l-1")
    assert {row[3] for row in rows} >= {"Batch", "Reading", "Dose", "Hold"}
    assert {row[0] for row in rows} >= {"Wed 6 May 2026", "Mon 4 May 2026"}
    assert logbook.lot.facts.text().startswith("4 shifts · 24 batches · ")


def test_an_entry_opens_where_it_stands_in_its_shift_and_back_leads_to_the_lot(
    qtbot: QtBot, client: RecorderClient
) -> None:
    logbook = a_logbook(qtbot, client)
    rows = trace(qtbot, logbook, "L-1")
    for what, tab in (("Reading", "readings"), ("Batch", "batches"), ("Hold", "holds")):
        logbook.lot.rows.table.selectRow([row[3] for row in rows].index(what))
        with qtbot.waitSignal(logbook.page.loaded):
            logbook.lot.open_button.click()
        assert logbook.page.isVisible()
        assert logbook.page.pages.currentWidget() is logbook.page.lists[tab]
        logbook.page.back.click()
        assert logbook.lot.isVisible()
    logbook.lot.back.click()
    assert logbook.list.isVisible()


def test_a_lot_that_nobody_knows_is_told_with_those_that_begin_so(
    qtbot: QtBot, client: RecorderClient
) -> None:
    logbook = a_logbook(qtbot, client)
    assert trace(qtbot, logbook, "L") == []
    assert "These begin so: L-1" in logbook.lot.facts.text()
    logbook.lot.back.click()
    assert trace(qtbot, logbook, "\u202eX" * 3000) == []
    assert logbook.lot.facts.text().startswith("No shift knows this lot: look at how")
    assert not logbook.lot.open_button.isEnabled()


@pytest.mark.parametrize(("tanks", "said"), [((1,), "tank 1"), ((1, 2), "tanks 1, 2")])
def test_the_facts_count_tanks_as_people_do(
    qtbot: QtBot, client: RecorderClient, tanks: tuple[int, ...], said: str
) -> None:
    page = LotPage(client)
    qtbot.addWidget(page)
    shed = Shed()
    shed.fill()
    shed.wash(1, tanks=tanks)
    page.trace("L-1", READER)
    page._show(Traced("L-1", [InShift(shed.shift, lines(shed.shift, BatchWashed))], []))
    assert page.facts.text() == f"1 shift · 1 batch · {said}"
