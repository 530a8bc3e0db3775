"""Taking over a spreadsheet log through the page: file, columns, questions, preview, Logbook."""

import threading
from collections.abc import Iterator
from functools import partial
from pathlib import Path

import pytest
from PySide6.QtCore import QCoreApplication, QDeadlineTimer, QEventLoop, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QFileDialog
from pytestqt.qtbot import QtBot

from tests.gui.logbook.conftest import NOW, READER
from tests.gui.logbook.past import three_tanks
from tests.some import some
from washmon.gui.client import RecorderClient
from washmon.gui.importing.page import ImportPage
from washmon.gui.kit.form_fields import ListField
from washmon.gui.kit.working import Step, Working
from washmon.gui.settings import Settings
from washmon.line.events import ReadingTaken, ShiftStarted
from washmon.line.journal import IMPORTED
from washmon.sessions.imported.log_columns import LogField
from washmon.store.errors import DiskFull
from washmon.store.store import Store

LOG = """Date;Time;Tank;Free Cl ppm;pH;Initials;Lot
03/04/2026;7:10;1;50;7,0;RM;L-1
03/04/2026;7:40;Second dunk;44,5;7,2;RM;L-1
04/04/2026;7:05;9;48;7,0;TK;L-2
04/04/2026;7:35;1;46;7,1;TK;L-2
"""


@pytest.fixture
def client(tmp_path: Path) -> Iterator[RecorderClient]:
    made = RecorderClient(Store.open(tmp_path / "shed.db"), clock=lambda: NOW)
    made.start()
    yield made
    made.close()


@pytest.fixture
def page(qtbot: QtBot, client: RecorderClient) -> ImportPage:
    made = ImportPage(client)
    qtbot.addWidget(made)
    made.resize(1366, 700)
    made.show()
    made.open(three_tanks(), READER)
    return made


def written(tmp_path: Path, text: str = LOG) -> Path:
    path = tmp_path / "old log.csv"
    path.write_text(text, encoding="utf-8")
    return path


def choose(field: ListField, key: str) -> None:
    """Choose in a list as a hand does."""
    field.editor.setCurrentIndex(field.editor.findData(key))
    field.editor.activated.emit(field.editor.currentIndex())


def settle(page: ImportPage) -> None:
    """Wait until nothing is being read any more, and not for ever."""
    deadline = QDeadlineTimer(10_000)
    while page.working.busy:
        assert not deadline.hasExpired(), "the log was not read in time"
        QCoreApplication.processEvents(QEventLoop.ProcessEventsFlag.AllEvents, 50)


def read(page: ImportPage, path: Path) -> None:
    page.read(path)
    settle(page)


def rows(page: ImportPage) -> list[list[str]]:
    return [[cell.text for cell in row] for row in page.rows.model.rows]


def test_the_file_is_chosen_without_stopping_the_window(page: ImportPage, tmp_path: Path) -> None:
    assert not page.take.isEnabled()
    page.choose.click()
    dialog = page.opener.dialog
    assert isinstance(dialog, QFileDialog)
    dialog.fileSelected.emit(str(written(tmp_path)))
    dialog.reject()
    settle(page)
    assert page.opener.dialog is None
    assert page.file.text() == "old log.csv: 4 rows, utf-8"


def test_columns_are_guessed_and_their_first_cells_shown(page: ImportPage, tmp_path: Path) -> None:
    read(page, written(tmp_path))
    fields = [*page.columns.fields.values()]
    assert fields == ["date", "time", "tank", "free chlorine", "pH", "initials", "lot"]
    assert page.columns.cards[3].head.text() == "Free Cl ppm"


def test_an_order_of_days_that_is_open_is_asked_before_anything_is_read(
    page: ImportPage, tmp_path: Path
) -> None:
    read(page, written(tmp_path))
    assert page.questions.order.text == ""
    assert page.questions.sign.text == ","  # 7,2 can be nothing else
    assert "day first or month first" in page.count.words.text()
    assert not page.take.isEnabled()
    choose(page.questions.order, "day first")
    settle(page)
    assert page.take.isEnabled()
    assert [row[1][:10] for row in rows(page)][1:] == ["2026-04-03", "2026-04-03", "2026-04-04"]
    choose(page.questions.order, "month first")
    settle(page)
    assert rows(page)[1][1] == "2026-03-04 07:10"


def test_the_keyboard_goes_to_the_first_question_that_the_file_leaves_open(
    page: ImportPage, tmp_path: Path
) -> None:
    assert page.focusWidget() is page.choose
    read(page, written(tmp_path))
    assert page.focusWidget() is page.questions.order.editor
    page.choose.setFocus()
    read(page, written(tmp_path, LOG.replace("04/04/2026", "14/04/2026")))
    assert page.questions.order.text == "day first"  # nothing is asked, nothing jumps
    assert page.focusWidget() is page.choose


def test_every_row_that_can_not_be_taken_is_named_with_its_reason(
    page: ImportPage, tmp_path: Path
) -> None:
    read(page, written(tmp_path))
    choose(page.questions.order, "day first")
    settle(page)
    first, *others = rows(page)
    assert first[0] == "4"
    assert first[2] == "can't be taken"
    assert first[3].startswith("There is no tank 9 in Leaf line.  (04/04/2026 | 7:05 | 9 |")
    assert all(row[2] == "new" for row in some(others))
    assert page.count.words.text().startswith("3 of 4 rows are new. 1 can't be taken")
    assert page.take.label == "Import 2 shifts"


def test_a_column_can_be_matched_otherwise(page: ImportPage, tmp_path: Path) -> None:
    read(page, written(tmp_path))
    choose(page.columns.cards[3].field, "peracetic acid")
    settle(page)
    choose(page.questions.order, "day first")
    settle(page)
    assert "peracetic acid" in rows(page)[1][3]
    choose(page.columns.cards[5].field, LogField.SKIP)
    settle(page)
    choose(page.questions.order, "day first")
    settle(page)
    others = [row for row in rows(page) if row[0] != "4"]
    assert all("Nobody's initials" in row[3] for row in some(others))
    choose(page.questions.by, "TK")
    settle(page)
    assert page.take.isEnabled()


def test_what_is_taken_stands_in_the_journal_marked_as_imported(
    qtbot: QtBot, page: ImportPage, client: RecorderClient, tmp_path: Path
) -> None:
    read(page, written(tmp_path))
    choose(page.questions.order, "day first")
    settle(page)
    with qtbot.waitSignal(page.done):
        page.take.click()
    assert page.message.words.text() == "2 shifts are in the Logbook, marked as imported."
    found = client.recorder.read(lambda store: store.shifts(newest_first=False)).result()
    assert all(row.chain.startswith(IMPORTED) for row in some(found))
    assert [row.lots for row in found] == ["L-1", "L-2"]
    entries = client.recorder.read(lambda store: store.entries(found[0].chain)).result()
    started = entries[0].event
    assert isinstance(started, ShiftStarted)
    assert started.imported == "old log.csv"
    levels = [one.event.fac_mg_l for one in entries if isinstance(one.event, ReadingTaken)]
    assert levels == [50, 44.5]
    assert client.recorder.read(lambda store: store.verify()).result() == []
    with qtbot.waitSignal(page.logbook_asked):
        page.message.action.click()


def take_all(qtbot: QtBot, page: ImportPage, path: Path) -> None:
    read(page, path)
    choose(page.questions.order, "day first")
    settle(page)
    with qtbot.waitSignal(page.done):
        page.take.click()


def test_the_same_file_again_adds_nothing_and_says_so(
    qtbot: QtBot, page: ImportPage, client: RecorderClient, tmp_path: Path
) -> None:
    take_all(qtbot, page, written(tmp_path))
    read(page, written(tmp_path))
    choose(page.questions.order, "day first")
    settle(page)
    assert page.count.words.text().startswith("0 of 4 rows are new. 3 were imported before.")
    assert [row[2] for row in rows(page)] == ["can't be taken", "known", "known", "known"]
    assert not page.take.isEnabled()
    assert len(client.recorder.read(lambda store: store.shifts()).result()) == 2


def test_a_log_that_grew_adds_its_new_rows_and_shows_those_that_changed(
    qtbot: QtBot, page: ImportPage, client: RecorderClient, tmp_path: Path
) -> None:
    take_all(qtbot, page, written(tmp_path))
    grown = LOG.replace("44,5", "41,5") + "04/04/2026;9:10;1;45;7,1;TK;L-2\n"
    read(page, written(tmp_path, grown))
    choose(page.questions.order, "day first")
    settle(page)
    assert [row[2] for row in rows(page)] == [
        "can't be taken", "changed since", "new", "known", "known",
    ]  # fmt: skip
    assert "42\N{NO-BREAK SPACE}ppm" in rows(page)[1][3]
    assert "imported before" in rows(page)[1][3]
    with qtbot.waitSignal(page.done):
        page.take.click()
    found = client.recorder.read(lambda store: store.shifts(newest_first=False)).result()
    assert len(found) == 3
    entries = [
        client.recorder.read(partial(Store.entries, chain=row.chain)).result() for row in found
    ]
    read_in = [
        entry.event.fac_mg_l
        for shift in entries
        for entry in shift
        if isinstance(entry.event, ReadingTaken)
    ]
    assert read_in == [50, 44.5, 46, 45]
    assert client.recorder.read(lambda store: store.verify()).result() == []


def test_a_cell_is_mended_in_the_preview_and_the_row_can_be_taken(
    page: ImportPage, tmp_path: Path
) -> None:
    path = written(tmp_path)
    read(page, path)
    choose(page.questions.order, "day first")
    settle(page)
    page.rows.table.setCurrentIndex(page.rows.model.index(0, 0))
    page.rows.table.setFocus()
    QTest.keyClick(page.rows.table, Qt.Key.Key_Return)
    sheet = page.mending.sheet
    assert sheet.isVisible()
    assert sheet.values()["2"] == "9"
    sheet.field("2").put("1")
    sheet.save.click()
    settle(page)
    assert page.count.words.text() == "4 of 4 rows are new."
    assert path.read_text(encoding="utf-8") == LOG  # the file stays as it is


def test_headings_below_a_title_can_be_named(page: ImportPage, tmp_path: Path) -> None:
    read(page, written(tmp_path, "Wash log;from 1 April;;;;;\n" + LOG))
    assert page.questions.head.text == "2 1"
    choose(page.questions.head, "1 1")
    settle(page)
    assert page.columns.cards[0].head.text() == "Wash log"
    choose(page.questions.head, "2 1")
    settle(page)
    assert page.columns.cards[3].head.text() == "Free Cl ppm"


def test_what_the_file_leaves_open_is_asked(page: ImportPage, tmp_path: Path) -> None:
    text = (
        "Date,Time,Tank,ppm,By,Bleach added\n2026-04-13,12:40,1,50,RM,8\n2026-04-13,1:15,1,48,RM,\n"
    )
    read(page, written(tmp_path, text))
    assert "Is 1:15 after noon meant as 13:15?" in page.count.words.text()
    assert "In which unit" in page.count.words.text()
    choose(page.questions.noon, "yes")
    choose(page.questions.dose, "fl oz")
    settle(page)
    assert [row[1][11:] for row in rows(page)] == ["12:40", "13:15"]
    choose(page.columns.cards[4].field, LogField.TANK)
    settle(page)
    assert "Two columns are said to hold the same (Tank)" in page.count.words.text()


def test_a_layout_is_remembered_by_its_headings(
    qtbot: QtBot, client: RecorderClient, tmp_path: Path
) -> None:
    settings = Settings(tmp_path / "look.ini")
    for turn in range(2):
        again = ImportPage(client, settings)
        qtbot.addWidget(again)
        again.show()
        again.open(three_tanks(), READER)
        read(again, written(tmp_path, LOG if not turn else LOG.replace("/04/", "/05/")))
        assert again.questions.order.text == ("day first" if turn else "")
        assert again.columns.fields[4] == (LogField.SKIP if turn else "pH")
        choose(again.columns.cards[4].field, LogField.SKIP)
        choose(again.questions.order, "day first")
        settle(again)
        with qtbot.waitSignal(again.done):
            again.take.click()


def test_a_full_disk_is_told_and_it_can_be_tried_again(
    qtbot: QtBot,
    page: ImportPage,
    client: RecorderClient,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    read(page, written(tmp_path))
    choose(page.questions.order, "day first")
    settle(page)

    def full(*_: object) -> None:
        raise DiskFull("The disk is full: free some space.")

    with monkeypatch.context() as patch:
        patch.setattr(Store, "begin", full)
        with qtbot.waitSignal(page.done):
            page.take.click()
    assert "The disk is full" in page.message.words.text()
    assert page.message.mark.isVisible()
    assert client.recorder.read(lambda store: store.shifts()).result() == []
    with qtbot.waitSignal(page.done):
        page.take.click()
    assert len(client.recorder.read(lambda store: store.shifts()).result()) == 2


@pytest.mark.parametrize(
    ("body", "sentence"),
    [(b"", "There is nothing in old log.csv"), (b"PK\x03\x04", "save it as CSV")],
)
def test_a_file_that_is_no_log_is_told_in_place(
    page: ImportPage, tmp_path: Path, body: bytes, sentence: str
) -> None:
    path = tmp_path / "old log.csv"
    path.write_bytes(body)
    read(page, path)
    assert sentence in page.message.words.text()
    assert not page.columns.isVisible()
    read(page, written(tmp_path))
    assert page.columns.isVisible()


def test_without_a_set_up_it_says_what_is_needed(page: ImportPage, tmp_path: Path) -> None:
    page.open(None, READER)
    assert "Set up the line first" in page.message.words.text()
    read(page, written(tmp_path))
    assert page.log is None


def test_hostile_cells_are_shown_as_they_stand_and_shortened(
    page: ImportPage, tmp_path: Path
) -> None:
    text = f'Date,Time,Tank,ppm,By,Notes\n2026-04-03,7:10,1,50,=1+1,"<b>\n{"w" * 10_000}"\n'
    read(page, written(tmp_path, text))
    (row,) = rows(page)
    assert "<b>" in row[3]
    assert len(row[3]) <= 300
    assert page.take.label == "Import 1 shift"


LARGE = 5_000


def test_a_large_log_is_read_beside_the_window_and_can_be_given_up(
    qtbot: QtBot, page: ImportPage, tmp_path: Path
) -> None:
    head, row, *_ = LOG.splitlines(keepends=True)
    path = written(tmp_path, head + row * LARGE)
    page.read(path)
    assert page.working.busy  # and the window goes on at once
    assert rows(page) == []
    settle(page)
    page.questions.order.editor.setCurrentIndex(page.questions.order.editor.findData("day first"))
    with qtbot.waitSignal(page.working.progressed):
        page.preview()
    page.working.show_parts()
    assert page.working.cancel.isVisible()
    page.working.cancel.click()
    assert not page.working.busy
    assert page.message.words.text() == "Cancelled: nothing was read."
    assert not page.take.isEnabled()
    assert rows(page) == []
    read(page, written(tmp_path))
    assert page.file.text() == "old log.csv: 4 rows, utf-8"


def test_giving_up_waits_for_nothing_but_the_end_of_the_program_does(qtbot: QtBot) -> None:
    go_on, ended = threading.Event(), threading.Event()

    def work(tell: Step) -> str:
        go_on.wait()
        try:
            tell(1, 2)
        finally:
            ended.set()
        return "nobody wants this"

    working = Working()
    came: list[object] = []
    working.came.connect(came.append)
    working.do(work)
    assert working.busy
    working.drop()  # returns, though the work cannot go on yet
    assert not working.busy
    with qtbot.waitSignal(working.came):
        working.do(lambda _: "this")
    go_on.set()
    working.stop()
    assert ended.is_set()
    QCoreApplication.processEvents()
    assert came == ["this"]


def test_the_last_answer_counts_and_earlier_ones_are_dropped(
    page: ImportPage, tmp_path: Path
) -> None:
    read(page, written(tmp_path))
    choose(page.questions.order, "month first")
    choose(page.questions.order, "day first")
    settle(page)
    assert {row[1][:10] for row in rows(page) if row[1]} == {"2026-04-03", "2026-04-04"}
