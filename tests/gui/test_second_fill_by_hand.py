"""A second fill from the empty vessel to its swap and back, by keys and mouse in the window."""

import pytest

from tests.gui.stand import Key, Stand, begin_shift
from tests.shed import a_tank
from washmon.gui.kit.buttons import ChoiceRow
from washmon.line.events import Corrected, DoseAdded, ReadingTaken, SecondSwapped, TankFilled
from washmon.line.flags import StepKind
from washmon.line.setup import Stage


@pytest.fixture
def stand(stand: Stand) -> Stand:
    """Return a running shift: the water of tank 1 may be used for an hour, 400 L fit beside it."""
    first = a_tank(1, "First dunk", Stage.WASH, hours_per_fill=1.0, second_volume_l=400.0)
    begin_shift(stand.path, first, a_tank(2, "Second dunk"))
    stand.open()
    return stand


def measure(stand: Stand, *tank: str, fac: str = "50", ph: str = "7", ntu: str = "5") -> None:
    stand.type(*tank, fac, Key.Key_Return, ph, Key.Key_Return, ntu)
    with stand.saving():
        stand.type(Key.Key_Return)


def press(stand: Stand, field: str, key: str) -> None:
    (row,) = stand.entries.sheet.field(field).findChildren(ChoiceRow)
    stand.click(row.button(key))


def second_line(stand: Stand) -> str:
    return stand.panel(1).state.plan.second.text().replace("\N{WORD JOINER}", "")


def step_line(stand: Stand) -> str:
    text = stand.panel(1).state.plan.step.text()
    return text.replace("\N{WORD JOINER}", "").replace("\N{NO-BREAK SPACE}", " ")


def make_ready(stand: Stand) -> None:
    """Fill and dose the second fill as the plan of its tank asks for it, then read it."""
    stand.wait_for_step(1, StepKind.FILL)
    stand.answer(1)
    assert stand.entries.sheet.tank == "1+"
    with stand.saving():
        stand.type(Key.Key_Return)
    stand.wait_for_step(1, StepKind.DOSE)
    stand.answer(1)
    assert stand.entries.sheet.tank == "1+"
    with stand.saving():
        stand.type(Key.Key_Return)
    stand.wait(6)
    stand.type(Key.Key_F1)
    measure(stand, "3")  # the second fill stands after the tanks of the line


def test_a_second_fill_is_made_ready_swapped_in_and_taken_back(stand: Stand) -> None:
    assert second_line(stand) == "Second fill: not filled"
    stand.wait(42)
    stand.type(Key.Key_F1)
    measure(stand, "1")
    assert (1, "second-fill") in stand.rules_up()
    wanted = "Second fill: Fill its vessel (400 L)"
    stand.qtbot.waitUntil(lambda: wanted in step_line(stand))

    make_ready(stand)
    filled, dosed, read = stand.events[-3:]
    assert isinstance(filled, TankFilled)
    assert (filled.second, filled.volume_l) == (True, 400.0)
    assert isinstance(dosed, DoseAdded)
    assert dosed.second
    # By mass balance 160 mL bring 400 L to the target of 50; the plan may go on to its high of 75.
    assert 157 <= dosed.amount.value <= 240
    assert isinstance(read, ReadingTaken)
    assert (read.second, read.tank, read.fac_mg_l) == (True, 1, 50.0)
    assert (1, "second-fill") not in stand.rules_up()
    stand.qtbot.waitUntil(lambda: second_line(stand).startswith("Second fill: ready (at 50"))
    assert stand.board.board.columns.panels[0].state.level.text() == "50"

    stand.wait(13)
    stand.qtbot.waitUntil(lambda: step_line(stand) == "Swap in the second fill")
    swap_in_and_take_back(stand)


def swap_in_and_take_back(stand: Stand) -> None:
    stand.answer(1)
    assert stand.entries.sheet.values()["which"] == "swap"
    with stand.saving():
        stand.type(Key.Key_Return)
    swap = stand.last()
    assert isinstance(swap.event, SecondSwapped)
    assert (1, "hours") not in stand.rules_up()
    facts = stand.panel(1).trend_card.facts.text()
    assert "400" in facts
    assert "swapped in" in facts.replace("\N{NO-BREAK SPACE}", " ")
    assert stand.board.message.words.text().startswith("Saved: Second fill of tank 1 swapped in")

    stand.click(stand.board.message.action)
    press(stand, "never", "never")
    stand.entries.sheet.field("why").setFocus()
    stand.type("not swapped yet")
    with stand.saving():
        stand.type(Key.Key_Return)
    taken_back = stand.last().event
    assert isinstance(taken_back, Corrected)
    assert (taken_back.entry, taken_back.instead) == (swap.seq, None)
    stand.qtbot.waitUntil(lambda: second_line(stand).startswith("Second fill: ready"))
    assert (1, "hours") in stand.rules_up()


def test_a_swap_of_a_fill_that_was_not_measured_is_asked_about_and_then_asks_for_it(
    stand: Stand,
) -> None:
    stand.wait(42)
    stand.type(Key.Key_F1)
    measure(stand, "1")
    stand.type(Key.Key_F5, "3")
    with stand.saving():
        stand.type(Key.Key_Return)
    stand.type(Key.Key_F5, "1")
    sheet = stand.entries.sheet
    assert sheet.field("which").spec.choices[0][0] == "swap"
    assert sheet.values()["which"] == "full"  # it is not ready, so nothing is chosen for anybody
    press(stand, "which", "swap")
    stand.type(Key.Key_Return)
    stand.qtbot.waitUntil(lambda: sheet.doubted)
    assert "not measured yet" in sheet.message.words.text()
    with stand.saving():
        stand.click(sheet.anyway)
    swapped = stand.last().event
    assert isinstance(swapped, SecondSwapped)
    assert swapped.doubts
    assert (1, "swap-unchecked") in stand.rules_up()


def test_a_tank_without_a_second_vessel_is_entered_as_ever(stand: Stand) -> None:
    stand.type(Key.Key_F1)
    assert [tank.key for tank in stand.entries.sheet.spec.tanks] == ["1", "2"]  # nothing waits yet
    stand.type(Key.Key_Escape, Key.Key_F5)
    assert [tank.key for tank in stand.entries.sheet.spec.tanks] == ["1", "2", "1+"]
    stand.type(Key.Key_Escape, Key.Key_F2)
    assert "1+" not in [tank.key for tank in stand.entries.sheet.spec.tanks]
