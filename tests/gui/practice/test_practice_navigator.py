"""The ways into practice and out of it, through the real window."""

from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from tests.gui.practice.conftest import NOW
from tests.shed import a_setup, a_tank
from washmon.gui.client import RecorderClient
from washmon.gui.main_window import MainWindow
from washmon.gui.practice.debrief_page import DebriefPage
from washmon.gui.practice.room import PracticeRoom
from washmon.gui.replay_room import ReplayRoom
from washmon.gui.rooms import Room
from washmon.gui.settings import Settings
from washmon.line.events import NoteWritten, ShiftStarted
from washmon.line.setup import Lot
from washmon.line.site_events import SetupSaved
from washmon.recorder import Saved
from washmon.recorder.lent_store import LentStore
from washmon.store.errors import CannotWrite
from washmon.store.store import Store

Open = Callable[[], MainWindow]


@pytest.fixture
def open_window(qtbot: QtBot, tmp_path: Path) -> Iterator[Open]:
    opened: list[MainWindow] = []

    def make() -> MainWindow:
        client = RecorderClient(Store.open(tmp_path / "shed.db"), clock=lambda: NOW)
        window = MainWindow(client, Settings(tmp_path / "shed.ini"))
        opened.append(window)
        with qtbot.waitSignal(client.snapshot_changed):
            window.begin()
        if window.snapshot is None or window.snapshot.setup is None:
            setup = a_setup(a_tank(1, "First dunk"), a_tank(2, "Second dunk"))
            with qtbot.waitCallback() as answered:
                client.enter(SetupSaved(at=NOW, by="RM", setup=setup), answered)
            assert isinstance(answered.args[0], Saved)
            qtbot.waitUntil(lambda: bool(window.snapshot and window.snapshot.setup))
        window.go_home()
        return window

    yield make
    for window in opened:
        window.close()
        window.deleteLater()


def in_practice(window: MainWindow, qtbot: QtBot) -> PracticeRoom:
    window.activateWindow()
    qtbot.waitUntil(window.isActiveWindow)
    QTest.keyClick(window, Qt.Key.Key_F4)
    room = window.rooms.currentWidget()
    assert isinstance(room, PracticeRoom)
    return room


def begin(room: PracticeRoom, qtbot: QtBot) -> str:
    room.choose.trainee.put("AB")
    QTest.mouseClick(room.choose.begin, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: room.play is not None)
    assert room.play is not None
    return room.play.client.chain


def test_practice_is_one_key_from_the_ready_page_and_has_no_header_of_the_shed(
    open_window: Open, qtbot: QtBot
) -> None:
    window = open_window()
    room = in_practice(window, qtbot)
    assert not window.header.isVisible()
    QTest.mouseClick(room.choose.back, Qt.MouseButton.LeftButton)
    assert window.rooms.room is Room.READY
    assert window.header.isVisible()


def test_a_practice_shift_never_becomes_the_sheds_running_shift(
    open_window: Open, qtbot: QtBot
) -> None:
    window = open_window()
    begin(in_practice(window, qtbot), qtbot)
    window.client.recorder.look_again().result(timeout=5)
    assert window.snapshot is not None
    assert window.snapshot.shift is None
    assert not window.is_running


def test_closing_the_window_in_the_middle_keeps_the_attempt(
    open_window: Open, qtbot: QtBot, tmp_path: Path
) -> None:
    window = open_window()
    chain = begin(in_practice(window, qtbot), qtbot)
    window.close()
    with Store.open(tmp_path / "shed.db", read_only=True) as store:
        assert store.running_shift() is None
        (row,) = store.shifts(practice=True)
        assert (row.chain, row.ended_at) == (chain, None)
    again = open_window()
    room = in_practice(again, qtbot)
    qtbot.waitUntil(lambda: bool(room.choose.kept))
    QTest.mouseClick(room.choose.resume, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: room.play is not None)
    assert room.play is not None
    assert room.play.client.chain == chain


def test_nobody_practises_in_the_window_that_a_running_shift_needs(
    open_window: Open, qtbot: QtBot
) -> None:
    window = open_window()
    assert window.snapshot is not None
    assert window.snapshot.setup is not None
    setup, lots = window.snapshot.setup, (Lot(code="L-1", produce="chard"),)
    window.client.enter(ShiftStarted(at=NOW, by="RM", setup=setup, lots=lots))
    qtbot.waitUntil(lambda: window.is_running)
    window.go(Room.PRACTICE)
    assert window.rooms.room is not Room.PRACTICE
    assert not window.menu.pages[Room.PRACTICE.name].isEnabled()


def test_the_replay_of_an_attempt_stays_within_the_stripes(open_window: Open, qtbot: QtBot) -> None:
    window = open_window()
    room = in_practice(window, qtbot)
    chain = begin(room, qtbot)
    room.open_debrief(chain)
    qtbot.waitUntil(lambda: room.pages.currentWidget() is room.debrief, timeout=60_000)
    QTest.mouseClick(room.debrief.replay, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: window.rooms.room is Room.REPLAY)
    replay = window.rooms.currentWidget()
    assert isinstance(replay, ReplayRoom)
    assert replay.framed
    qtbot.waitUntil(lambda: replay.board.view is not None)


def test_what_cost_most_is_one_press_from_its_replay(open_window: Open, qtbot: QtBot) -> None:
    window = open_window()
    room = in_practice(window, qtbot)
    chain = begin(room, qtbot)
    room.open_debrief(chain)
    qtbot.waitUntil(lambda: room.pages.currentWidget() is room.debrief, timeout=60_000)
    button, at = room.debrief.moments[0], _slip_at(room.debrief)
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: window.rooms.room is Room.REPLAY)
    replay = window.rooms.currentWidget()
    assert isinstance(replay, ReplayRoom)

    def stands_there() -> bool:
        view = replay.bar.time.text()
        return bool(view == f"{at:%H:%M:%S}")

    qtbot.waitUntil(stands_there)


def _slip_at(page: DebriefPage) -> datetime:
    found = page._found
    assert found is not None
    return found.slips[0].at


def test_an_attempt_writes_to_its_own_chain_only(open_window: Open) -> None:
    window = open_window()
    pen = window.client.recorder
    lent = pen.read(lambda store: LentStore.lend(pen, store, "practice-1")).result(timeout=5)
    with pytest.raises(CannotWrite, match="own attempt"):
        lent.append("shift-1", [NoteWritten(at=NOW, by="RM", text="x")], NOW)
    assert lent.running_shift() == "practice-1"
    assert lent.last_shift_head() is None
    lent.close()


def test_a_window_that_only_reads_does_not_practise(tmp_path: Path) -> None:
    Store.open(tmp_path / "shed.db").close()
    with Store.open(tmp_path / "shed.db", read_only=True) as store:
        client = RecorderClient(store)
        with pytest.raises(CannotWrite, match="only reads"):
            LentStore.lend(client.recorder, store, "practice-1")
