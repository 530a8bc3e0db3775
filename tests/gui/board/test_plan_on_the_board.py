"""One step is said once: in its tank; beside it only who is first and when."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel, QWidget
from pytestqt.qtbot import QtBot

from tests.gui.board.scenes import (
    ME,
    a_dose,
    a_good_shed,
    a_line,
    a_troubled_shed,
    a_wait,
    acknowledge,
    calm,
    planned,
    see,
    step,
)
from tests.shed import Shed
from washmon.gui.board.agenda_strip import AgendaStrip
from washmon.gui.board.board import Board
from washmon.gui.board.finding_card import FindingCard
from washmon.gui.board.presenter import present
from washmon.gui.board.tank_columns import PLOT_SHARE
from washmon.gui.kit.state_mark import MarkState
from washmon.line.flags import StepKind
from washmon.line.message import Message
from washmon.line.plan import Due, Plan
from washmon.planning.snapshot import Mode, Snapshot

MakeBoard = Callable[..., Board]


@pytest.fixture
def make(qtbot: QtBot) -> MakeBoard:
    def made(width: int = 1366, height: int = 660) -> Board:
        board = Board(frame_ms=0)
        qtbot.addWidget(board)
        board.resize(width, height)
        board.show()
        qtbot.waitExposed(board)
        return board

    return made


@pytest.fixture
def board(make: MakeBoard) -> Board:
    return make()


def settle() -> None:
    for _ in range(6):
        QApplication.processEvents()


def card(board: Board, rule: str) -> FindingCard:
    return next(one for one in board.why.cards if one.view.flag.rule == rule)


def four() -> Snapshot:
    """A line of which each tank needs something else."""
    shed = a_troubled_shed(4)
    snapshot = see(shed)
    after = Plan(
        tank=4,
        now=step(StepKind.LOOK, "Have 0.5 L hypochlorite ready"),
        then=Message("Low in about 5 more (3–7)."),
        due=Due(batches=5),
    )
    plans = (
        a_dose(1),
        a_wait(2, shed.now + timedelta(minutes=2, seconds=10)),
        calm(3, shed.now),
        after,
    )
    return planned(snapshot, *plans)


def test_the_plan_stands_in_the_card_as_a_sentence_what_it_brings_and_what_comes_then(
    board: Board,
) -> None:
    board.show_snapshot(four(), ME)
    plan = board.columns.panels[0].state.plan
    assert plan.step.text() == "Add 76 mL hypochlorite, stir"
    assert plan.quiet.text() == "Brings it to 47–53. Then wait 5 min and read."
    assert plan.caution.accessibleName().startswith("WARNING: ")
    assert (plan.answer.label, plan.why.isVisible()) == ("Added it", True)


def test_one_step_is_said_once_on_the_screen(board: Board) -> None:
    board.show_snapshot(four(), ME)
    settle()
    said = [one.text() for one in board.findChildren(QLabel) if one.isVisibleTo(board)]
    assert sum("Add 76 mL" in text for text in said) == 1
    assert not any("Add 76 mL" in words for words in board.agenda.shown)


def test_the_strip_says_who_is_first_and_when(board: Board) -> None:
    board.show_snapshot(four(), ME)
    assert board.agenda.shown == [
        "1  Dump tank: dose now",
        "2  First dunk: read it in 2:10",
        "4  Last rinse: read it in 5 batches",
        "3  Second dunk: read it in 8 batches or 25 min",
    ]


def test_what_has_no_room_in_the_strip_is_counted(make: MakeBoard) -> None:
    board = make(700, 500)
    board.show_snapshot(four(), ME)
    settle()
    shown = len(board.agenda.shown)
    assert 0 < shown < 4
    left = [one.text() for one in board.agenda.findChildren(QLabel) if one.isVisibleTo(board)]
    assert f"and {4 - shown} more" in left


def test_a_chip_is_pressed_by_hand_and_by_key_and_asks_for_what_its_tank_needs(
    board: Board, qtbot: QtBot
) -> None:
    board.show_snapshot(four(), ME)
    dose, _, later, _ = board.agenda.chips
    with qtbot.waitSignal(board.answer_asked) as asked:
        QTest.mouseClick(dose, Qt.MouseButton.LeftButton)
    assert asked.args == [1]
    later.setFocus()
    with qtbot.waitSignal(board.tank_chosen) as chosen:
        QTest.keyClick(later, Qt.Key.Key_Space)
    assert chosen.args == [4]


def test_only_the_first_that_can_be_answered_names_the_key(board: Board) -> None:
    snapshot = planned(four(), a_dose(3))
    board.show_snapshot(snapshot, ME)
    keys = {
        panel.view.number: panel.state.plan.answer.accessibleDescription()
        for panel in board.columns.panels
        if panel.view is not None
    }
    assert board.first == 1
    assert keys == {1: "Space", 2: "", 3: "", 4: ""}


def test_an_answer_is_asked_by_mouse_and_by_keyboard(board: Board, qtbot: QtBot) -> None:
    board.show_snapshot(four(), ME)
    button = board.columns.panels[0].state.plan.answer
    with qtbot.waitSignal(board.answer_asked) as asked:
        QTest.mouseClick(button, Qt.MouseButton.LeftButton)
    assert asked.args == [1]
    button.setFocus()
    with qtbot.waitSignal(board.answer_asked):
        QTest.keyClick(button, Qt.Key.Key_Space)


def test_a_wait_is_a_ring_that_fills_with_its_countdown_and_the_tank_keeps_its_state(
    board: Board, monkeypatch: pytest.MonkeyPatch
) -> None:
    snapshot = four()
    board.show_snapshot(snapshot, ME)
    state = board.columns.panels[1].state
    assert state.look is MarkState(snapshot.advice.tank(2).condition.value)
    assert state.plan.count.text() == "2:10 left, until 07:18"
    begun = state.plan.ring.share
    came = board._came_at
    monkeypatch.setattr("washmon.gui.board.board.time.monotonic", lambda: came + 70)
    board._count_down()
    assert state.plan.count.text() == "1:00 left, until 07:18"
    assert state.plan.ring.share > begun
    assert board.agenda.chips[1].when == "in 1:00"
    monkeypatch.setattr("washmon.gui.board.board.time.monotonic", lambda: came + 999)
    board._count_down()
    assert (state.plan.count.text(), state.plan.ring.share) == ("0:00 left, until 07:18", 1.0)


def test_in_a_replay_no_second_passes_by_itself(
    board: Board, monkeypatch: pytest.MonkeyPatch
) -> None:
    board.show_snapshot(replace(four(), mode=Mode.REPLAY), ME)
    came = board._came_at
    monkeypatch.setattr("washmon.gui.board.board.time.monotonic", lambda: came + 70)
    board._count_down()
    assert board.columns.panels[1].state.plan.count.text().startswith("2:10 left")


def test_nobody_feeds_a_tank_that_its_plan_keeps_shut() -> None:
    snapshot = planned(see(a_troubled_shed()), a_dose(1, feed=False), a_dose(2))
    one, two = present(snapshot, ME).panels
    assert one.step.text == "Feed nothing. Add 76 mL hypochlorite, stir"
    assert two.step.text == "Add 76 mL hypochlorite, stir"
    empty = present(see(Shed(a_line(2))), ME)
    assert not any(panel.step.text.startswith("Feed") for panel in empty.panels)


def test_a_surprise_is_told_in_one_sentence(board: Board) -> None:
    said = Message("It read 31, and 40–46 was expected.")
    board.show_snapshot(planned(see(a_troubled_shed()), a_dose(1, surprise=said)), ME)
    assert board.columns.panels[0].state.plan.surprise.text() == said.text


def test_how_an_amount_is_measured_out_is_said_under_it_and_never_folded(
    make: MakeBoard,
) -> None:
    board = make(1366, 400)
    how = Message("Mix 10 mL into 1 L of water and add 100 mL of that.")
    board.show_snapshot(planned(see(a_troubled_shed()), a_dose(1, how=how)), ME)
    settle()
    plan = board.columns.panels[0].state.plan
    assert (plan.how.text(), plan.how.isVisible()) == (how.text, True)
    assert not plan.quiet.isVisible()


def test_what_the_plan_does_not_answer_stands_in_small_quiet_lines(board: Board) -> None:
    shed = a_troubled_shed()
    shed.read(1, 31, ph=7.9, turbidity_ntu=38.0)
    snapshot = planned(see(shed), a_dose(1))
    board.show_snapshot(snapshot, ME)
    flags = snapshot.advice.tank(1).flags
    others = [ME.say(flag.title) for flag in flags if flag.rule != "chlorine-low"]
    assert others
    lines = [line.text() for line in board.columns.panels[0].state.plan.also.lines]
    assert lines == others[:2]
    view = present(planned(see(shed), a_dose(1, answers=())), ME).panels[0]
    assert len(view.also) <= 2


def test_the_bracket_in_the_plot_says_what_should_be_read(board: Board) -> None:
    board.show_snapshot(four(), ME)
    settle()
    trend = board.columns.panels[0].trend.trend
    assert trend is not None
    x, y = trend.layers.bracket.getData()
    assert list(y) == [47.0, 53.0]
    assert x[0] == x[1] > 3
    assert trend.layers.bracket_words.toPlainText() == "should read 47–53"
    other = board.columns.panels[2].trend.trend
    assert other is not None
    assert len(other.layers.bracket.getData()[0]) == 0
    assert not other.layers.bracket_words.isVisible()


@pytest.mark.parametrize("count", [1, 2, 3, 4])
def test_the_plots_have_their_share_of_the_height_up_to_four_tanks(
    make: MakeBoard, count: int
) -> None:
    board = make(1366, 768 - 44 - 54)  # the head and the row of keys are beside the Board
    shed = a_troubled_shed(count)
    board.show_snapshot(planned(see(shed), a_dose(1), *(calm(n, shed.now) for n in (2, 3, 4))), ME)
    settle()
    heights = {panel.trend_card.height() for panel in board.columns.panels}
    assert len(heights) == 1
    assert min(heights) >= PLOT_SHARE * board.height()


def test_no_button_moves_when_another_tank_needs_something(qtbot: QtBot) -> None:
    window = QWidget()
    qtbot.addWidget(window)
    board = Board(window, frame_ms=0)
    window.resize(1366, 768)
    board.setGeometry(0, 44, 1366, 768 - 44 - 54)  # between the head and the row of keys
    window.show()
    qtbot.waitExposed(window)
    shed = a_troubled_shed(4)
    plans = [calm(n, shed.now) for n in (1, 2, 3, 4)]
    board.show_snapshot(planned(see(shed), *plans), ME)
    settle()
    before = {panel.state.geometry().bottom() for panel in board.columns.panels}
    board.show_snapshot(four(), ME)
    settle()
    assert {panel.state.geometry().bottom() for panel in board.columns.panels} == before


# --- Why?


def test_why_shows_every_finding_with_its_numbers_source_and_what_answers_it(board: Board) -> None:
    shed = a_troubled_shed()
    shed.read(1, 31, ph=7.9, turbidity_ntu=38.0)
    board.show_snapshot(planned(see(shed), a_dose(1)), ME)
    QTest.mouseClick(board.columns.panels[0].state.plan.why, Qt.MouseButton.LeftButton)
    assert board.why.isVisible()
    assert board.why.tank == 1
    assert {one.view.flag.rule for one in board.why.cards} >= {"chlorine-low", "ph-high"}
    low = card(board, "chlorine-low")
    assert "31\N{NO-BREAK SPACE}ppm is under 35\N{NO-BREAK SPACE}ppm" in low.why.text()
    assert low.source.text().startswith("Source: ")
    assert low.answered.text() == "Answered by: Add 76 mL hypochlorite, stir"
    assert card(board, "ph-high").answered.text() == ""
    said = " ".join(one.text() for one in board.why.findChildren(QLabel))
    assert "Change the water: the water is clear enough." in said
    assert "The product label, local codes and licensed practice come first." in said


def test_why_follows_its_tank_and_is_left_by_esc_or_by_asking_once_more(board: Board) -> None:
    shed = a_troubled_shed()
    board.show_snapshot(planned(see(shed), a_dose(1)), ME)
    ask = board.columns.panels[0].state.plan.why
    QTest.mouseClick(ask, Qt.MouseButton.LeftButton)
    shed.wait(1).read(1, 30)
    board.show_snapshot(see(shed), ME)
    assert "30\N{NO-BREAK SPACE}ppm" in card(board, "chlorine-low").why.text()
    QTest.keyClick(board.why, Qt.Key.Key_Escape)
    assert not board.why.isVisible()
    QTest.mouseClick(ask, Qt.MouseButton.LeftButton)
    board.explain(1)
    assert not board.why.isVisible()


def test_why_leaves_the_cards_of_the_tanks_in_sight(board: Board) -> None:
    board.show_snapshot(four(), ME)
    settle()
    board.explain(1)
    settle()
    state = board.columns.panels[0].state
    bottom = state.mapTo(board, state.rect().bottomLeft()).y()
    assert board.why.y() > bottom
    assert board.why.geometry().bottom() <= board.height()


def test_a_flag_is_marked_as_seen_by_mouse_and_by_keyboard(board: Board, qtbot: QtBot) -> None:
    shed = a_troubled_shed()
    board.show_snapshot(see(shed), ME)
    board.explain(1)
    one = card(board, "chlorine-low")
    with qtbot.waitSignal(board.acknowledge_asked) as asked:
        QTest.mouseClick(one.see, Qt.MouseButton.LeftButton)
    assert asked.args == [1, "chlorine-low"]
    one.see.setFocus()
    with qtbot.waitSignal(board.acknowledge_asked):
        QTest.keyClick(one.see, Qt.Key.Key_Space)
    acknowledge(shed, 1, "chlorine-low")
    board.show_snapshot(see(shed), ME)
    assert one.seen.text() == "seen by TK 07:16"
    assert not one.see.isVisible()


def test_a_finding_that_went_takes_its_card_along(board: Board) -> None:
    shed = a_troubled_shed()
    shed.read(1, 31, ph=7.9)
    board.show_snapshot(see(shed), ME)
    board.explain(1)
    assert {one.view.flag.rule for one in board.why.cards} >= {"chlorine-low", "ph-high"}
    shed.wait(6).read(1, 50, ph=7.9)
    board.show_snapshot(see(shed), ME)
    assert "chlorine-low" not in {one.view.flag.rule for one in board.why.cards}


def test_tab_goes_through_the_findings_from_the_gravest_down(board: Board) -> None:
    shed = a_troubled_shed()
    shed.read(1, 31, ph=7.9, turbidity_ntu=38.0)
    board.show_snapshot(see(shed), ME)
    board.activateWindow()
    board.explain(1)
    cards = board.why.cards
    assert board.focusWidget() is cards[0].see
    QTest.keyClick(cards[0].see, Qt.Key.Key_Tab)
    assert board.focusWidget() is cards[1].see


def test_a_tank_of_which_nothing_is_found_has_nothing_to_explain() -> None:
    panel = present(see(a_good_shed()), ME).panels[0]
    advice = see(a_good_shed()).advice.tank(1)
    assert panel.why is bool(advice.flags or advice.notes or advice.plan.weighed)


def test_an_empty_tank_says_that_it_is_empty(qtbot: QtBot) -> None:
    strip = AgendaStrip()
    qtbot.addWidget(strip)
    strip.resize(1300, 60)
    seen = see(Shed())
    strip.show_turns(present(seen, ME).agenda, seen.now)
    assert strip.shown
    assert strip.shown[0].endswith("empty, fill it when needed")


def test_an_empty_strip_has_no_words(qtbot: QtBot) -> None:
    strip = AgendaStrip()
    qtbot.addWidget(strip)
    strip.show_turns((), see(a_good_shed()).now)
    assert strip.shown == []
    assert [one.text() for one in strip.findChildren(QLabel) if one.isVisibleTo(strip)] == []


def test_a_condition_is_taken_from_the_advice() -> None:
    snapshot = four()
    looks = [panel.look for panel in present(snapshot, ME).panels]
    assert looks == [MarkState(one.condition.value) for one in snapshot.advice.tanks]


def test_a_step_that_changed_just_now_is_fresh_and_one_that_stood_is_not(
    board: Board, monkeypatch: pytest.MonkeyPatch
) -> None:
    shed = a_troubled_shed()
    board.show_snapshot(planned(see(shed), a_dose(1), a_dose(2)), ME)
    assert not board.is_fresh(1)
    board.show_snapshot(planned(see(shed), calm(1, shed.now), a_dose(2)), ME)
    assert (board.is_fresh(1), board.is_fresh(2)) == (True, False)
    changed = board._changed[1]
    monkeypatch.setattr("washmon.gui.board.board.time.monotonic", lambda: changed + 1.01)
    assert not board.is_fresh(1)
