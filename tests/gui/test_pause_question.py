"""A pause that nobody ended: the Board asks once, and one press answers."""

from datetime import timedelta

import pytest

from tests.gui.stand import Stand, begin_shift
from washmon.gui.board.panel_views import StepView
from washmon.gui.quiet_entries import BREAK, REPAIR
from washmon.line.events import LinePaused, LineResumed, Pause


@pytest.fixture
def stand(stand: Stand) -> Stand:
    """Before a window of a shift that has begun."""
    begin_shift(stand.path)
    stand.open()
    return stand


def pause(stand: Stand, reason: str) -> None:
    stand.window.client.enter(LinePaused(at=stand.now, by="RM", reason=reason))
    stand.qtbot.waitUntil(lambda: stand.shift.paused is not None)


@pytest.mark.parametrize(("reason", "usual"), [(Pause.BREAK, BREAK), (Pause.BREAKDOWN, REPAIR)])
def test_after_the_usual_length_the_board_asks_and_one_press_goes_on(
    stand: Stand, reason: Pause, usual: timedelta
) -> None:
    pause(stand, reason)
    minutes = usual.total_seconds() / 60
    stand.wait(minutes - 1)
    line = stand.board.pause
    assert not line.isVisible()
    stand.wait(1)
    assert line.words.text() == "Paused since 07:00. Is the line running again?"
    with stand.qtbot.waitSignal(stand.window.client.snapshot_changed):
        stand.click(line.action)
    stand.qtbot.waitUntil(lambda: stand.shift.paused is None)
    assert isinstance(stand.events[-1], LineResumed)
    stand.qtbot.waitUntil(line.isHidden)


def test_a_line_that_went_on_by_itself_is_not_asked_about(stand: Stand) -> None:
    pause(stand, Pause.BREAK)
    stand.window.client.enter(LineResumed(at=stand.now, by="RM"))
    stand.qtbot.waitUntil(lambda: stand.shift.paused is None)
    stand.wait(60)
    assert not stand.board.pause.isVisible()


def test_it_takes_no_keyboard_and_asks_no_second_time(stand: Stand) -> None:
    pause(stand, Pause.BREAK)
    stand.wait(31)
    assert stand.board.pause.isVisible()
    assert stand.board.at_rest
    stand.board.pause.clear()
    stand.wait(30)
    assert not stand.board.pause.isVisible()


def test_the_strip_of_turns_says_what_the_plans_of_a_paused_line_say(stand: Stand) -> None:
    pause(stand, Pause.BREAK)
    stand.qtbot.waitUntil(lambda: "paused" in step(stand).text)
    assert step(stand).text.startswith("Feed nothing.")
    view = stand.board.board.view
    assert view is not None
    assert {turn.what for turn in view.agenda} == {"feed nothing"}


def step(stand: Stand) -> StepView:
    view = stand.panel(1).view
    assert view is not None
    return view.step
