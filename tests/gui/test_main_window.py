"""The window around the rooms: pages, menu, what it remembers, a second window, trouble."""

import re
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtGui import QAction
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QWidget
from pytestqt.qtbot import QtBot

from tests.gui.logbook.past import days_ago, keep, quiet_shift
from tests.gui.stand import Key, Stand, begin_shift, close_windows
from tests.shed import START, a_setup
from tests.some import some
from washmon import data
from washmon.gui import app as program
from washmon.gui.action_bar import Action
from washmon.gui.calculator.page import Calculator
from washmon.gui.help_page import HelpPage
from washmon.gui.kit import theme
from washmon.gui.kit.text import Text
from washmon.gui.logbook.logbook import Logbook
from washmon.gui.main_window import MainWindow
from washmon.gui.page import Page
from washmon.gui.practice.room import PracticeRoom
from washmon.gui.ready_page import ReadyPage
from washmon.gui.replay_room import ReplayRoom
from washmon.gui.rooms import Room
from washmon.gui.shift.end import ShiftEnd
from washmon.gui.shift.start import LotFields, ShiftStart
from washmon.gui.trouble_page import TroublePage
from washmon.line.events import (
    HoldPlaced,
    Instrument,
    InstrumentChecked,
    LineResumed,
    NoteWritten,
    ReadingTaken,
    ShiftEnded,
)
from washmon.line.kinds import EntryKind
from washmon.line.setup import Person, Role
from washmon.line.site_events import SetupSaved
from washmon.planning.snapshot import Mode
from washmon.rules import all_rules
from washmon.sessions.file import read
from washmon.store.errors import DiskFull
from washmon.store.store import Store
from washmon.units import UnitSystem

MOST_STEPS = 200
CLEAN, MUDDY = data.demo_sessions()[:2]

# A menu asks to be raised and for the keyboard, which the offscreen platform has no way to grant.
pytestmark = pytest.mark.qt_log_ignore("This plugin does not support", extend=True)


@pytest.fixture
def stand(stand: Stand) -> Stand:
    """A shed with a set-up and a past shift; nothing runs."""
    with Store.open(stand.path) as store:
        setup = a_setup()
        store.append("site", [SetupSaved(at=days_ago(9), by="RM", setup=setup)], days_ago(9))
        keep(store, quiet_shift(days_ago(2)).shift, "quiet")
    return stand


@pytest.fixture
def running(stand: Stand) -> Stand:
    """A shift with water in both tanks, measured just now, and one batch."""
    begin_shift(stand.path)
    return stand


# --- rooms and the ways between them


def test_without_a_shift_the_window_says_what_can_be_begun(stand: Stand) -> None:
    stand.open()
    page = stand.page(ReadyPage)
    assert stand.room is Room.READY
    assert page.title.text() == "No shift is running"
    assert page.facts.text() == "Leaf line at Test shed: First dunk, Second dunk."
    assert page.start.isEnabled()


def test_a_running_shift_is_taken_up_on_the_board(running: Stand) -> None:
    running.open()
    assert running.room is Room.BOARD
    assert all(button.isEnabled() for button in some(running.board.bar.buttons.values()))
    header = running.window.header
    assert header.line.text() == "Leaf line"
    assert "in charge RM" in header.facts.text()
    assert header.time.text() == "07:00"
    assert "all entries saved" in header.saved.text()


@pytest.mark.parametrize(
    ("key", "room"),
    [
        (Key.Key_F1, Room.START),
        (Key.Key_F9, Room.LOGBOOK),
        (Key.Key_F3, Room.GUIDE),
        (Key.Key_F11, Room.CALCULATOR),
        (Key.Key_Help, Room.HELP),
    ],
)
def test_every_room_is_a_key_away_and_escape_leads_back(
    stand: Stand, key: Qt.Key, room: Page[Any]
) -> None:
    stand.open()
    stand.key(key)
    stand.wait_for(room)
    stand.key(Key.Key_Escape)
    stand.wait_for(Room.READY)


@pytest.mark.parametrize(
    ("key", "room"),
    [
        (Key.Key_F9, Room.LOGBOOK),
        (Key.Key_F10, Room.END),
        (Key.Key_F11, Room.CALCULATOR),
        (Key.Key_Help, Room.HELP),
    ],
)
def test_from_every_room_beside_a_running_shift_escape_leads_to_the_board(
    running: Stand, key: Qt.Key, room: Page[Any]
) -> None:
    running.open()
    running.key(key)
    running.wait_for(room)
    running.key(Key.Key_Escape)
    running.wait_for(Room.BOARD)


def test_help_and_calculator_lead_back_to_what_was_begun(stand: Stand) -> None:
    stand.open()
    stand.key(Key.Key_F1)
    (lot,) = (row for row in stand.page(ShiftStart).lots.rows if isinstance(row, LotFields))
    stand.click(lot.code.editor)
    stand.type("LB-05")
    stand.key(Key.Key_Help)
    stand.wait_for(Room.HELP)
    stand.key(Key.Key_F11)
    stand.wait_for(Room.CALCULATOR)
    stand.key(Key.Key_Escape)
    stand.wait_for(Room.START)
    stand.type("07-1")
    assert lot.code.text == "LB-0507-1"


def test_a_sheet_keeps_what_was_typed_while_something_is_worked_out(running: Stand) -> None:
    running.open()
    running.type(Key.Key_F1, "1", "48")
    running.key(Key.Key_F11)
    assert isinstance(running.window.rooms.currentWidget(), Calculator)
    running.key(Key.Key_Escape)
    running.type(Key.Key_Return, "7.1", Key.Key_Return, "20")
    with running.saving():
        running.key(Key.Key_Return)
    reading = running.events[-1]
    assert isinstance(reading, ReadingTaken)
    assert (reading.fac_mg_l, reading.ph, reading.turbidity_ntu) == (48, 7.1, 20)


@pytest.mark.parametrize(
    "key", [None, Key.Key_F9, Key.Key_F10, Key.Key_F11, Key.Key_F12, Key.Key_F1, Key.Key_F2]
)
def test_the_keyboard_alone_reaches_everything_that_can_be_pressed(
    running: Stand, key: Qt.Key | None
) -> None:
    running.open()
    if key is not None:
        running.key(key)
    QApplication.processEvents()
    assert reachable(running.window) - walked(running) == set()


@pytest.mark.parametrize("key", [None, Key.Key_F1, Key.Key_F3, Key.Key_F9])
def test_before_a_shift_the_keyboard_alone_reaches_everything_too(
    stand: Stand, key: Qt.Key | None
) -> None:
    stand.open()
    if key is not None:
        stand.key(key)
    QApplication.processEvents()
    assert reachable(stand.window) - walked(stand) == set()


def reachable(window: QWidget) -> set[QWidget]:
    """All in sight that a person who has no mouse must come to."""
    tab = Qt.FocusPolicy.TabFocus
    seen = [one for one in window.findChildren(QWidget) if one.isVisible() and one.isEnabled()]
    return {
        one
        for one in seen
        if one.focusPolicy() & tab and one.focusProxy() is None and not by_arrows(one)
    }


def by_arrows(widget: QWidget) -> bool:
    """Tell whether it is one of several of which only one is pressed: arrows move between them."""
    if not isinstance(widget, QAbstractButton) or widget.group() is None:
        return False
    return not widget.isChecked()


def walked(stand: Stand) -> set[QWidget]:
    """Press Tab until it comes round; a field of several parts is stepped through."""
    seen: list[QWidget] = []
    while len(seen) < MOST_STEPS:
        stand.key(Key.Key_Tab)
        focus = QApplication.focusWidget()
        assert focus is not None
        assert focus.isVisible(), focus
        assert focus.isEnabled(), focus
        if seen[:1] == [focus] and set(seen) != {focus}:
            break
        seen.append(focus)
    return set(seen)


# --- the menu


def lines_on(stand: Stand) -> set[str]:
    menu = stand.window.menu
    return {action.text() for action in menu.actions() if action.isEnabled() and action.text()}


ALWAYS = {"Replay a recorded shift", "Calculator", "Sound", "Help", "Close"}
OF_A_SHIFT = {"Make up the tanks", "Pause the line", "Hand over the shift"}
OF_ANY_SHIFT = {"Save the shift as a session file"}
OF_HOLDS = {"Decide about held product\tShift+F6"}
OF_THE_LINE = {"Set-up of the line"}


def test_without_a_shift_the_menu_offers_nothing_that_needs_one(stand: Stand) -> None:
    stand.open()
    assert lines_on(stand) >= ALWAYS | OF_THE_LINE
    assert not lines_on(stand) & (OF_A_SHIFT | OF_ANY_SHIFT | OF_HOLDS)


def test_holds_can_be_decided_while_there_are_some(running: Stand) -> None:
    running.open()
    assert lines_on(running) >= ALWAYS | OF_THE_LINE | OF_A_SHIFT | OF_ANY_SHIFT
    assert not lines_on(running) & OF_HOLDS
    running.key(Key.Key_F6, Qt.KeyboardModifier.ShiftModifier)
    assert running.board.at_rest
    assert running.board.message.words.text() == "Nothing is on hold."
    (batch,) = running.shift.tanks[0].washed
    hold = HoldPlaced(at=START, by="RM", tank=1, batches=(batch.seq,), reason="glass")
    running.window.client.enter(hold)
    running.qtbot.waitUntil(lambda: lines_on(running) >= OF_HOLDS)
    running.choose_in_menu(running.window.menu.entries[EntryKind.RELEASE])
    assert running.entries.sheet.spec.title == "Decide on a hold"
    lines = [line.text() for line in running.window.menu.actions()]
    assert sum(line.startswith("Decide") for line in lines) == 1  # not in the row's part, too


def test_the_line_is_paused_from_the_menu_and_goes_on_by_one_press(running: Stand) -> None:
    running.open()
    menu, header = running.window.menu, running.window.header
    running.choose_in_menu(menu.entries[EntryKind.PAUSE])
    assert running.entries.sheet.field("reason").text == "break"
    with running.saving():
        running.click(running.entries.sheet.save)
    assert "paused since 07:00: break" in header.facts.text()
    assert menu.entries[EntryKind.PAUSE].text() == "Go on after the pause"
    running.choose_in_menu(menu.entries[EntryKind.PAUSE])
    running.qtbot.waitUntil(lambda: menu.entries[EntryKind.PAUSE].text() == "Pause the line")
    assert isinstance(running.last().event, LineResumed)
    assert "paused" not in header.facts.text()


def test_the_menu_leads_to_filling_help_and_out(running: Stand) -> None:
    running.open()
    running.choose_in_menu(running.menu_line(Room.FILLING))
    running.wait_for(Room.FILLING)
    running.key(Key.Key_Escape)
    running.wait_for(Room.BOARD)
    running.choose_in_menu(running.menu_line(Room.HELP))
    assert running.room is Room.HELP
    running.choose_in_menu(running.window.menu.leave)
    assert not running.window.isVisible()


def test_help_tells_every_rule_with_its_source_and_the_cautions(stand: Stand) -> None:
    stand.open()
    stand.key(Key.Key_Help)
    said = "\n".join(text.text() for text in stand.page(HelpPage).findChildren(Text))
    assert all(rule.title[1:] in said and rule.source in said for rule in some(all_rules()))
    assert "make chlorine gas" in said
    assert "label" in said
    for action in Action:
        key = key_of(stand, action)
        assert re.search(rf"(?<!\w){re.escape(key)}(?!\w)", said), action


def key_of(stand: Stand, action: Action) -> str:
    page = stand.window.rooms.page(Room.BOARD)
    (button,) = (one for one in page.findChildren(QWidget) if one.objectName() == action)
    return button.accessibleDescription()


# --- what is remembered


def test_theme_sound_size_and_initials_are_remembered(
    running: Stand, themed_app: QApplication
) -> None:
    window = running.open()
    dark = theme_line(window, theme.DARK.name)
    dark.trigger()
    assert theme.current() is theme.DARK
    running.key(Key.Key_S, Qt.KeyboardModifier.AltModifier)
    window.resize(1024, 640)  # the offscreen screen is small
    window.header.person_chosen.emit("TK")
    assert window.header.who.label == "Entering: TK"
    running.close()
    theme.apply(themed_app, theme.BRIGHT)

    again = running.open()
    assert again.settings.theme is theme.DARK
    assert theme_line(again, theme.DARK.name).isChecked()
    assert not again.menu.sound.isChecked()
    assert (again.width(), again.height()) == (1024, 640)
    assert again.person.initials == "TK"
    running.type(Key.Key_F7, "signed by whoever stands here")
    with running.saving():
        running.key(Key.Key_Return)
    assert running.events[-1].by == "TK"


def theme_line(window: MainWindow, name: str) -> QAction:
    return next(one for one in window.menu.themes.actions() if one.data() == name)


def test_settings_that_can_not_be_written_stop_nothing(running: Stand) -> None:
    running.path.with_suffix(".ini").mkdir()
    window = running.open()
    theme_line(window, theme.DARK.name).trigger()
    assert theme.current() is theme.DARK
    running.close()


def enter(stand: Stand, event: ReadingTaken) -> None:
    """Enter a reading behind the window's back, all doubts waved through."""
    seq = stand.shift.last_seq
    stand.window.client.enter(event, sure=True)
    stand.qtbot.waitUntil(lambda: stand.shift.last_seq > seq)


# --- replays and session files


def test_a_session_is_chosen_from_those_that_come_with_the_program(running: Stand) -> None:
    running.open()
    running.choose_in_menu(running.window.menu.replay)
    dialog = running.window.sessions.opener.dialog
    assert dialog is not None
    assert Path(dialog.directory().absolutePath()) == CLEAN.parent
    dialog.fileSelected.emit(str(CLEAN))
    dialog.reject()
    assert running.window.sessions.opener.dialog is None
    running.wait_for(Room.REPLAY)
    running.to_front(running.window)
    header = running.window.header
    running.qtbot.waitUntil(lambda: header.saved.text() == "Replay: nothing is recorded")
    assert header.time.text() == f"{read(CLEAN).entries[0].event.at:%H:%M}"
    assert header.who.isHidden()
    running.key(Key.Key_Escape)
    assert running.room is Room.BOARD
    assert header.time.text() == "07:00"
    assert "all entries saved" in header.saved.text()


def test_a_live_shift_goes_on_behind_a_replay(running: Stand) -> None:
    running.open()
    running.window.sessions.open_file(MUDDY)
    running.wait_for(Room.REPLAY)
    room = running.page(ReplayRoom)
    running.qtbot.waitUntil(lambda: room.board.view is not None)
    line = running.window.header.line
    running.qtbot.waitUntil(lambda: line.text() == read(MUDDY).setup.line)
    enter(running, ReadingTaken(at=START, by="RM", tank=1, fac_mg_l=20.0))
    assert line.text() == read(MUDDY).setup.line
    running.key(Key.Key_Escape)
    assert "chlorine-critical" in {rule for _, rule in running.rules_up()}


def test_a_session_file_named_at_the_start_is_replayed(stand: Stand) -> None:
    stand.open(session_file=CLEAN)
    stand.wait_for(Room.REPLAY)
    stand.key(Key.Key_Escape)
    stand.wait_for(Room.READY)


def test_a_past_shift_is_replayed_from_the_logbook(stand: Stand) -> None:
    stand.open()
    stand.key(Key.Key_F9)
    logbook = stand.page(Logbook)
    with stand.qtbot.waitSignal(logbook.page.loaded):
        logbook.open_shift("quiet")
    stand.click(logbook.page.replay)
    stand.wait_for(Room.REPLAY)
    title = stand.page(ReplayRoom).bar.title
    stand.qtbot.waitUntil(lambda: title.text() == "Leaf line, 2026-05-05 07:00")
    stand.key(Key.Key_Escape)
    assert stand.room is Room.LOGBOOK
    assert logbook.page.isVisible()


def test_a_record_of_the_logbook_leads_to_practice_with_a_scenario_of_it(
    stand: Stand,
) -> None:
    stand.open()
    stand.key(Key.Key_F9)
    logbook = stand.page(Logbook)
    with stand.qtbot.waitSignal(logbook.page.loaded):
        logbook.open_shift("quiet")
    stand.click(logbook.page.head.scenario)
    stand.wait_for(Room.PRACTICE)
    choose = stand.page(PracticeRoom).choose
    said = choose.message.words
    # Nineteen minutes are too short to make two tanks up and to wash by the rules.
    stand.qtbot.waitUntil(lambda: "fails this one too" in said.text())
    chosen = choose.chosen()
    assert chosen is not None
    assert chosen[0].title.startswith("From a recorded shift")


def test_a_running_shift_is_saved_as_a_session_file_and_opened_again(running: Stand) -> None:
    running.open()
    running.wait(0)  # until the rules have looked, and what they say is journaled
    running.choose_in_menu(running.window.menu.save_session)
    files = running.window.sessions
    target = running.folder / "mine.washshift"
    dialog = files.saver.dialog
    assert dialog is not None
    dialog.fileSelected.emit(str(target))
    dialog.reject()
    running.qtbot.waitUntil(target.exists)
    told = running.window.notice
    running.qtbot.waitUntil(lambda: "mine.washshift" in told.words.text())
    session = read(target)
    assert session.entries == running.shift.entries
    assert session.setup == running.shift.setup
    files.open_file(target)
    running.wait_for(Room.REPLAY)


def test_a_session_file_that_can_not_be_written_is_said(running: Stand) -> None:
    running.open()
    running.window.sessions.save("shift-now", running.folder / "gone" / "mine.washshift")
    told = running.window.notice
    running.qtbot.waitUntil(lambda: "mine.washshift can't be written" in told.words.text())
    assert told.isVisible()


# --- a second window, and what stands in the way


def test_a_second_window_reads_only_and_follows_the_first(running: Stand) -> None:
    first = running.open()
    second = running.open(read_only=True)
    assert running.room is Room.BOARD
    assert "Read only" in second.header.saved.text()
    assert second.header.who.isHidden()
    pressable = {act for act, button in running.board.bar.buttons.items() if button.isEnabled()}
    assert pressable == {Action.LOGBOOK}
    assert lines_on(running) >= ALWAYS | OF_ANY_SHIFT
    assert not lines_on(running) & (OF_A_SHIFT | OF_HOLDS | OF_THE_LINE)
    running.type(Key.Key_F1)
    assert running.entries.is_open is False
    first.client.enter(NoteWritten(at=START, by="RM", text="from the first"))
    running.qtbot.waitUntil(lambda: first.snapshot is not None and told_note(first))
    running.wait(1)
    assert told_note(second)


def told_note(window: MainWindow) -> bool:
    shift = window.snapshot.shift if window.snapshot else None
    return shift is not None and isinstance(shift.entries[-1].event, NoteWritten)


def look_at_trouble(
    monkeypatch: pytest.MonkeyPatch, path: Path, look: Callable[[TroublePage], None]
) -> None:
    """Run the program on a database, and look at its window while it would wait for events."""

    def instead_of_waiting(*_: object) -> int:
        pages = [one for one in QApplication.topLevelWidgets() if isinstance(one, TroublePage)]
        (page,) = (one for one in pages if one.isVisible())
        look(page)
        close_windows()
        return 0

    monkeypatch.setattr(QApplication, "exec", instead_of_waiting)
    assert program.run(str(path), path.with_suffix(".ini")) == 0


def test_a_database_in_use_can_be_read_or_tried_again(
    stand: Stand, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = stand.open()

    def look(page: TroublePage) -> None:
        assert "Another program is writing shed.db" in page.words.text()
        assert page.look.isVisible()
        press(page.again)
        assert page.isVisible()
        press(page.look)
        assert not page.isVisible()
        second = other_window(first)
        stand.qtbot.waitUntil(lambda: second.snapshot is not None)
        assert second.snapshot is not None
        assert second.snapshot.mode is Mode.READ_ONLY

    look_at_trouble(monkeypatch, stand.path, look)
    stand.windows.clear()


def test_once_the_other_program_is_closed_trying_again_helps(
    stand: Stand, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = stand.open()

    def look(page: TroublePage) -> None:
        first.close()
        press(page.again)
        assert not page.isVisible()
        second = other_window(first)
        stand.qtbot.waitUntil(lambda: second.snapshot is not None)
        assert second.snapshot is not None
        assert second.snapshot.mode is Mode.LIVE

    look_at_trouble(monkeypatch, stand.path, look)
    stand.windows.clear()


def other_window(first: MainWindow) -> MainWindow:
    windows = [one for one in QApplication.topLevelWidgets() if isinstance(one, MainWindow)]
    (second,) = (one for one in windows if one is not first and one.isVisible())
    return second


def press(button: QWidget) -> None:
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)


def garbage(path: Path) -> None:
    path.write_bytes(b"\x00\xff" * 5000)


def later_version(path: Path) -> None:
    with Store.open(path):
        pass
    with closing(sqlite3.connect(path)) as behind, behind:
        behind.execute("UPDATE alembic_version SET version_num = '9999'")


def unreachable(path: Path) -> None:
    path.parent.joinpath("plain").write_text("a file where a folder should be")


@pytest.mark.parametrize(
    "case",
    [
        (garbage, "shed.db", "is not a washmon database. It was left as it is"),
        (later_version, "shed.db", "made by a later version"),
        (unreachable, "plain/shed.db", "choose another place"),
    ],
)
def test_a_database_that_can_not_be_opened_is_told_and_left_as_it_is(
    qtbot: QtBot,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    case: tuple[Callable[[Path], None], str, str],
) -> None:
    spoil, name, sentence = case
    spoil(tmp_path / Path(name).name)
    path = tmp_path / name
    before = path.read_bytes() if path.exists() else b""

    def look(page: TroublePage) -> None:
        assert sentence in page.words.text()
        assert not page.look.isVisible()
        press(page.again)
        assert page.isVisible()
        page.activateWindow()
        qtbot.waitUntil(page.isActiveWindow)
        QTest.keyClick(page, Key.Key_Escape)
        assert not page.isVisible()

    look_at_trouble(monkeypatch, path, look)
    assert (path.read_bytes() if path.exists() else b"") == before


# --- closing


def test_a_window_that_is_closed_while_an_entry_is_on_its_way_loses_nothing(
    running: Stand,
) -> None:
    window = running.open()
    running.type(Key.Key_F1, "1", "44", Key.Key_Return, "7.1", Key.Key_Return, "20")
    running.key(Key.Key_Return)
    for text in ("one", "two", "three"):
        window.client.enter(NoteWritten(at=START, by="RM", text=text))
    running.close()
    running.open()
    reading, *notes = running.events[-4:]
    assert isinstance(reading, ReadingTaken)
    assert reading.fac_mg_l == 44
    assert [note.text for note in notes if isinstance(note, NoteWritten)] == ["one", "two", "three"]


def test_a_window_can_be_closed_from_every_room(running: Stand) -> None:
    for kind in (EntryKind.READING, EntryKind.CORRECTION):
        running.open()
        running.board.open_entry(kind)
        running.close()
    for key in (Key.Key_F9, Key.Key_F10, Key.Key_Help, Key.Key_F12):
        running.open()
        running.key(key)
        running.close()
    running.open()
    running.window.sessions.open_file(CLEAN)
    running.close()
    with Store.open(running.path) as store:
        assert store.verify() == []


def test_the_end_is_asked_for_the_shift_that_runs(running: Stand) -> None:
    running.open()
    running.key(Key.Key_F10)
    page = running.page(ShiftEnd)
    running.click(page.end)
    running.wait_for(Room.SUMMARY)
    running.key(Key.Key_Escape)
    running.wait_for(Room.READY)
    assert "The last shift ended 2026-05-07 07:00." in running.page(ReadyPage).facts.text()


def test_after_the_end_the_header_speaks_of_no_shift_any_more(running: Stand) -> None:
    running.open()
    running.key(Key.Key_F10)
    running.click(running.page(ShiftEnd).end)
    running.wait_for(Room.SUMMARY)
    assert running.window.header.facts.text() == "Test shed, Bay 2"


def test_trouble_is_told_in_every_room(running: Stand, monkeypatch: pytest.MonkeyPatch) -> None:
    window = running.open()
    running.key(Key.Key_F9)

    def full(*_: object) -> None:
        raise DiskFull("The disk is full: free some space, then try again.")

    with monkeypatch.context() as disk:
        disk.setattr(Store, "append", full)
        window.client.enter(NoteWritten(at=START, by="RM", text="lost"))
        running.qtbot.waitUntil(lambda: "disk is full" in window.header.facts.text())
    assert window.header.saved.text() == "Trouble"
    window.client.enter(NoteWritten(at=START, by="RM", text="kept"))
    running.qtbot.waitUntil(lambda: "Test shed" in window.header.facts.text())


def test_an_instrument_is_checked_from_the_menu(running: Stand) -> None:
    running.open()
    running.choose_in_menu(running.window.menu.entries[EntryKind.INSTRUMENT])
    with running.saving():
        running.type("7", Key.Key_Return, "7.02", Key.Key_Return)
    check = running.last().event
    assert isinstance(check, InstrumentChecked)
    assert (check.instrument, check.found) == (Instrument.PH_METER, 7.02)


def test_after_a_shift_the_newest_set_up_says_who_stands_here_and_in_which_units(
    running: Stand,
) -> None:
    window = running.open()
    client = window.client
    zoe = Person(initials="ZO", name="Zoe Orr", role=Role.SUPERVISOR)
    setup = replace(running.shift.setup, people=(zoe,), taste=UnitSystem.US)
    client.enter(SetupSaved(at=running.now, by="RM", setup=setup))
    with running.qtbot.waitCallback() as ended:
        client.enter(ShiftEnded(at=running.now, by="RM"), ended, sure=True)
    running.qtbot.waitUntil(lambda: not window.is_running)
    window.settings.initials = "ZO"
    assert (window.person.initials, window.person.taste) == ("ZO", UnitSystem.US)
