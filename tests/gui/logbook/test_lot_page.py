"""From a lot's number to every entry that touched it, and from there into its shift."""

from collections.abc import Callable
from pathlib import Path

import pytest
from msgspec.structs import replace
from pytestqt.qtbot import QtBot

from tests.gui.logbook.conftest import READER
from tests.gui.logbook.past import days_ago, keep, troubled_shift
from tests.shed import Shed
from washmon.gui.client import RecorderClient
from washmon.gui.logbook.logbook import Logbook
from washmon.gui.logbook.lot_page import LotPage, Traced
from washmon.line.events import LotSent
from washmon.planning.snapshot import Snapshot
from washmon.reports.lot_trace import in_shift
from washmon.store.store import Store


def a_logbook(qtbot: QtBot, client: RecorderClient) -> Logbook:
    logbook = Logbook(client)
    qtbot.addWidget(logbook)
    logbook.resize(1366, 700)
    logbook.show()
    with qtbot.waitSignal(logbook.list.loaded):
        logbook.open(READER)
    return logbook


def trace(qtbot: QtBot, logbook: Logbook, code: str) -> list[list[str]]:
    logbook.list.filters.words.editor.setText(code)
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
    found = in_shift(shed.shift, "L-1")
    assert found is not None
    page._show(Traced("L-1", [found], []))
    assert page.facts.text() == f"1 shift · 1 batch · {said} · not recorded where 1 batch went"


def test_where_a_lot_was_sent_is_told_on_its_page_for_all_its_shifts_at_once(
    qtbot: QtBot, client: RecorderClient
) -> None:
    logbook = a_logbook(qtbot, client)
    trace(qtbot, logbook, "L-1")
    page = logbook.lot
    assert "not recorded where 24 batches went" in page.facts.text()
    page.tell.click()
    page.sent.save.click()
    assert page.sent.to.fault.words.text() == "Write a few words here."
    page.sent.to.put("Green market")
    page.sent.reference.put("D-7")
    with qtbot.waitSignal(page.sent._sending.doubted):
        page.sent.save.click()  # of one shift two batches are on hold
    assert "on hold" in page.sent.message.words.text()
    with qtbot.waitSignal(page.sent.saved):
        page.sent.anyway.click()
    with qtbot.waitSignal(page.loaded):
        pass
    assert "not recorded" not in page.facts.text()
    assert not page.tell.isVisible()
    steps = [[cell.text for cell in row] for row in page.went.model.rows]
    assert {row[-1].split(":")[0] for row in steps if row[-2] != "0"} == {"Green market (D-7)"}


def test_the_trace_is_written_as_csv_and_pdf(
    qtbot: QtBot, client: RecorderClient, tmp_path: Path
) -> None:
    logbook = a_logbook(qtbot, client)
    trace(qtbot, logbook, "L-1")
    page = logbook.lot
    for button, name in ((page.csv, "lot.csv"), (page.pdf, "lot.pdf")):
        button.click()
        assert page.bar._asked is not None
        what, chains = page.bar._asked
        for file in page.bar._files:
            if file.dialog is not None:
                file.dialog.reject()
        with qtbot.waitSignal(page.bar.done, timeout=10_000):
            page.bar.write(what, chains, tmp_path / name)
        assert page.bar.message.words.text().startswith("Written: ")
    text = (tmp_path / "lot.csv").read_text("utf-8")
    assert text.startswith("lot,produce,source,")
    assert "not recorded" in text
    assert (tmp_path / "lot.pdf").read_bytes().startswith(b"%PDF")


def test_what_was_told_wrongly_is_taken_back_with_its_reason(
    qtbot: QtBot, client: RecorderClient
) -> None:
    sent = LotSent(at=client.clock(), by="RM", lot="L-1", to="Green market")
    client.recorder.enter(sent, chain="quiet").result(10)
    logbook = a_logbook(qtbot, client)
    rows = trace(qtbot, logbook, "L-1")
    page = logbook.lot
    assert not page.back_again.isVisible()
    page.rows.table.selectRow([row[3] for row in rows].index("Sent"))
    page.back_again.click()
    assert page.sent.to.label.text() == "Why it is taken back"
    page.sent.save.click()
    assert page.sent.to.fault.words.text() == "Write a few words here."
    page.sent.to.put("came back")
    with qtbot.waitSignals([page.sent.saved, page.loaded]):
        page.sent.save.click()
    assert "not recorded where 24 batches went" in page.facts.text()
    assert "Sent" not in [row[3].text for row in page.rows.model.rows]


def test_where_a_lot_went_is_told_by_whoever_stands_there_when_it_is_saved(
    qtbot: QtBot, client: RecorderClient
) -> None:
    logbook = a_logbook(qtbot, client)
    logbook.open(replace(READER, initials=""))
    trace(qtbot, logbook, "L-1")
    page = logbook.lot
    page.tell.click()
    page.sent.to.put("Green market")
    page.sent.save.click()
    qtbot.waitUntil(page.sent.message.isVisible)
    assert page.sent.message.words.text() == "Say who enters this: choose your initials."
    with qtbot.waitSignal(page.sent._sending.doubted):
        logbook.show_snapshot(Snapshot(now=client.clock()), replace(READER, initials="TK"))
        page.sent.save.click()
    page.sent.anyway.click()
    qtbot.waitUntil(page.sent.isHidden)
    qtbot.waitUntil(lambda: bool(page.rows.model.rows))
    assert {row[4].text for row in page.rows.model.rows if row[3].text == "Sent"} == {"TK"}


def test_a_doubt_about_one_shift_is_not_set_aside_for_the_next(
    qtbot: QtBot, open_client: Callable[..., RecorderClient]
) -> None:
    def two_on_hold(store: Store) -> None:
        keep(store, troubled_shift(days_ago(2)).shift, "one")
        keep(store, troubled_shift(days_ago(1)).shift, "other")

    client = open_client(two_on_hold)
    logbook = a_logbook(qtbot, client)
    trace(qtbot, logbook, "L-1")
    page = logbook.lot
    page.tell.click()
    page.sent.to.put("Green market")
    with qtbot.waitSignal(page.sent._sending.doubted):
        page.sent.save.click()
    assert page.sent.message.words.text().startswith("Wed 6 May 2026 07:00: ")
    with qtbot.waitSignal(page.sent._sending.doubted):
        page.sent.anyway.click()
    assert page.sent.message.words.text().startswith("Tue 5 May 2026 07:00: ")
    with qtbot.waitSignals([page.sent.saved, page.loaded]):
        page.sent.anyway.click()


def test_the_facts_say_how_many_batches_the_weight_leaves_out(
    qtbot: QtBot, client: RecorderClient
) -> None:
    logbook = a_logbook(qtbot, client)
    trace(qtbot, logbook, "L-1")
    assert "\N{NO-BREAK SPACE}kg · 8 batches not weighed · " in logbook.lot.facts.text()
