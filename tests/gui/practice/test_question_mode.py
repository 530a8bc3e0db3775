"""A replay that asks first: flags hidden, an answer, then rules and record beside it."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from tests.gui.replay.played import demo, play_once
from washmon.gui.board.board import Board
from washmon.gui.main_window import SMALLEST_PX
from washmon.gui.replay.replay_worker import Go, Move
from washmon.gui.replay_room import ReplayRoom
from washmon.line.flags import Condition, StepKind
from washmon.sessions.file import Lesson, LessonKind, read, write_lessons


@pytest.fixture
def room(qtbot: QtBot, monkeypatch: pytest.MonkeyPatch) -> Iterator[ReplayRoom]:
    play_once(monkeypatch)
    made = ReplayRoom()
    qtbot.addWidget(made)
    made.resize(1366, 768)
    made.show()
    with qtbot.waitSignal(made.snapshot_shown):
        made.play(demo(3))
    yield made
    made.client.close()


def to_question(room: ReplayRoom, qtbot: QtBot) -> None:
    """Turn asking on and go to where the first flag comes up."""
    QTest.mouseClick(room.bar.asks, Qt.MouseButton.LeftButton)
    QTest.mouseClick(room.bar.next_flag, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(room.question.isVisible)
    choose_tank(room)


def choose_tank(room: ReplayRoom) -> None:
    """Say the tank that presses most."""
    place = room._place
    assert place is not None
    assert place.asked is not None
    room.question.which.put(str(place.asked.question.tank))


def hides_all(board: Board) -> bool:
    """Tell whether the Board, once it has drawn the newest snapshot, gives nothing away."""
    view = board.view
    if view is None or view.flags:
        return False
    looks = {panel.look.value for panel in view.panels}
    steps = {panel.step.text for panel in view.panels}
    return looks == {Condition.UNKNOWN.value} and steps == {"You decide what is next"}


def test_flags_are_hidden_until_the_question_is_answered(room: ReplayRoom, qtbot: QtBot) -> None:
    to_question(room, qtbot)
    board = room.board
    qtbot.waitUntil(lambda: hides_all(board))
    assert room.bar.track.shown_marks() == []
    room.question.kinds.button(StepKind.LOOK.value).click()
    QTest.mouseClick(room.question.answer, Qt.MouseButton.LeftButton)
    assert room.question.verdict.isVisible()
    assert room.question.rules.text().startswith("The rules: ")
    assert room.question.done.text()
    qtbot.waitUntil(lambda: room.board.view is not None and bool(room.board.view.flags))


def test_playing_stops_at_each_question(room: ReplayRoom, qtbot: QtBot) -> None:
    room.bar.speeds.button("300").click()
    QTest.mouseClick(room.bar.asks, Qt.MouseButton.LeftButton)
    room.client.play()
    with qtbot.waitSignal(room.client.moved):
        room.client._wish(Move(Go.ON, 24 * 3600.0))
    qtbot.waitUntil(room.question.isVisible)
    assert not room.client.playing
    first = room._place
    assert first is not None
    choose_tank(room)
    room.question.kinds.button(StepKind.CHECK.value).click()
    QTest.mouseClick(room.question.answer, Qt.MouseButton.LeftButton)
    QTest.mouseClick(room.question.go_on, Qt.MouseButton.LeftButton)
    assert room.client.playing
    room.client._wish(Move(Go.ON, 24 * 3600.0))
    qtbot.waitUntil(lambda: room._place is not None and room._place.position_s > first.position_s)
    assert not room.question.go_on.isVisible()


def test_an_amount_is_asked_for_where_one_goes_in(room: ReplayRoom, qtbot: QtBot) -> None:
    to_question(room, qtbot)
    room.question.kinds.button(StepKind.HOLD.value).click()
    assert not room.question.amount.isVisible()
    room.question.kinds.button(StepKind.DOSE.value).click()
    assert room.question.amount.isVisible()
    room.question.amount.put("plenty")
    QTest.mouseClick(room.question.answer, Qt.MouseButton.LeftButton)
    assert room.question.amount.fault.text
    assert not room.question.verdict.isVisible()
    room.question.amount.put("90")
    QTest.mouseClick(room.question.answer, Qt.MouseButton.LeftButton)
    assert room.question.verdict.isVisible()


def test_a_trainers_lessons_are_left_saved_and_shown_again(
    room: ReplayRoom, qtbot: QtBot, tmp_path: Path
) -> None:
    with qtbot.waitSignal(room.client.moved):
        QTest.mouseClick(room.bar.next_entry, Qt.MouseButton.LeftButton)
    QTest.mouseClick(room.bar.teach, Qt.MouseButton.LeftButton)
    assert room.lessons.isVisible()
    QTest.mouseClick(room.lessons.add, Qt.MouseButton.LeftButton)
    assert room.lessons.text.fault.text
    room.lessons.text.put("Here the water was new.")
    QTest.mouseClick(room.lessons.add, Qt.MouseButton.LeftButton)
    room.lessons.kind.choose(LessonKind.QUESTION.value)
    room.lessons.text.put("And now?")
    room.lessons.answers.put("Only one")
    QTest.mouseClick(room.lessons.add, Qt.MouseButton.LeftButton)
    assert "two to six" in room.lessons.answers.fault.text
    room.lessons.answers.put("Measure; Wash on; Go home")
    QTest.mouseClick(room.lessons.add, Qt.MouseButton.LeftButton)
    assert room.lessons.answers.text == ""
    target = tmp_path / "lesson.washshift"
    room.lessons.write(target)
    assert str(target) in room.message.words.text()
    saved = read(target)
    assert [(one.kind, one.text) for one in saved.lessons] == [
        (LessonKind.NOTE, "Here the water was new."),
        (LessonKind.QUESTION, "And now?"),
    ]
    room.lessons.write(tmp_path / "nowhere" / "lesson.washshift")
    assert "can't be written" in room.message.words.text()


def test_a_trainers_question_is_asked_with_its_own_answers_and_all_are_counted_at_the_end(
    room: ReplayRoom, qtbot: QtBot, tmp_path: Path
) -> None:
    after = 2
    lessons = (
        Lesson(after=after, kind=LessonKind.NOTE, text="Here the water was new."),
        Lesson(
            after=after,
            kind=LessonKind.QUESTION,
            text="And now?",
            answers=("Measure", "Wash on", "Go home"),
        ),
    )
    target = tmp_path / "lesson.washshift"
    write_lessons(target, demo(3), lessons)
    saved = read(target)
    with qtbot.waitSignal(room.snapshot_shown):
        room.play(saved)
    QTest.mouseClick(room.bar.asks, Qt.MouseButton.LeftButton)
    QTest.mouseClick(room.bar.next_entry, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(room.question.isVisible)
    assert "And now?" in room.question.question.text()
    own = room.question.own
    assert own is not None
    assert not room.question.kinds.isVisible()
    own.button("Wash on").click()
    QTest.mouseClick(room.question.answer, Qt.MouseButton.LeftButton)
    assert "Right would be: Measure." in room.question.verdict.text()
    with qtbot.waitSignal(room.client.moved):
        room.client.seek(1.0)
    assert "0 of 1 answers were right" in room.message.words.text()


def test_questions_and_lessons_fit_the_smallest_window(room: ReplayRoom, qtbot: QtBot) -> None:
    to_question(room, qtbot)
    QTest.mouseClick(room.bar.teach, Qt.MouseButton.LeftButton)
    room.question.kinds.button(StepKind.DOSE.value).click()
    assert room.minimumSizeHint().width() <= SMALLEST_PX[0]


def test_the_tank_is_chosen_and_the_answers_are_counted(room: ReplayRoom, qtbot: QtBot) -> None:
    to_question(room, qtbot)
    panel = room.question
    assert "at which tank" in panel.question.text()
    panel.which.put("")
    panel.kinds.button(StepKind.CHECK.value).click()
    QTest.mouseClick(panel.answer, Qt.MouseButton.LeftButton)
    assert panel.which.fault.text == "Choose the tank."
    assert not panel.verdict.isVisible()
    place = room._place
    assert place is not None
    assert place.asked is not None
    panel.which.put(str(3 - place.asked.question.tank))
    QTest.mouseClick(panel.answer, Qt.MouseButton.LeftButton)
    assert f"Tank {place.asked.question.tank} presses more." in panel.verdict.text()
    assert panel.tally.text() == "Right: 0 of 1 so far."
    assert panel.tally.isVisible()
    room.grab()
