"""Leaving asks where something would be lost, and only there."""

import pytest
from PySide6.QtCore import Qt

from tests.gui.stand import Key, Stand, begin_shift
from tests.shed import START, a_setup
from washmon.gui.kit.confirm import ConfirmQuestion
from washmon.gui.logbook.logbook import Logbook
from washmon.gui.practice.room import PracticeRoom
from washmon.gui.registers.page import RegistersPage
from washmon.gui.rooms import Room
from washmon.gui.setup_guide import SetupGuide
from washmon.gui.shift.end import ShiftEnd
from washmon.gui.shift.start import LotFields, ShiftStart
from washmon.line.site_events import SetupSaved
from washmon.store.store import Store

pytestmark = pytest.mark.qt_log_ignore("This plugin does not support", extend=True)


@pytest.fixture
def stand(stand: Stand) -> Stand:
    with Store.open(stand.path) as store:
        store.append("site", [SetupSaved(at=START, by="RM", setup=a_setup())], START)
    return stand


def asked(stand: Stand) -> ConfirmQuestion | None:
    found = [one for one in stand.window.findChildren(ConfirmQuestion) if one.isVisible()]
    return found[0] if found else None


def answer(stand: Stand, *, yes: bool) -> None:
    question = asked(stand)
    assert question is not None
    stand.click(question.yes if yes else question.no)


def lot(page: ShiftStart) -> LotFields:
    return next(row for row in page.lots.rows if isinstance(row, LotFields))


def test_a_start_that_somebody_filled_in_is_not_thrown_away_by_escape(stand: Stand) -> None:
    stand.open()
    stand.key(Key.Key_F1)
    stand.key(Key.Key_Escape)
    stand.wait_for(Room.READY)  # nothing was written
    stand.key(Key.Key_F1)
    page = stand.page(ShiftStart)
    stand.click(lot(page).code.editor)
    stand.type("L-7", Key.Key_Escape)
    answer(stand, yes=False)
    assert stand.room is Room.START
    assert lot(page).code.text == "L-7"
    stand.key(Key.Key_Escape)
    answer(stand, yes=True)
    stand.wait_for(Room.READY)


def test_a_note_for_whoever_comes_next_is_asked_about(stand: Stand) -> None:
    begin_shift(stand.path)
    stand.open()
    stand.key(Key.Key_F10)
    page = stand.page(ShiftEnd)
    stand.click(page.note.editor)
    stand.type("Pump is loud.", Key.Key_Escape)
    answer(stand, yes=False)
    assert page.note.text == "Pump is loud."
    stand.key(Key.Key_Escape)
    answer(stand, yes=True)
    stand.wait_for(Room.BOARD)


def changed_guide(stand: Stand) -> SetupGuide:
    stand.key(Key.Key_F3)
    guide = stand.page(SetupGuide)
    guide.go_to(guide.pages.index(guide.place))
    stand.write("Another site")
    return guide


def test_the_menu_and_closing_ask_before_a_changed_set_up_is_forgotten(stand: Stand) -> None:
    window = stand.open()
    guide = changed_guide(stand)
    stand.choose_in_menu(stand.menu_line(Room.TRENDS))
    answer(stand, yes=False)
    assert stand.room is Room.GUIDE
    stand.key(Key.Key_Q, Qt.KeyboardModifier.ControlModifier)
    assert window.isVisible()
    answer(stand, yes=False)
    assert guide.place.site.text == "Another site"
    stand.choose_in_menu(stand.menu_line(Room.TRENDS))
    answer(stand, yes=True)
    stand.wait_for(Room.TRENDS)


def test_a_page_aside_leads_back_to_what_was_begun_without_asking(stand: Stand) -> None:
    stand.open()
    guide = changed_guide(stand)
    stand.choose_in_menu(stand.menu_line(Room.HELP))
    assert asked(stand) is None
    stand.choose_in_menu(stand.menu_line(Room.TRENDS))  # from there it would be lost
    answer(stand, yes=False)
    stand.key(Key.Key_Escape)
    stand.wait_for(Room.GUIDE)
    assert guide.place.site.text == "Another site"


def test_another_page_aside_asks_before_what_is_written_on_one_is_forgotten(stand: Stand) -> None:
    stand.open()
    stand.choose_in_menu(stand.menu_line(Room.REGISTERS))
    page = stand.page(RegistersPage)
    stand.key(Key.Key_Insert)
    stand.qtbot.waitUntil(page.thing.isVisible)
    stand.type("Meter A")
    stand.window.go(Room.REVIEW)
    answer(stand, yes=False)
    assert stand.room is Room.REGISTERS
    assert page.thing.fields["name"].text == "Meter A"
    stand.window.go(Room.REVIEW)
    answer(stand, yes=True)
    stand.wait_for(Room.REVIEW)


def test_where_a_lot_went_is_not_forgotten_half_written(stand: Stand) -> None:
    begin_shift(stand.path)
    stand.open()
    stand.window.go(Room.LOGBOOK)
    logbook = stand.page(Logbook)
    with stand.qtbot.waitSignal(logbook.lot.loaded):
        logbook.trace_lot("L-1")
    stand.click(logbook.lot.tell)
    stand.type("Green market", Key.Key_Escape)
    answer(stand, yes=False)
    assert logbook.lot.sent.to.text == "Green market"
    stand.window.go(Room.TRENDS)
    answer(stand, yes=False)
    stand.window.go(Room.HELP)  # aside: it stays as it is under it
    assert asked(stand) is None
    stand.window.go(Room.TRENDS)
    answer(stand, yes=True)
    stand.wait_for(Room.TRENDS)


def test_a_program_that_is_ended_from_outside_does_not_wait_for_an_answer(stand: Stand) -> None:
    window = stand.open()
    changed_guide(stand)
    window.close_surely()
    assert not window.isVisible()


def test_closing_asks_before_a_scenario_that_is_being_written_is_forgotten(stand: Stand) -> None:
    window = stand.open()
    stand.choose_in_menu(stand.menu_line(Room.PRACTICE))
    room = stand.page(PracticeRoom)
    room.open_shelf()
    room.shelf.trials.stop()
    stand.click(room.shelf.new)
    stand.write("The pump fails")
    stand.key(Key.Key_Q, Qt.KeyboardModifier.ControlModifier)
    assert window.isVisible()
    answer(stand, yes=False)
    assert room.unsaved
    assert room.editor.draft().title == "The pump fails"
    stand.key(Key.Key_Escape)
    answer(stand, yes=True)
    assert room.pages.currentWidget() is room.shelf
