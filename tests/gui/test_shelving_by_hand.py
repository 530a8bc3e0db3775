"""A flag is shelved and brought back through the real window on a real database."""

from datetime import timedelta

import pytest
from PySide6.QtCore import Qt

from tests.gui.stand import Stand, begin_shift
from washmon.line.events import ReadingTaken
from washmon.line.flag_events import FlagShelved, FlagUnshelved
from washmon.line.flags import Level
from washmon.line.kinds import EntryKind

Key = Qt.Key
LOW = (1, "chlorine-low")


@pytest.fixture
def stand(stand: Stand) -> Stand:
    """A running shift whose first tank is under its operating low; the flag was seen."""
    begin_shift(stand.path)
    window = stand.open()
    low = ReadingTaken(at=stand.now, by="RM", tank=1, fac_mg_l=30.0, ph=7.0)
    window.client.enter(low)
    stand.qtbot.waitUntil(lambda: LOW in stand.rules_up())
    stand.click(stand.card(*LOW).see)
    stand.qtbot.waitUntil(stand.card(*LOW).shelve.isVisible)
    return stand


def is_shelved(stand: Stand) -> bool:
    view = stand.board.board.view
    return LOW not in stand.rules_up() and view is not None and bool(view.shelved)


def test_by_hand_a_flag_is_shelved_and_brought_back(stand: Stand) -> None:
    stand.click(stand.card(*LOW).shelve)
    sheet = stand.entries.sheet
    assert "1 First dunk: re-dose" in sheet.note.text()
    sheet.grid.fields["minutes"].put("20")
    sheet.grid.fields["ready"].put("To be tested again")
    with stand.saving():
        stand.click(sheet.save)
    stand.qtbot.waitUntil(lambda: is_shelved(stand))
    said = stand.board.message.words.text()
    assert said.endswith(": re-dose, To be tested again")  # as the card calls it
    event = stand.last().event
    assert isinstance(event, FlagShelved)
    assert (event.reason, event.level) == ("To be tested again", Level.ACT)
    assert event.until == event.at + timedelta(minutes=20)
    aside = stand.why(1).shelved
    stand.click(aside.head)
    stand.click(aside.rows[0].back)
    stand.qtbot.waitUntil(lambda: LOW in stand.rules_up())
    assert isinstance(stand.last().event, FlagUnshelved)
    assert not aside.isVisible()


def test_by_keys_alone_and_it_is_back_when_its_time_is_over(stand: Stand) -> None:
    stand.card(*LOW).shelve.setFocus()
    stand.type(Key.Key_Space)
    stand.qtbot.waitUntil(stand.entries.sheet.isVisible)
    stand.type("1", Key.Key_Return, Key.Key_Return, "kit in the lab")
    with stand.saving():
        stand.type(Key.Key_Return)
    stand.qtbot.waitUntil(lambda: is_shelved(stand))
    event = stand.last().event
    assert isinstance(event, FlagShelved)
    assert event.reason == "kit in the lab"
    assert event.until == event.at + timedelta(minutes=10)
    stand.wait(9)
    assert is_shelved(stand)
    stand.wait(1)
    stand.qtbot.waitUntil(lambda: LOW in stand.rules_up())


def test_without_a_time_or_a_reason_nothing_is_saved_and_both_are_asked_for(
    stand: Stand,
) -> None:
    stand.click(stand.card(*LOW).shelve)
    sheet = stand.entries.sheet
    stand.click(sheet.save)
    fields = sheet.grid.fields
    assert fields["minutes"].fault.text == "Choose one."
    fields["minutes"].put("10")
    stand.click(sheet.save)
    assert fields["reason"].fault.text == "Say why: choose a reason, or write a few words."
    assert sheet.isVisible()
    assert not any(isinstance(event, FlagShelved) for event in stand.events)


def test_the_sheet_offers_no_longer_time_than_the_line_allows(stand: Stand) -> None:
    stand.click(stand.card(*LOW).shelve)
    choices = stand.entries.sheet.grid.fields["minutes"].spec.choices
    assert [key for key, _ in choices] == ["10", "20", "30", "60"]


def test_a_hand_over_names_what_is_shelved(stand: Stand) -> None:
    stand.click(stand.card(*LOW).shelve)
    sheet = stand.entries.sheet
    sheet.grid.fields["minutes"].put("20")
    sheet.grid.fields["reason"].put("kit in the lab")
    with stand.saving():
        stand.click(sheet.save)
    stand.qtbot.waitUntil(lambda: is_shelved(stand))
    stand.board.open_entry(EntryKind.HAND_OVER)
    assert "Shelved now: tank 1: re-dose." in sheet.note.text()
