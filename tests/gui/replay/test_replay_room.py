"""The room of a replay: the Board above, the bar below, and nothing plays that nobody sees."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QHideEvent
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from tests.gui.replay.played import demo, play_once
from tests.gui.stand import Stand
from washmon import data
from washmon.gui.kit.confirm import ConfirmQuestion
from washmon.gui.replay_room import ReplayRoom
from washmon.planning.snapshot import Mode


class Minimised(QHideEvent):
    """What the window system sends when a window is minimised."""

    def spontaneous(self) -> bool:
        return True


@pytest.fixture
def room(qtbot: QtBot, monkeypatch: pytest.MonkeyPatch) -> Iterator[ReplayRoom]:
    play_once(monkeypatch)
    made = ReplayRoom()
    qtbot.addWidget(made)
    made.resize(1366, 768)
    made.show()
    qtbot.waitExposed(made)
    with qtbot.waitSignal(made.snapshot_shown) as shown:
        made.play(demo(1))
    assert shown.args is not None
    assert shown.args[0].mode is Mode.REPLAY
    yield made
    made.client.close()


def test_keys_work_the_replay_while_the_board_shows_it(room: ReplayRoom, qtbot: QtBot) -> None:
    with qtbot.waitSignal(room.snapshot_shown) as shown:
        QTest.keyClick(room, Qt.Key.Key_Right)
    assert shown.args is not None
    assert f"{shown.args[0].now:%H:%M}" == "06:08"


def test_leaving_tells_whoever_opened_it(room: ReplayRoom, qtbot: QtBot) -> None:
    with qtbot.waitSignal(room.left):
        QTest.mouseClick(room.bar.leave, Qt.MouseButton.LeftButton)


def test_a_minimised_window_pauses_and_can_go_on(room: ReplayRoom, qtbot: QtBot) -> None:
    room.client.play()
    room.hideEvent(Minimised())
    assert room.client.playing is False
    with qtbot.waitSignal(room.client.moved):
        room.client.next_entry()


def test_a_room_that_is_left_stops_its_thread(room: ReplayRoom, qtbot: QtBot) -> None:
    room.client.play()
    room.hide()
    assert not room.client.playing
    room.show()
    with qtbot.waitSignal(room.snapshot_shown):
        room.play(demo(2))
    assert room.bar.title.text() == "A muddy root flume"


def test_past_shifts_that_tell_nothing_are_told_of_in_a_sentence(
    room: ReplayRoom, qtbot: QtBot
) -> None:
    session = demo(2)
    with qtbot.waitSignal(room.client.told):
        room.play(session, [("torn", session.entries[5:])])
    assert "what is usual" in room.message.words.text()


def test_esc_in_the_teach_field_clears_it_then_closes_it_and_never_leaves(
    room: ReplayRoom,
) -> None:
    left: list[bool] = []
    room.left.connect(lambda: left.append(True))
    QTest.mouseClick(room.bar.teach, Qt.MouseButton.LeftButton)
    field = room.lessons.text.editor
    field.setFocus()
    QTest.keyClicks(field, "Look at the clock.")
    QTest.keyClick(field, Qt.Key.Key_Escape)
    assert (field.text(), room.lessons.isVisible()) == ("", True)
    QTest.keyClick(field, Qt.Key.Key_Escape)
    assert not room.lessons.isVisible()
    assert left == []


def test_lessons_that_no_file_has_are_asked_about_before_the_replay_is_left(
    room: ReplayRoom, qtbot: QtBot
) -> None:
    room.lessons.text.put("Here the water was new.")
    QTest.mouseClick(room.lessons.add, Qt.MouseButton.LeftButton)
    assert room.lessons.unsaved
    with qtbot.assertNotEmitted(room.left):
        QTest.mouseClick(room.bar.leave, Qt.MouseButton.LeftButton)
    (question,) = room.findChildren(ConfirmQuestion)
    with qtbot.assertNotEmitted(room.left):
        question.no.click()
    assert len(room.lessons.lessons) == 1
    QTest.mouseClick(room.bar.leave, Qt.MouseButton.LeftButton)
    question = next(one for one in room.findChildren(ConfirmQuestion) if one.isVisible())
    with qtbot.waitSignal(room.left):
        question.yes.click()


def test_the_cards_of_a_replay_that_the_window_opens_are_whole(
    qtbot: QtBot, tmp_path: Path
) -> None:
    stand = Stand(qtbot, tmp_path)
    window = stand.open()
    window.sessions.open_file(data.demo_sessions()[1])
    qtbot.waitUntil(lambda: bool(window.findChildren(ReplayRoom)))
    room = window.findChild(ReplayRoom)
    assert room is not None
    qtbot.waitUntil(lambda: bool(room.board.columns.panels))
    cards = [panel.state for panel in room.board.columns.panels]
    needed = [card.body.totalHeightForWidth(card.width()) for card in cards]
    spare = [card.height() - tall for card, tall in zip(cards, needed, strict=True)]
    stand.leave()
    assert min(needed) > 0
    assert min(spare) >= 0
