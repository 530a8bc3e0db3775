"""What the Board shows of flags that are put aside for a while."""

from datetime import timedelta

import pytest
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from tests.gui.board.scenes import ME, a_troubled_shed, acknowledge, see
from tests.some import some
from washmon.gui.board.board import Board
from washmon.gui.board.finding_card import FindingCard
from washmon.gui.board.presenter import present
from washmon.gui.kit.state_mark import MarkState
from washmon.line.flag_events import FlagUnshelved
from washmon.line.flags import Level
from washmon.line.setup import Margins
from washmon.planning.snapshot import Mode


@pytest.fixture
def board(qtbot: QtBot) -> Board:
    made = Board(frame_ms=0)
    qtbot.addWidget(made)
    made.resize(1366, 640)
    made.show()
    qtbot.waitExposed(made)
    return made


def card(board: Board, tank: int, rule: str) -> FindingCard:
    if board.why.tank != tank:
        board.explain(tank)
    return next(one for one in board.why.cards if one.view.key == (tank, rule))


def test_what_is_shelved_has_one_quiet_line_and_unfolds_to_until_who_and_why(
    board: Board,
) -> None:
    shed = a_troubled_shed()
    board.show_snapshot(see(shed), ME)
    board.explain(1)
    aside = board.why.shelved
    assert not aside.isVisible()
    before = len(board.why.cards)
    shed.shelve("chlorine-low", 1, by="TK")
    board.show_snapshot(see(shed), ME)
    assert len(board.why.cards) == before - 1
    assert aside.isVisible()
    assert aside.head.text() == "Shelved (1)"
    (row,) = aside.rows
    assert not row.isVisible()
    aside.head.click()
    assert row.isVisible()
    until = shed.now + timedelta(minutes=20)
    assert row.view.title == "1 Dump tank: re-dose"
    assert row.view.told == f"until {until:%H:%M}, TK: a kit is being fetched"


def test_a_tank_whose_only_flag_is_shelved_is_not_called_in_limits(board: Board) -> None:
    shed = a_troubled_shed()
    shed.shelve("chlorine-low", 1, by="TK")
    board.show_snapshot(see(shed), ME)
    panel = board.columns.panels[0].state
    assert panel.badge.word.text() == "1 shelved"
    assert "1 shelved" in panel.accessibleName()
    shed.shelve("ph-high", 2, by="TK")
    view = present(see(shed), ME)
    assert view.pressing == ()
    assert all(panel.why for panel in some(view.panels))
    assert [panel.look for panel in view.panels] == [MarkState.IN_LIMITS, MarkState.IN_LIMITS]


def test_a_tank_with_another_flag_says_among_its_facts_that_something_is_shelved() -> None:
    shed = a_troubled_shed()
    shed.read(1, 31, ph=8.4)
    shed.look()
    shed.shelve("ph-high", 1, by="TK")
    (first, _) = present(see(shed), ME).panels
    assert first.look is MarkState.ACT
    assert first.state == ""
    assert "1 shelved" in first.facts.text.replace("\N{NO-BREAK SPACE}", " ")


def test_shelving_is_offered_once_a_flag_was_seen_and_never_for_a_stop(
    qtbot: QtBot, board: Board
) -> None:
    shed = a_troubled_shed()
    board.show_snapshot(see(shed), ME)
    low = card(board, 1, "chlorine-low")
    assert low.see.isVisible()
    assert not low.shelve.isVisible()
    acknowledge(shed, 1, "chlorine-low")
    board.show_snapshot(see(shed), ME)
    assert not low.see.isVisible()
    assert low.shelve.isVisible()
    with qtbot.waitSignal(board.shelve_asked) as asked:
        low.shelve.setFocus()
        QTest.keyClick(low.shelve, Qt.Key.Key_Space)
    assert asked.args is not None
    assert asked.args[0].key == (1, "chlorine-low")
    shed.read(1, 20, ph=7.0)
    shed.look()
    for record in shed.shift.open_flags:
        acknowledge(shed, *record.flag.key)
    board.show_snapshot(see(shed), ME)
    stops = [one for one in board.why.cards if one.view.flag.level is Level.STOP]
    assert stops
    assert not any(one.shelve.isVisible() for one in stops)


def test_bring_back_asks_for_the_flag(qtbot: QtBot, board: Board) -> None:
    shed = a_troubled_shed()
    shed.shelve("chlorine-low", 1, by="TK")
    board.show_snapshot(see(shed), ME)
    board.explain(1)
    board.why.shelved.head.click()
    with qtbot.waitSignal(board.unshelve_asked) as asked:
        board.why.shelved.rows[0].back.click()
    assert asked.args == [1, "chlorine-low"]


def test_what_came_back_is_to_be_seen_anew(board: Board) -> None:
    shed = a_troubled_shed()
    acknowledge(shed, 1, "chlorine-low")
    shed.wait(1)
    shed.shelve("chlorine-low", 1, by="TK")
    shed.wait(1)
    shed.tell(FlagUnshelved(at=shed.now, by="RM", tank=1, rule="chlorine-low"))
    board.show_snapshot(see(shed), ME)
    low = card(board, 1, "chlorine-low")
    assert low.see.isVisible()
    assert not low.seen.isVisible()


def test_in_a_replay_it_is_shown_and_cannot_be_brought_back(board: Board) -> None:
    shed = a_troubled_shed()
    shed.shelve("chlorine-low", 1, by="TK")
    board.show_snapshot(see(shed, Mode.REPLAY), ME)
    board.explain(1)
    board.why.shelved.head.click()
    assert not board.why.shelved.rows[0].back.isVisible()


def test_a_line_that_allows_no_shelving_is_offered_none() -> None:
    shed = a_troubled_shed()
    acknowledge(shed, 1, "chlorine-low")
    snapshot = see(shed)
    assert snapshot.shift is not None
    strict = replace(snapshot.shift.setup, margins=Margins(shelve_longest_min=0))
    shift = replace(snapshot.shift, started=replace(snapshot.shift.started, setup=strict))
    views = present(replace(snapshot, shift=shift), ME).flags
    assert not any(view.can_shelve for view in views)
    assert any(view.can_shelve for view in present(snapshot, ME).flags)


def test_a_clock_set_back_while_a_flag_was_shelved_lets_it_be_seen() -> None:
    shed = a_troubled_shed()
    shed.wait(10).shelve("chlorine-low")
    shed.now -= timedelta(minutes=5)  # nothing is shelved any more by such a clock
    acknowledge(shed, 1, "chlorine-low")
    view = next(one for one in present(see(shed), ME).flags if one.key == (1, "chlorine-low"))
    assert view.seen.startswith("seen by")
    assert not view.can_acknowledge
