"""Who checks in time: off until a manager says so, read on demand, gone when it is off again."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from msgspec.structs import replace
from pytestqt.qtbot import QtBot

from tests.gui.logbook.conftest import NOW, READER
from tests.gui.logbook.past import keep
from tests.shed import START, Shed, a_setup, a_tank
from washmon.gui.client import RecorderClient
from washmon.gui.settings import Settings
from washmon.gui.trends.page import TrendsPage
from washmon.gui.trends.trends_views import CHECKS
from washmon.line.events import Event, ReadingTaken, ShiftEnded
from washmon.line.journal import SITE
from washmon.line.pins import hash_pin
from washmon.line.setup import LineSetup, Person, Role
from washmon.line.site_events import PinMistaken, PinSet, SetupSaved
from washmon.store.store import Store

PIN = "19 geese"


def a_line() -> LineSetup:
    """A tank to be checked every half hour, and a manager."""
    setup = a_setup(a_tank(1, "Dunk", check_minutes=30.0, check_batches=None))
    boss = Person(initials="BO", name="B. O.", role=Role.MANAGER)
    return replace(setup, people=(*setup.people, boss))


def a_shift(days_ago: int, *waits: float) -> Shed:
    """Readings by TK, so many minutes after one another."""
    shed = Shed(a_line(), start=START - timedelta(days=days_ago))
    shed.fill()
    for minutes in (1.0, *waits):
        shed.wait(minutes)
        shed.tell(ReadingTaken(at=shed.now, by="TK", tank=1, fac_mg_l=50.0))
    shed.tell(ShiftEnded(at=shed.now, by="RM"))
    return shed


@pytest.fixture
def client(tmp_path: Path) -> Iterator[RecorderClient]:
    with Store.open(tmp_path / "shed.db") as store:
        store.append(SITE, [SetupSaved(at=START, by="RM", setup=a_line())], START)
        keep(store, a_shift(8, 20, 30).shift, "week-before")
        keep(store, a_shift(1, 30, 45, 55).shift, "week-now")
    client = RecorderClient(Store.open(tmp_path / "shed.db"), clock=lambda: NOW)
    client.start()
    yield client
    client.close()


@pytest.fixture
def page(qtbot: QtBot, client: RecorderClient, tmp_path: Path) -> TrendsPage:
    page = TrendsPage(client, Settings(tmp_path / "looks.ini"))
    qtbot.addWidget(page)
    page.resize(1366, 700)
    page.show()
    with qtbot.waitSignal(page.loaded):
        page.open(READER)
    page.quantity.put(CHECKS)
    page.quantity.editor.activated.emit(page.quantity.editor.currentIndex())
    return page


def switch(qtbot: QtBot, page: TrendsPage) -> None:
    with qtbot.waitSignals([page.coaching.switched, page.loaded]):
        page.coaching.switch.click()


def rows(page: TrendsPage) -> list[list[str]]:
    return [
        [cell.text.replace("\N{NO-BREAK SPACE}", " ") for cell in row[:-1]]
        for row in page.found.model.rows
    ]


def test_it_is_off_and_says_what_it_is_for(page: TrendsPage) -> None:
    assert page.coaching.isVisible()
    assert not page.coaching.on
    assert "For coaching, not for blame" in page.coaching.words.text()
    assert "part of no record and no export" in page.coaching.words.text()
    assert page.chart.view.panels == ()
    assert rows(page) == []
    assert not page.png.isEnabled()


def test_a_manager_switches_it_on_and_each_person_has_a_row_a_week(
    qtbot: QtBot, page: TrendsPage, tmp_path: Path
) -> None:
    assert page.coaching.who.text == "BO"  # the only one
    switch(qtbot, page)
    # Of the last week 15 and 25 minutes late: the median is 20.
    assert rows(page) == [
        ["2026-05-04", "TK", "3", "1 (33 %)", "20 min late"],
        ["2026-04-27", "TK", "2", "2 (100 %)", "–"],
    ]
    (panel,) = page.chart.view.panels
    assert panel.days == ("2026-04-27", "2026-05-04")
    assert "TK" not in page.chart.svg().decode()
    assert "for coaching, not for blame" in page.chart.view.caption
    assert Settings(tmp_path / "looks.ini").coaching


def test_switched_off_again_nobody_is_named_any_more(qtbot: QtBot, page: TrendsPage) -> None:
    switch(qtbot, page)
    with qtbot.waitSignal(page.coaching.switched):
        page.coaching.switch.click()
    assert rows(page) == []
    assert page.chart.view.panels == ()


def test_other_trends_do_not_show_the_switch(page: TrendsPage) -> None:
    page.quantity.put("weeks")
    page.draw()
    assert not page.coaching.isVisible()


def test_where_pins_are_in_use_a_wrong_one_is_refused_and_journaled(
    qtbot: QtBot, client: RecorderClient, page: TrendsPage
) -> None:
    first = PinSet(at=NOW, by="BO", who="BO", hash=hash_pin(PIN))
    with qtbot.waitCallback() as answered:
        client.enter(first, answered)
    page.coaching.open(READER)
    qtbot.waitUntil(page.coaching.pin.isVisible)
    page.coaching.pin.put("wrong")
    page.coaching.switch.click()
    qtbot.waitUntil(lambda: page.coaching.pin.fault.text != "")
    assert not page.coaching.on
    found: list[list[Event]] = []
    client.read(lambda store: [entry.event for entry in store.entries(SITE)], found.append)
    qtbot.waitUntil(lambda: bool(found))
    assert isinstance(found[0][-1], PinMistaken)
    page.coaching.pin.put(PIN)
    switch(qtbot, page)
    assert page.coaching.on


def test_reading_can_be_stopped(qtbot: QtBot, page: TrendsPage) -> None:
    with qtbot.waitSignal(page.coaching.switched):
        page.coaching.switch.click()
    assert page.message.action.label == "Stop"
    page.message.action.click()
    assert page.chart.view.nothing.startswith("Reading was stopped")
    with qtbot.waitSignal(page.loaded):
        page.load()
    qtbot.waitUntil(lambda: len(rows(page)) == 2)


@pytest.mark.parametrize("by", ["RM", "TK", "XX", ""])
def test_nobody_but_a_manager_is_taken_for_one(client: RecorderClient, by: str) -> None:
    fault = client.recorder.vouch(by, "").result()
    assert fault is not None
    assert fault.field == "by"
    assert client.recorder.vouch("BO", "").result() is None
