"""The head of a shift's record says which rules did not watch it."""

from datetime import date

from pytestqt.qtbot import QtBot

from tests.gui.logbook.conftest import READER
from tests.shed import Shed, a_setup, a_tank
from washmon.gui.logbook.shift_head import ShiftHeading
from washmon.line.setup import LineSetup, RuleOff


def a_head(qtbot: QtBot, setup: LineSetup) -> ShiftHeading:
    head = ShiftHeading()
    qtbot.addWidget(head)
    head.show_shift(Shed(setup).shift, READER)
    return head


def test_rules_that_were_off_stand_in_the_head_with_who_when_and_why(qtbot: QtBot) -> None:
    off = (
        RuleOff(rule="rinse-carry", reason="Fed on purpose.", by="BO", since=date(2026, 5, 2)),
        RuleOff(rule="long-gone", reason="It came and went."),
    )
    head = a_head(qtbot, a_setup(a_tank(1, "Only"), rules_off=off))
    assert not head.rules_off.isHidden()
    assert head.rules_off.text() == (
        "Rules switched off: dirt carried into the rinse (Fed on purpose; BO, 2026-05-02); "
        "long-gone (It came and went)"
    )


def test_where_every_rule_watched_the_head_says_nothing_of_them(qtbot: QtBot) -> None:
    assert a_head(qtbot, a_setup()).rules_off.isHidden()
    guard = RuleOff(rule="chlorine-critical", reason="It watched all the same.")
    assert a_head(qtbot, a_setup(a_tank(1, "Only"), rules_off=(guard,))).rules_off.isHidden()
