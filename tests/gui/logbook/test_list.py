"""The list of shifts: what it says, how it is filtered, and how a shift is opened."""

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import QDate, QModelIndex, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QFileDialog
from pytestqt.qtbot import QtBot

from tests.gui.logbook.listed import chains, shown_list
from tests.gui.logbook.past import days_ago, keep, quiet_shift
from tests.shed import START, Shed, a_setup
from washmon.gui.client import RecorderClient
from washmon.gui.kit.state_mark import MarkState
from washmon.gui.logbook.shift_list import ShiftList
from washmon.gui.logbook.shift_rows import Only, ShiftsModel, matching
from washmon.gui.logbook.table import Cell, FactsModel, Row
from washmon.line.events import LotSent, NoteWritten
from washmon.line.signing import SigningStage
from washmon.store.shift import ShiftRow
from washmon.store.store import Store


def a_row(chain: str, **changes: Any) -> ShiftRow:
    values: dict[str, Any] = {
        "chain": chain,
        "site": "Test shed",
        "line": "Leaf line",
        "commodity": "baby chard",
        "started_at": START,
        "ended_at": START + timedelta(hours=8),
        "supervisor": "RM",
        "lots": "L-1, L-2",
        "practice": False,
        "open_holds": 0,
        "entries": 10,
        "head": "0",
        "after": None,
    }
    return ShiftRow(**values | changes)


def test_the_models_keep_qts_rules(qtmodeltester: Any) -> None:
    model = ShiftsModel()
    model.show_shifts([a_row("a"), a_row("b", open_holds=2), a_row("c", ended_at=None)])
    model.put_batches({"a": 12})
    qtmodeltester.check(model)
    facts = FactsModel(("Time", "Words"))
    facts.show_rows([(Cell("07:00"), Cell("low", look=MarkState.ACT))])
    qtmodeltester.check(facts)


def test_a_row_says_day_people_lots_and_state_in_words(qtbot: QtBot) -> None:
    del qtbot
    model = ShiftsModel()
    model.show_shifts(
        [
            a_row("a", open_holds=2),
            a_row("b", ended_at=None),
            a_row("c", practice=True, open_holds=1),
        ]
    )
    assert [cell.text for cell in model.row(0)[1:5]] == [
        "07:00–15:00",
        "Leaf line",
        "L-1, L-2",
        "RM",
    ]
    assert model.row(0)[6].text == "Ended, unsigned · 2 holds open"
    assert model.row(0)[6].look is MarkState.STOP
    assert model.row(1)[6].text == "Running"
    assert model.row(2)[6].text == "Practice · Ended · 1 hold open"


def test_the_newest_shifts_come_first_and_old_ones_when_asked_for(
    qtbot: QtBot, client: RecorderClient
) -> None:
    page = shown_list(qtbot, client)
    assert chains(page) == ["running", "troubled", "quiet"]
    with qtbot.waitSignal(page.loaded):
        page.filters.all.click()
    assert chains(page) == ["running", "troubled", "quiet", "long-ago"]
    with qtbot.waitSignal(page.loaded):
        page.filters.until.setDate(QDate(2026, 5, 5))
    assert chains(page) == ["quiet", "long-ago"]


def test_the_batches_come_from_the_kept_summaries(qtbot: QtBot, client: RecorderClient) -> None:
    page = shown_list(qtbot, client)
    qtbot.waitUntil(lambda: page.model.row(1)[5].text == "16")
    assert page.model.row(2)[5].text == "4"
    assert page.model.row(0)[5].text == "–"


def test_lots_and_initials_are_found_exactly_whoever_led(
    qtbot: QtBot, open_client: Callable[..., RecorderClient]
) -> None:
    def fill(store: Store) -> None:
        shed = quiet_shift(days_ago(2))
        shed.tell(NoteWritten(at=shed.now, by="TK", text="pump is loud"))
        keep(store, shed.shift, "quiet")
        other = Shed(a_setup(site="TK Shed"), start=days_ago(1))
        other.fill()
        keep(store, other.shift, "other")

    page = shown_list(qtbot, open_client(fill))

    def found(words: str) -> list[str]:
        page.filters.words.editor.clear()
        QTest.keyClicks(page.filters.words.editor, words)
        qtbot.waitUntil(lambda: page._named is not None and page._named.asked == page._asked_names)
        return chains(page)

    page.filters.words.setFocus()
    assert found("tk") == ["quiet"]  # who only wrote a note; and not the site's name
    assert set(found("RM l-1")) == {"quiet", "other"}
    assert found("L") == []
    assert "Lots that begin so: L-1" in page.nothing.text()
    assert found("nobody") == []
    assert page.nothing.isVisible()
    assert "No shift of these days has this lot" in page.nothing.text()
    assert not page.export_button.isEnabled()
    page.filters.words.editor.clear()
    assert set(chains(page)) == {"quiet", "other"}


def test_ten_years_of_shifts_make_no_more_rows_than_are_looked_at(
    qtbot: QtBot, client: RecorderClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = shown_list(qtbot, client)
    made: set[str] = set()
    row = ShiftsModel._row

    def counted(model: ShiftsModel, shift: ShiftRow) -> Row:
        made.add(shift.chain)
        return row(model, shift)

    monkeypatch.setattr(ShiftsModel, "_row", counted)
    page._show([a_row(f"shift-{number}") for number in range(7000)])
    page.grab()
    assert len(page.model.shifts) == 7000
    assert 0 < len(made) < 200


def test_one_line_can_be_chosen(qtbot: QtBot, open_client: Callable[..., RecorderClient]) -> None:
    page = ShiftList(
        open_client(lambda store: keep(store, quiet_shift(days_ago(2)).shift, "quiet"))
    )
    qtbot.addWidget(page)
    page._show([a_row("a"), a_row("b", line="Root line")])
    page.filters.line.editor.setCurrentIndex(page.filters.line.editor.findData("Root line"))
    page.filters.line.changed.emit()
    assert chains(page) == ["b"]


def test_an_empty_logbook_says_what_to_do(
    qtbot: QtBot, open_client: Callable[..., RecorderClient]
) -> None:
    page = shown_list(qtbot, open_client(Store.running_shift))
    assert "No shift began in these days" in page.nothing.text()
    assert not page.open_button.isEnabled()


def test_arrows_and_enter_open_a_shift(qtbot: QtBot, client: RecorderClient) -> None:
    page = shown_list(qtbot, client)
    page.table.setFocus()
    QTest.keyClick(page.table, Qt.Key.Key_Down)
    with qtbot.waitSignal(page.opened) as opened:
        QTest.keyClick(page.table, Qt.Key.Key_Return)
    assert opened.args == ["troubled"]
    with qtbot.waitSignal(page.opened) as opened:
        page.open_button.click()
    assert opened.args == ["troubled"]
    with qtbot.waitSignal(page.opened) as opened:
        page.table.doubleClicked.emit(page.model.index(2, 0, QModelIndex()))
    assert opened.args == ["quiet"]


def test_escape_goes_back(qtbot: QtBot, client: RecorderClient) -> None:
    page = shown_list(qtbot, client)
    page.activateWindow()
    with qtbot.waitSignal(page.left):
        QTest.keyClick(page.table, Qt.Key.Key_Escape)


def test_a_store_that_fails_is_told_in_place(qtbot: QtBot, client: RecorderClient) -> None:
    page = shown_list(qtbot, client)
    page._show(OSError("gone"))
    assert page.trouble.isVisible()
    assert "gone" in page.trouble.words.text()
    assert chains(page) == []


def test_what_waits_for_a_review_is_told_from_what_is_unsigned() -> None:
    rows = [
        a_row("ended", stage=SigningStage.UNSIGNED),
        a_row("signed", stage=SigningStage.SIGNED, signatures=1),
        a_row("changed", stage=SigningStage.CHANGED),
        a_row("reviewed", stage=SigningStage.REVIEWED, signatures=2),
        a_row("running", stage=SigningStage.RUNNING, ended_at=None),
        a_row("practised", stage=SigningStage.SIGNED, signatures=1, practice=True),
        a_row("trained", stage=SigningStage.UNSIGNED, practice=True),
    ]

    def shown(only: Only) -> list[str]:
        return [row.chain for row in matching(rows, "", None, only)]

    assert shown(Only.UNSIGNED) == ["ended"]
    assert shown(Only.UNREVIEWED) == ["signed", "changed"]
    model = ShiftsModel()
    model.show_shifts(rows)
    assert [model.row(at)[-1].text for at in range(len(rows))] == [
        "Ended, unsigned",
        "Signed, waits for review",
        "Changed since signed, waits for review",
        "Reviewed",
        "Running",
        "Practice · Ended",
        "Practice · Ended",
    ]


def test_the_week_report_of_what_is_shown_is_written(
    qtbot: QtBot, client: RecorderClient, tmp_path: Path
) -> None:
    page = shown_list(qtbot, client)
    page.week_button.click()
    dialog = page.bar.csv_file.dialog
    assert isinstance(dialog, QFileDialog)
    target = tmp_path / "week.csv"
    with qtbot.waitSignal(page.bar.done, timeout=20_000):
        dialog.fileSelected.emit(str(target))
        dialog.reject()
    head, *rows = target.read_text(encoding="utf-8").splitlines()
    assert head.count(",") == 16
    assert rows


def test_a_running_shift_says_which_flags_are_up_in_it(
    qtbot: QtBot, open_client: Callable[..., RecorderClient]
) -> None:
    shed = Shed(start=START)
    shed.fill()
    shed.wait(5).read(fac=20, ph=7.0)
    shed.look()
    page = shown_list(qtbot, open_client(lambda store: keep(store, shed.shift, "running")))
    assert shed.shift.open_flags
    qtbot.waitUntil(lambda: "flag" in page.model.row(0)[-1].text)
    assert page.model.row(0)[-1].text.startswith("Running · ")
    assert page.model.row(0)[-1].look is MarkState.STOP


def test_a_customer_is_found_by_the_name_that_a_lot_was_sent_to(
    qtbot: QtBot, open_client: Callable[..., RecorderClient]
) -> None:
    def sent(store: Store) -> None:
        for days, to in ((3, "Green market"), (1, "School kitchen")):
            shed = quiet_shift(days_ago(days))
            shed.tell(LotSent(at=shed.now, by="RM", lot="L-1", to=to))
            keep(store, shed.shift, to)

    page = shown_list(qtbot, open_client(sent))
    page.filters.words.editor.setText("green  MARKET")
    qtbot.waitUntil(lambda: chains(page) == ["Green market"])
