"""The menu leads to the trends and to the import, and from both on to the Logbook."""

from pathlib import Path

import pytest

from tests.gui.logbook.past import days_ago, keep, quiet_shift
from tests.gui.stand import Stand
from tests.shed import a_setup
from washmon.gui.importing.page import ImportPage
from washmon.gui.logbook.logbook import Logbook
from washmon.gui.rooms import Room
from washmon.gui.trends.page import TrendsPage
from washmon.line.site_events import SetupSaved
from washmon.store.store import Store

# A menu asks to be raised and for the keyboard, which the offscreen platform has no way to grant.
pytestmark = pytest.mark.qt_log_ignore("This plugin does not support", extend=True)


@pytest.fixture
def stand(stand: Stand) -> Stand:
    """A shed with a set-up and a past shift."""
    with Store.open(stand.path) as store:
        store.append("site", [SetupSaved(at=days_ago(9), by="RM", setup=a_setup())], days_ago(9))
        keep(store, quiet_shift(days_ago(2)).shift, "quiet")
    return stand


def test_the_trends_open_from_the_menu_and_lead_to_a_shift(stand: Stand) -> None:
    stand.open()
    stand.choose_in_menu(stand.menu_line(Room.TRENDS))
    stand.wait_for(Room.TRENDS)
    page = stand.page(TrendsPage)
    stand.qtbot.waitUntil(lambda: page.line.text == "Leaf line")
    page.opened.emit("quiet")
    stand.wait_for(Room.LOGBOOK)
    book = stand.page(Logbook)
    stand.qtbot.waitUntil(lambda: book.page.shift is not None)
    assert book.page.shift is not None
    assert book.page.shift.chain == "quiet"


def test_the_import_opens_from_the_menu_and_ends_in_the_logbook(
    stand: Stand, tmp_path: Path
) -> None:
    log = tmp_path / "old.csv"
    log.write_text("Date,Time,Tank,ppm,By\n2026-04-13,7:10,1,50,RM\n", encoding="utf-8")
    stand.open()
    stand.choose_in_menu(stand.menu_line(Room.IMPORT))
    stand.wait_for(Room.IMPORT)
    page = stand.page(ImportPage)
    page.read(log)
    stand.qtbot.waitUntil(page.take.isEnabled)
    with stand.qtbot.waitSignal(page.done):
        stand.click(page.take)
    stand.click(page.message.action)
    stand.wait_for(Room.LOGBOOK)


def test_a_window_that_only_reads_does_not_import(stand: Stand) -> None:
    stand.open()
    stand.open(read_only=True)
    stand.qtbot.waitUntil(lambda: not stand.menu_line(Room.IMPORT).isEnabled())
    assert stand.menu_line(Room.TRENDS).isEnabled()
