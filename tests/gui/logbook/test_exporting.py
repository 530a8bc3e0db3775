"""CSV from the window: files beside a running shift, cancelled, refused, and asked for."""

import csv
import threading
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader
from PySide6.QtWidgets import QFileDialog
from pytestqt.qtbot import QtBot

from tests.gui.logbook.conftest import READER
from washmon.gui.client import RecorderClient
from washmon.gui.logbook.export_bar import ExportBar
from washmon.gui.logbook.shift_list import ShiftList
from washmon.gui.logbook.shift_page import ShiftPage
from washmon.gui.logbook.shift_rows import Only
from washmon.recorder.binding import Wish
from washmon.recorder.exporting import ExportJob, PrintOn
from washmon.reports.tables import READINGS, SUMMARIES, Table


def rows_of(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file, strict=True))


def a_bar(qtbot: QtBot, client: RecorderClient) -> ExportBar:
    bar = ExportBar(client)
    qtbot.addWidget(bar)
    bar.show()
    return bar


def test_a_range_is_written_shift_by_shift(
    qtbot: QtBot, client: RecorderClient, tmp_path: Path
) -> None:
    bar = a_bar(qtbot, client)
    target = tmp_path / "out.csv"
    with qtbot.waitSignal(bar.done) as done:
        bar.write(SUMMARIES, ["quiet", "troubled"], target)
        assert bar.progress.isVisible()
    assert done.args == [target]
    assert [row["shift"] for row in rows_of(target)] == ["quiet"] * 2 + ["troubled"] * 3
    assert "out.csv (5 rows)" in bar.message.words.text()
    assert not bar.progress.isVisible()


@pytest.mark.parametrize(("table", "looks"), [(SUMMARIES, 2), (READINGS, 1)])
def test_progress_is_told_from_the_first_shift_that_is_looked_through(
    client: RecorderClient, tmp_path: Path, table: Table[Any], looks: int
) -> None:
    job = ExportJob(client.recorder, table, ["quiet", "troubled"], tmp_path / "out.csv")
    told: list[int] = []
    assert job.write(told.append)
    assert job.steps == 2 * (looks + 1)
    assert told == list(range(1, job.steps + 1))  # looked through, summed up, written


def test_a_binder_tells_how_far_it_has_looked(client: RecorderClient, tmp_path: Path) -> None:
    wish = Wish(date(2026, 5, 4), date(2026, 5, 7), "RM", datetime(2026, 6, 1, tzinfo=UTC), "a4")
    job = ExportJob(client.recorder, wish, ["quiet", "troubled"], tmp_path / "binder.pdf")
    told: list[int] = []
    assert job.write(told.append)
    assert told == list(range(1, job.steps + 1))


def test_a_job_stops_while_it_still_looks(client: RecorderClient, tmp_path: Path) -> None:
    job = ExportJob(client.recorder, SUMMARIES, ["quiet", "troubled"], tmp_path / "out.csv")
    told: list[int] = []

    def stop(done: int) -> None:
        told.append(done)
        job.cancel()

    assert job.write(stop) is None
    assert told == [1]
    assert not any(tmp_path.glob("out.csv*"))


def test_entries_go_in_between_while_a_file_is_written(
    qtbot: QtBot, client: RecorderClient, tmp_path: Path
) -> None:
    bar = a_bar(qtbot, client)
    with qtbot.waitSignal(bar.done):
        bar.write(READINGS, ["troubled"] * 40, tmp_path / "out.csv")
        # The recorder answers before the 40 shifts are through: it is asked for one at a time.
        assert client.recorder.read(lambda store: store.read_only).result() is False
        assert bar.busy
    assert len(rows_of(tmp_path / "out.csv")) % 40 == 0


def test_a_cancelled_export_leaves_nothing(
    qtbot: QtBot, client: RecorderClient, tmp_path: Path
) -> None:
    bar = a_bar(qtbot, client)
    with qtbot.waitSignal(bar.done) as done:
        bar.write(READINGS, ["troubled"] * 500, tmp_path / "out.csv")
        bar.cancel.click()
    assert done.args == [None]
    assert "Cancelled" in bar.message.words.text()
    assert not any(tmp_path.glob("out.csv*"))


def test_a_job_can_be_stopped_while_the_recorder_is_busy(
    client: RecorderClient, tmp_path: Path
) -> None:
    go_on = threading.Event()
    client.recorder.read(lambda store: go_on.wait(30) and store)
    job = ExportJob(client.recorder, READINGS, ["troubled"], tmp_path / "out.csv")
    with ThreadPoolExecutor(1) as aside:
        written = aside.submit(job.write, lambda _: None)
        job.cancel()
        assert written.result(10) is None
        go_on.set()


def test_closing_waits_for_the_file_that_is_being_written(
    qtbot: QtBot, client: RecorderClient, tmp_path: Path
) -> None:
    bar = a_bar(qtbot, client)
    with qtbot.waitSignal(bar.done):
        bar.write(READINGS, ["troubled"] * 500, tmp_path / "out.csv")
        bar.stop()
        assert not any(tmp_path.glob("out.csv*"))


@pytest.mark.parametrize(
    "case",
    [
        ("quiet", "gone", "There is no folder"),
        ("no-such-shift", ".", "There is no such shift"),
    ],
)
def test_what_stands_in_the_way_is_said_in_place(
    qtbot: QtBot, client: RecorderClient, tmp_path: Path, case: tuple[str, str, str]
) -> None:
    chain, folder, sentence = case
    bar = a_bar(qtbot, client)
    with qtbot.waitSignal(bar.done) as done:
        bar.write(READINGS, [chain], tmp_path / folder / "out.csv")
    assert done.args == [None]
    assert sentence in bar.message.words.text()
    assert bar.message.mark.isVisible()
    assert not (tmp_path / "out.csv").exists()


def test_the_file_is_asked_for_without_stopping_the_window(
    qtbot: QtBot, client: RecorderClient, tmp_path: Path
) -> None:
    page = ShiftPage(client)
    qtbot.addWidget(page)
    page.show()
    with qtbot.waitSignal(page.loaded):
        page.open("quiet", READER)
    page.tabs.setCurrentIndex(1 + list(page.lists).index("readings"))
    page.export_listed.click()
    dialog = page.bar.csv_file.dialog
    assert isinstance(dialog, QFileDialog)
    assert dialog.selectedFiles()[0].endswith("washmon-readings-leaf-line-2026-05-04.csv")
    target = tmp_path / "mine.csv"
    with qtbot.waitSignal(page.bar.done):
        dialog.fileSelected.emit(str(target))
        dialog.reject()
    assert page.bar.csv_file.dialog is None
    assert [row["shift"] for row in rows_of(target)] == ["quiet"] * 2


def test_ctrl_e_offers_the_summaries_of_the_shown_shifts(
    qtbot: QtBot, client: RecorderClient
) -> None:
    page = ShiftList(client)
    qtbot.addWidget(page)
    page.show()
    with qtbot.waitSignal(page.loaded):
        page.load()
    assert page.export_button.label == "Export 3 summaries"
    assert page.export_button.shortcut().toString() == "Ctrl+E"
    page.export_button.click()
    dialog = page.bar.csv_file.dialog
    assert dialog is not None
    name = "washmon-summaries-leaf-line-2026-05-04-2026-05-07.csv"
    assert dialog.selectedFiles()[0].endswith(name)
    dialog.reject()
    assert page.bar.csv_file.dialog is None


def test_all_shifts_of_the_days_are_bound_whichever_are_shown(
    qtbot: QtBot, client: RecorderClient, tmp_path: Path
) -> None:
    page = ShiftList(client)
    qtbot.addWidget(page)
    page.show()
    page.maker = "RM"
    with qtbot.waitSignal(page.loaded):
        page.load()
    page.filters.only.put(Only.OPEN_HOLDS)
    page.filters.only.changed.emit()
    assert len(page.model.shifts) < 3
    page.binder_button.click()
    dialog = page.bar.binder_file.dialog
    assert dialog is not None
    assert dialog.selectedFiles()[0].endswith("washmon-binder-2026-05-04-2026-05-07.pdf")
    dialog.selectNameFilter("PDF, US Letter (*.pdf)")
    target = tmp_path / "binder.pdf"
    with qtbot.waitSignal(page.bar.done) as done:
        dialog.fileSelected.emit(str(target))
        dialog.reject()
    assert done.args == [target]
    cover = PdfReader(target).pages[0]
    assert round(float(cover.mediabox.width)) == 612
    assert "Shifts 3\nMade by RM" in cover.extract_text()
    assert target.with_suffix(".zip").exists()
    with qtbot.waitSignal(page.bar.done) as done:
        page.binder_button.click()
        page.bar.binder_file.chosen.emit(str(tmp_path / "other.pdf"))
        page.bar.cancel.click()
    assert done.args == [None]
    assert not any(tmp_path.glob("other*"))


@pytest.mark.parametrize(("paper", "width"), [("A4", 595), ("US Letter", 612)])
def test_a_record_is_printed_on_the_paper_that_the_dialog_says(
    qtbot: QtBot, client: RecorderClient, tmp_path: Path, paper: str, width: int
) -> None:
    page = ShiftPage(client)
    qtbot.addWidget(page)
    page.show()
    with qtbot.waitSignal(page.loaded):
        page.open("troubled", READER)
    page.print_record.click()
    dialog = page.bar.pdf_file.dialog
    assert dialog is not None
    name = "washmon-record-leaf-line-2026-05-06-070000.pdf"
    assert dialog.selectedFiles()[0].endswith(name)
    dialog.selectNameFilter(f"PDF, {paper} (*.pdf)")
    target = tmp_path / "record.pdf"
    with qtbot.waitSignal(page.bar.done) as done:
        dialog.fileSelected.emit(str(target))
        dialog.reject()
    assert done.args == [target]
    assert page.bar.message.words.text() == f"Written: {target}"
    assert round(float(PdfReader(target).pages[0].mediabox.width)) == width


def test_a_record_that_can_not_be_written_says_so_in_place(
    qtbot: QtBot, client: RecorderClient, tmp_path: Path
) -> None:
    bar = a_bar(qtbot, client)
    with qtbot.waitSignal(bar.done) as done:
        bar.write(PrintOn("a4"), ["quiet"], tmp_path / "gone" / "record.pdf")
    assert done.args == [None]
    assert "There is no folder" in bar.message.words.text()


def test_a_long_path_does_not_make_the_page_wider_than_a_small_screen(
    qtbot: QtBot, client: RecorderClient, tmp_path: Path
) -> None:
    page = ShiftPage(client)
    qtbot.addWidget(page)
    page.resize(1280, 640)
    page.show()
    with qtbot.waitSignal(page.loaded):
        page.open("troubled", READER)
    target = tmp_path / f"{'a' * 120}.pdf"
    with qtbot.waitSignal(page.bar.done):
        page.bar.write(PrintOn("a4"), ["troubled"], target)
    assert page.width() == 1280
    assert page.bar.message.words.toolTip() == str(target)


@pytest.mark.parametrize(
    ("tab", "words", "file"),
    [
        ("readings", "Readings CSV", "washmon-readings-"),
        ("actions", "Actions CSV", "washmon-actions-"),
        ("batches", "Batches CSV", "washmon-batches-"),
        ("holds", "Holds CSV", "washmon-holds-"),
        ("corrections", "Actions CSV", "washmon-actions-"),
        ("flags", "", ""),
    ],
)
def test_what_a_tab_lists_is_offered_as_csv(
    qtbot: QtBot, client: RecorderClient, tab: str, words: str, file: str
) -> None:
    page = ShiftPage(client)
    qtbot.addWidget(page)
    page.show()
    assert not page.export_listed.isVisible()  # the summary has a button of its own
    with qtbot.waitSignal(page.loaded):
        page.open("troubled", READER)
    page.tabs.setCurrentIndex(1 + list(page.lists).index(tab))
    assert page.export_listed.isVisible() == bool(words)
    if words:
        assert page.export_listed.text() == words
        page.export_listed.click()
        dialog = page.bar.csv_file.dialog
        assert isinstance(dialog, QFileDialog)
        assert file in dialog.selectedFiles()[0]
        dialog.reject()
