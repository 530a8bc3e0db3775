"""The page where PINs are set, changed and taken away."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from msgspec.structs import replace
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from tests.shed import START, a_setup
from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext as Reader
from washmon.gui.pins_page import PinsPage
from washmon.line.journal import SITE
from washmon.line.pins import hash_pin, is_pin, pins_of
from washmon.line.setup import Person, Role
from washmon.line.site_events import PinReset, PinSet, SetupSaved
from washmon.store.store import Store
from washmon.units import UnitSystem

OLD, NEW = "rake 22", "hoe 317"


@pytest.fixture
def client(tmp_path: Path) -> Iterator[RecorderClient]:
    setup = a_setup()
    boss = Person(initials="BO", name="B. O.", role=Role.MANAGER)
    store = Store.open(tmp_path / "shed.db")
    saved = SetupSaved(at=START, by="BO", setup=replace(setup, people=(*setup.people, boss)))
    store.append(SITE, [saved], START)
    client = RecorderClient(store, clock=lambda: START)
    client.start()
    yield client
    client.close()


def page_for(qtbot: QtBot, client: RecorderClient, initials: str) -> PinsPage:
    page = PinsPage(client)
    qtbot.addWidget(page)
    page.resize(1366, 720)
    page.show()
    with qtbot.waitSignal(page.loaded):
        page.open(Reader(initials, UnitSystem.METRIC))
    return page


def kept(client: RecorderClient) -> dict[str, str]:
    return pins_of(client.recorder.read(lambda store: store.entries(SITE)).result(10)).hashes


def tell(client: RecorderClient, event: PinSet | PinReset) -> None:
    client.recorder.read(lambda store: store.append(SITE, [event], START)).result(10)


def type_new(page: PinsPage, pin: str, again: str | None = None) -> None:
    QTest.keyClicks(page.new.editor, pin)
    QTest.keyClicks(page.again.editor, pin if again is None else again)


def test_a_manager_sets_the_first_pin_and_learns_what_it_means(
    qtbot: QtBot, client: RecorderClient
) -> None:
    page = page_for(qtbot, client, "BO")
    assert page.state.text().startswith("No PIN is set: signing takes initials only.")
    assert not page.pin.isVisible()
    assert not page.reset.isVisible()
    type_new(page, NEW)
    with qtbot.waitSignal(page.loaded):
        page.save.click()
    assert is_pin(NEW, kept(client)["BO"])
    assert page.message.words.text() == "The new PIN is set."
    assert (page.new.text, page.again.text) == ("", "")
    assert page.pin.isVisible()


def test_a_weak_pin_or_two_that_differ_are_refused_beside_the_field(
    qtbot: QtBot, client: RecorderClient
) -> None:
    page = page_for(qtbot, client, "BO")
    type_new(page, "1234")
    page.save.click()
    assert "soon guessed" in page.new.fault.words.text()
    page.new.put(NEW)
    page.again.put(NEW + "x")
    page.save.click()
    assert "not the same" in page.again.fault.words.text()
    assert kept(client) == {}


def test_nobody_but_a_manager_begins(qtbot: QtBot, client: RecorderClient) -> None:
    page = page_for(qtbot, client, "RM")
    type_new(page, NEW)
    with qtbot.waitSignal(page._sending.refused):
        page.save.click()
    assert page.by.fault.words.text() == "A first PIN is set by a manager."


def test_a_forgotten_pin_is_reset_by_a_manager_and_chosen_anew(
    qtbot: QtBot, client: RecorderClient
) -> None:
    digest = hash_pin(OLD)
    for who, role in (("BO", Role.MANAGER), ("RM", Role.SUPERVISOR)):
        tell(client, PinSet(at=START, by="BO", who=who, hash=digest, role=role))
    page = page_for(qtbot, client, "BO")
    page.who.put("RM")
    page.who.changed.emit()
    assert page.reset.isVisible()
    QTest.keyClicks(page.pin.editor, "wrong")
    with qtbot.waitSignal(page._sending.refused):
        page.reset.click()
    assert page.pin.fault.words.text() == "This is not the PIN of BO."
    QTest.keyClicks(page.pin.editor, OLD)
    with qtbot.waitSignal(page.loaded):
        page.reset.click()
    assert "RM" not in kept(client)
    assert page.state.text() == "The PIN of RM was reset: a new one can be chosen."
    mine = page_for(qtbot, client, "RM")
    assert not mine.pin.isVisible()
    type_new(mine, NEW)
    with qtbot.waitSignal(mine.loaded):
        mine.save.click()
    assert is_pin(NEW, kept(client)["RM"])


def test_a_pin_is_changed_with_the_old_one(qtbot: QtBot, client: RecorderClient) -> None:
    tell(client, PinSet(at=START, by="BO", who="RM", hash=hash_pin(OLD)))
    page = page_for(qtbot, client, "RM")
    assert page.state.text() == "RM has a PIN. It is changed with the old one, or reset."
    QTest.keyClicks(page.pin.editor, OLD)
    type_new(page, NEW)
    with qtbot.waitSignal(page.loaded):
        page.save.click()
    assert is_pin(NEW, kept(client)["RM"])
