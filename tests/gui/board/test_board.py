"""The Board draws what it is given, answers the hand, fits its window, and is quiet otherwise."""

import time
from collections.abc import Callable

import pytest
from msgspec.structs import replace
from PySide6.QtCore import QEvent, QObject, Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel, QWidget
from pytestqt.qtbot import QtBot

from tests.gui.board.scenes import (
    ME,
    a_dose,
    a_good_shed,
    a_line,
    a_troubled_shed,
    calm,
    end,
    planned,
    see,
)
from tests.shed import Shed, a_setup
from tests.some import some
from washmon.gui.board.board import Board
from washmon.gui.board.panel import NARROWEST_PX, TankPanel
from washmon.gui.kit import theme
from washmon.gui.kit.buttons import PressButton
from washmon.gui.kit.state_mark import MarkState
from washmon.gui.kit.text import Digits, ShortText, Tone
from washmon.line.events import Method
from washmon.line.message import Message
from washmon.planning.snapshot import Mode, Snapshot

MakeBoard = Callable[[int, int], Board]
KEYS = (Qt.Key.Key_Return, Qt.Key.Key_Space)


@pytest.fixture
def make(qtbot: QtBot) -> MakeBoard:
    def made(width: int = 1366, height: int = 640) -> Board:
        board = Board(frame_ms=0)
        qtbot.addWidget(board)
        board.resize(width, height)
        board.show()
        qtbot.waitExposed(board)
        return board

    return made


@pytest.fixture
def board(make: MakeBoard) -> Board:
    return make(1366, 640)


class Paints(QObject):
    """Counts what is painted anew within a widget."""

    def __init__(self, watched: QWidget) -> None:
        super().__init__(watched)
        self.count = 0
        for widget in (watched, *watched.findChildren(QWidget)):
            widget.installEventFilter(self)
        self._grow_quiet()

    def _grow_quiet(self) -> None:
        """Let paints that were due anyway happen before the count begins."""
        for _ in range(20):
            self.count = 0
            settle()
            if not self.count:
                return
        raise AssertionError("It never stops painting.")

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802 (Qt)
        del watched
        self.count += event.type() is QEvent.Type.Paint
        return False


def settle() -> None:
    """Let layouts and paints that are due happen."""
    for _ in range(4):
        QApplication.processEvents()


def first(board: Board) -> TankPanel:
    return board.columns.panels[0]


def cut_texts(board: Board) -> list[str]:
    """Return the texts that have less room than they need."""
    cut = []
    for label in board.findChildren(QLabel):
        if not label.isVisibleTo(board) or not label.text() or isinstance(label, ShortText):
            continue
        needed = label.heightForWidth(label.width()) if label.wordWrap() else 0
        # Digits stand between base line and cap height, whatever room letters would take.
        metrics, digits = label.fontMetrics(), isinstance(label, Digits)
        needed = max(needed, metrics.capHeight() if digits else metrics.height())
        wide = 0 if label.wordWrap() else label.fontMetrics().horizontalAdvance(label.text())
        if label.height() < needed or label.width() < wide:
            cut.append(label.text())
    buttons = [one for one in board.findChildren(PressButton) if one.isVisibleTo(board)]
    narrow = [one.label for one in buttons if one.width() < one.minimumSizeHint().width()]
    return cut + narrow


@pytest.mark.parametrize(
    ("fac", "ph", "look", "word"),
    [
        (50, 7.0, MarkState.IN_LIMITS, "In limits"),
        (50, 7.7, MarkState.WATCH, "Watch"),
        (30, 7.0, MarkState.ACT, "Act now"),
        (20, 7.0, MarkState.STOP, "Stop and hold"),
        (None, None, MarkState.UNKNOWN, "Not known"),
    ],
)
def test_each_condition_has_its_shape_and_its_word(
    board: Board, fac: float | None, ph: float | None, look: MarkState, word: str
) -> None:
    shed = Shed()
    shed.fill()
    if fac is not None:
        shed.read(1, fac, ph=ph or 7.0)
    board.show_snapshot(see(shed), ME)
    state = first(board).state
    assert (state.badge.mark.look, state.badge.word.text()) == (look, word)
    assert state.look is look
    assert word in state.accessibleName()


def test_the_values_that_cause_the_state_have_its_tone_and_the_others_none(board: Board) -> None:
    board.show_snapshot(see(a_troubled_shed()), ME)
    one, two = (panel.state for panel in board.columns.panels)
    assert (one.level.text(), one.level.tone) == ("31", Tone.ACT)
    assert two.level.tone is Tone.PLAIN
    marked = {value.name for value in two.values.values if value.look is not MarkState.IN_LIMITS}
    assert marked == {"pH", "Active"}


def test_a_tank_is_chosen_by_mouse_and_by_keyboard(board: Board, qtbot: QtBot) -> None:
    board.show_snapshot(see(a_troubled_shed()), ME)
    state = board.columns.panels[1].state
    with qtbot.waitSignal(board.tank_chosen) as chosen:
        QTest.mouseClick(state.plan.step, Qt.MouseButton.LeftButton)
    assert chosen.args == [2]
    for key in KEYS:
        with qtbot.waitSignal(board.tank_chosen):
            QTest.keyClick(state, key)


def test_the_same_snapshot_paints_nothing_again(board: Board) -> None:
    shed = a_troubled_shed()
    snapshot = see(shed)
    board.show_snapshot(snapshot, ME)
    settle()
    paints = Paints(board)
    board.show_snapshot(snapshot, ME)
    board.show_snapshot(replace(snapshot, now=snapshot.now), ME)
    settle()
    assert paints.count == 0


def test_only_the_tank_that_changed_is_painted(board: Board) -> None:
    shed = a_good_shed()
    resting = (calm(1, shed.now), calm(2, shed.now))
    board.show_snapshot(planned(see(shed), *resting), ME)
    settle()
    still, moved = (Paints(panel) for panel in board.columns.panels)
    shed.read(2, 45, ph=7.0)
    board.show_snapshot(planned(see(shed), *resting), ME)
    settle()
    assert still.count == 0
    assert moved.count > 0


@pytest.mark.parametrize("width", [1024, 1366])
@pytest.mark.parametrize("count", range(1, 9))
def test_one_to_eight_tanks_fit_a_small_window_and_cut_no_text(
    make: MakeBoard, count: int, width: int
) -> None:
    board = make(width, 500)
    shed = a_troubled_shed(count)
    board.show_snapshot(planned(see(shed), a_dose(1, surprise=Message("It read 31."))), ME)
    settle()
    assert (board.width(), board.height()) == (width, 500)
    assert len(board.columns.panels) == count
    assert all(panel.width() >= NARROWEST_PX for panel in some(board.columns.panels))
    assert {panel.state.height() for panel in board.columns.panels} == {first(board).state.height()}
    assert cut_texts(board) == []


@pytest.mark.parametrize(("width", "height"), [(1366, 640), (1920, 970), (3840, 2050)])
def test_larger_windows_cut_no_text_and_show_three_tanks_without_scrolling(
    make: MakeBoard, width: int, height: int
) -> None:
    board = make(width, height)
    board.show_snapshot(see(a_troubled_shed(3)), ME)
    settle()
    assert cut_texts(board) == []
    assert not board.columns.horizontalScrollBar().isVisible()
    assert not board.columns.verticalScrollBar().isVisible()


def test_a_line_may_grow_and_shrink_from_one_snapshot_to_the_next(board: Board) -> None:
    for count in (3, 8, 2):
        board.show_snapshot(see(Shed(a_line(count))), ME)
        settle()
        assert [one.view.number for one in board.columns.panels if one.view] == list(
            range(1, count + 1)
        )


def test_without_a_shift_the_board_says_what_comes_next(board: Board) -> None:
    now = Shed().now
    board.show_snapshot(Snapshot(now=now), ME)
    assert board.empty.isVisible()
    assert not board.columns.isVisible()
    assert board.empty.title.text() == "This line is not described yet"
    board.show_snapshot(Snapshot(now=now, setup=a_setup()), ME)
    assert board.empty.title.text() == "No shift is running"
    board.show_snapshot(see(a_good_shed()), ME)
    assert not board.empty.isVisible()
    assert board.columns.isVisible()
    assert board.agenda.isVisible()


def test_banners_stand_over_the_columns_and_go_again(board: Board) -> None:
    shed = a_good_shed()
    trouble = Message("The disk is full: free some space, then enter it again.")
    board.show_snapshot(replace(see(shed, Mode.READ_ONLY), trouble=trouble), ME)
    settle()
    assert [view.look for view in board.banners.views] == [MarkState.STOP, MarkState.IN_LIMITS]
    assert board.banners.geometry().bottom() < board.columns.y()
    end(shed)
    board.show_snapshot(see(shed), ME)
    assert [view.text for view in board.banners.views] == ["This shift ended at 07:12."]
    board.show_snapshot(see(a_good_shed()), ME)
    assert not board.banners.isVisible()


def test_the_first_of_a_burst_is_drawn_at_once_and_then_only_the_last(
    board: Board, qtbot: QtBot
) -> None:
    shed = a_good_shed()
    snapshots = []
    for level in (49.0, 48.0, 47.0):
        shed.wait(1).read(1, level)
        snapshots.append(see(shed))
    board.frame_ms = 200
    levels = []
    for snapshot in snapshots:
        board.show_snapshot(snapshot, ME)
        levels.append(first(board).state.level.text())
    assert levels == ["49", "49", "49"]
    qtbot.waitUntil(lambda: first(board).state.level.text() == "47")


def test_a_hidden_board_runs_no_timer_and_draws_what_came_when_shown(board: Board) -> None:
    shed = a_good_shed()
    board.frame_ms = 10_000
    board.show_snapshot(see(shed), ME)
    shed.wait(1).read(1, 49)
    board.show_snapshot(see(shed), ME)
    assert any(timer.isActive() for timer in board.findChildren(QTimer))
    board.hide()
    assert not any(timer.isActive() for timer in board.findChildren(QTimer))
    shed.wait(1).read(1, 46)
    board.show_snapshot(see(shed), ME)
    assert not any(timer.isActive() for timer in board.findChildren(QTimer))
    board.show()
    assert first(board).state.level.text() == "46"


def test_ages_grow_while_no_snapshot_comes_but_not_in_a_replay(
    board: Board, monkeypatch: pytest.MonkeyPatch
) -> None:
    shed = a_troubled_shed()
    began = time.monotonic()
    for mode, words in ((Mode.LIVE, "strip, 5 min ago"), (Mode.REPLAY, "strip, 3 min ago")):
        monkeypatch.undo()
        board.show_snapshot(see(shed, mode), ME)
        assert first(board).state.measured.text() == "strip, 3 min ago"
        monkeypatch.setattr(time, "monotonic", lambda: began + 150)
        board._grow_older()
        assert first(board).state.measured.text() == words


def test_every_panel_says_so_once_the_recorder_is_silent(
    board: Board, monkeypatch: pytest.MonkeyPatch
) -> None:
    shed = a_troubled_shed()
    board.show_snapshot(see(shed), ME)
    began = time.monotonic()
    for silent_s, current in ((20, True), (40, False)):
        monkeypatch.setattr(time, "monotonic", lambda silent_s=silent_s: began + silent_s)
        board._grow_older()
        view = board.view
        assert view is not None
        assert [one.state != "Not current" for one in view.panels] == [current] * 2
        assert any("nothing new for" in one.text for one in view.banners) is not current
    board.show_snapshot(see(shed.wait(1)), ME)
    assert board.view is not None
    assert not any("nothing new" in one.text for one in board.view.banners)


@pytest.mark.parametrize("shades", theme.THEMES.values(), ids=theme.THEMES)
def test_every_theme_draws_the_whole_board(
    board: Board, themed_app: QApplication, shades: theme.Theme
) -> None:
    board.show_snapshot(see(a_troubled_shed(3)), ME)
    theme.apply(themed_app, shades)
    settle()
    picture = board.grab().toImage()
    assert picture.pixelColor(4, picture.height() // 2).name() == shades.paper.lower()
    assert cut_texts(board) == []


def test_a_card_whose_height_was_kept_is_as_tall_as_if_it_were_measured_anew(
    board: Board, themed_app: QApplication
) -> None:
    shed = a_good_shed(3)
    for width, shades in ((1366, theme.BRIGHT), (1024, theme.DARK), (1366, theme.HIGH_CONTRAST)):
        board.resize(width, 640)
        theme.apply(themed_app, shades)
        settle()
        shed.read(1, 31, method=Method.STRIP, ph=7.9, turbidity_ntu=38.0)
        board.show_snapshot(see(shed), ME)
        settle()
        shed.wait(7).read(1, 50, ph=7.0)
        shed.wash(1, tanks=(1, 2, 3))
        board.show_snapshot(see(shed), ME)
        settle()
        cards = [panel.state for panel in board.columns.panels]
        kept = {card.height() for card in cards}
        for card in cards:
            card.measure_anew()
        board.columns.level()
        assert kept == {card.height() for card in cards}
