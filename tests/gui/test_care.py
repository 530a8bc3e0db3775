"""Records are looked after while the window is open: a check at the start, backups at each end."""

import sqlite3
from datetime import timedelta
from pathlib import Path

import pytest
from PySide6.QtWidgets import QFileDialog

from tests.gui.logbook.past import days_ago, keep, quiet_shift
from tests.gui.stand import Stand
from tests.shed import START, a_setup
from washmon.gui.logbook.logbook import Logbook
from washmon.gui.rooms import Room
from washmon.line.events import ShiftEnded, ShiftStarted
from washmon.line.journal import SITE
from washmon.line.registers import Paper, PaperKind
from washmon.line.setup import Lot
from washmon.line.site_events import SetupSaved, ThingRegistered
from washmon.recorder.summaries import FORM
from washmon.store.backups import Backup, backups_in
from washmon.store.store import Store


@pytest.fixture
def stand(stand: Stand) -> Stand:
    with Store.open(stand.path) as store:
        keep(store, quiet_shift(days_ago(2)).shift, "quiet")
        store.append(SITE, [SetupSaved(at=START, by="RM", setup=a_setup())], START)
    return stand


def tamper(path: Path) -> None:
    db = sqlite3.connect(path)
    db.execute("DROP TRIGGER journal_never_updated")
    (body,) = db.execute("SELECT body FROM journal WHERE chain = 'quiet' AND seq = 3").fetchone()
    assert b'"fac_mg_l":50' in body
    forged = body.replace(b'"fac_mg_l":50', b'"fac_mg_l":90')
    db.execute("UPDATE journal SET body = ? WHERE chain = 'quiet' AND seq = 3", [forged])
    db.commit()
    db.close()


def checked(stand: Stand) -> None:
    maintenance = stand.window.care.maintenance
    with stand.qtbot.waitSignal(maintenance.checked):
        maintenance.check()


def start_shift(stand: Stand) -> str:
    client = stand.window.client
    started = ShiftStarted(
        at=stand.now, by="RM", setup=a_setup(), lots=(Lot(code="L-1", produce="chard"),)
    )
    with stand.qtbot.waitCallback() as answered:
        client.enter(started, answered)
    return str(answered.args[0].chain)


def end_shift(stand: Stand) -> object:
    stand.now += timedelta(hours=1)
    with stand.qtbot.waitSignal(stand.window.care.maintenance.backed_up) as made:
        stand.window.client.enter(ShiftEnded(at=stand.now, by="RM"))
    assert made.args is not None
    return made.args[0]


def test_a_whole_journal_is_only_mentioned_in_the_logbook(stand: Stand) -> None:
    window = stand.open()
    checked(stand)
    assert not window.care.alarm.isVisible()
    assert not window.notice.isVisible()
    window.go(Room.LOGBOOK)
    page = window.rooms.page(Room.LOGBOOK)
    assert isinstance(page, Logbook)
    assert page.list.checked.text() == "Journal checked at 07:00: whole"


def test_a_changed_entry_is_told_over_every_room_and_its_shift_is_one_press_away(
    stand: Stand,
) -> None:
    tamper(stand.path)
    window = stand.open()
    checked(stand)
    alarm = window.care.alarm
    assert alarm.isVisible()
    assert "In shift quiet: Entry 3: its content or its time was changed" in alarm.words.text()
    window.go_home()
    assert alarm.isVisible()
    alarm.action.click()
    page = window.rooms.page(Room.LOGBOOK)
    assert isinstance(page, Logbook)
    stand.qtbot.waitUntil(page.page.alarm.isVisible)
    assert "Entry 3: " in page.page.alarm.words.text()


def test_a_window_that_only_reads_checks_too(stand: Stand) -> None:
    tamper(stand.path)
    stand.open(read_only=True)
    checked(stand)
    assert stand.window.care.alarm.isVisible()


def test_the_end_of_a_shift_is_backed_up_to_the_folder_that_was_chosen(
    stand: Stand, tmp_path: Path
) -> None:
    folder = tmp_path / "stick"
    folder.mkdir()
    window = stand.open()
    window.settings.backup_folder = str(folder)
    chain = start_shift(stand)
    assert backups_in(folder, "shed") == []
    backup = end_shift(stand)
    assert isinstance(backup, Backup)
    assert window.notice.words.text() == f"Backed up and checked: {backup.path}"
    with Store.open(backup.path, read_only=True) as copy:
        assert isinstance(copy.entries(chain)[-1].event, ShiftEnded)
        assert copy.verify() == []


def test_a_folder_that_vanished_is_told_in_a_sentence_and_blocks_nothing(
    stand: Stand, tmp_path: Path
) -> None:
    window = stand.open()
    window.settings.backup_folder = str(tmp_path / "gone")
    start_shift(stand)
    end_shift(stand)
    assert window.notice.words.text().startswith("No backup was made. The folder for backups, ")
    assert "plug in its drive" in window.notice.words.text()
    with stand.qtbot.waitSignal(window.client.snapshot_changed):
        start_shift(stand)


def test_without_a_folder_nothing_is_backed_up(stand: Stand) -> None:
    window = stand.open()
    start_shift(stand)
    client = window.client
    with stand.qtbot.waitCallback() as answered:
        client.enter(ShiftEnded(at=stand.now, by="RM"), answered)
    assert not window.notice.isVisible()


def test_a_folder_is_chosen_in_the_menu_tried_at_once_and_remembered(
    stand: Stand, tmp_path: Path
) -> None:
    folder = tmp_path / "stick"
    folder.mkdir()
    window = stand.open()
    window.menu.back_up.trigger()  # without a folder it asks for one
    dialog = window.care.chooser.dialog
    assert isinstance(dialog, QFileDialog)
    with stand.qtbot.waitSignal(window.care.maintenance.backed_up):
        dialog.fileSelected.emit(str(folder))
    dialog.close()
    assert len(backups_in(folder, "shed")) == 1
    stand.to_front(window)
    stand.close()
    assert stand.open().settings.backup_folder == str(folder)


def test_closing_waits_for_no_check(stand: Stand) -> None:
    stand.open().care.maintenance.check()
    stand.close()


def test_an_edited_line_of_a_list_is_told_though_the_journal_is_whole(
    stand: Stand, tmp_path: Path
) -> None:
    stand.open()
    with sqlite3.connect(tmp_path / "shed.db") as db:
        db.execute("UPDATE shift SET supervisor = 'XX' WHERE chain = 'quiet'")
    db.close()
    checked(stand)
    assert "does not agree with its journal" in stand.window.care.alarm.words.text()


def test_a_witness_beside_misses_what_was_cut_off(stand: Stand, tmp_path: Path) -> None:
    maintenance = stand.open().care.maintenance
    maintenance.witness_folder = tmp_path / "state"
    with stand.qtbot.waitSignal(maintenance.witnessed):
        maintenance.testify()
    checked(stand)
    assert stand.window.care.alarm.isHidden()
    with sqlite3.connect(tmp_path / "shed.db") as db:
        db.execute("DROP TRIGGER journal_never_deleted")
        db.execute("DELETE FROM journal WHERE chain = 'site'")
    db.close()
    checked(stand)
    assert "more: see 'washmon verify'" in stand.window.care.alarm.words.text()


def test_summaries_of_an_earlier_version_are_made_anew_after_the_check(stand: Stand) -> None:
    with sqlite3.connect(stand.path) as db:
        db.execute("UPDATE summary_rows SET form = 'older'")
    window = stand.open()
    with stand.qtbot.waitSignals(
        [window.care.maintenance.renewing, window.care.maintenance.renewed]
    ):
        window.care.maintenance.check()
    old = window.client.recorder.read(lambda store: store.summed_up_otherwise(FORM)).result(10)
    assert old == []
    assert window.care.checked == "Journal checked at 07:00: whole"


def test_a_paper_that_is_gone_is_called_that_and_the_records_whole(stand: Stand) -> None:

    def file(store: Store, key: str) -> None:
        paper = Paper(key=key, name=key, kind=PaperKind.LABEL, sha256=key * 64, size=9)
        store.append(SITE, [ThingRegistered(at=START, by="RM", what=paper)], START)

    with Store.open(stand.path) as store:
        file(store, "a")
    stand.open()
    checked(stand)
    words = stand.window.care.alarm.words.text()
    assert words.startswith("The records are whole, but a paper is not as it was filed. The file")
    assert words.endswith("is missing.")
    stand.window.client.recorder.read(lambda store: file(store, "b")).result(10)
    checked(stand)
    assert stand.window.care.alarm.words.text().endswith("And 1 more: see 'washmon verify'.")
