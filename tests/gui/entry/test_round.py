"""A round: a row a tank, one Save, and what is refused or doubted stays to be mended."""

import pytest
from PySide6.QtWidgets import QLabel

from tests.gui.stand import Key, Stand, begin_shift
from washmon.gui.entry.round import Round
from washmon.line.events import Method, ReadingTaken


@pytest.fixture
def stand(stand: Stand) -> Stand:
    begin_shift(stand.path)
    stand.open()
    return stand


def opened(stand: Stand) -> Round:
    stand.type(Key.Key_F12)
    made = stand.board.sheets.round
    assert made is not None
    stand.qtbot.waitUntil(lambda: made.is_open)
    return made


def readings(stand: Stand) -> list[ReadingTaken]:
    return [event for event in stand.events if isinstance(event, ReadingTaken)][2:]


def test_two_tanks_are_read_on_one_sheet_by_keys_alone(stand: Stand) -> None:
    made = opened(stand)
    stand.type("48", Key.Key_Return, "7.1", Key.Key_Return, "9", Key.Key_Return)
    stand.type("47", Key.Key_Return, "7.2", Key.Key_Return, "8")
    with stand.qtbot.waitSignals([made.saved, stand.window.client.snapshot_changed]):
        stand.type(Key.Key_Return)
    one, two = readings(stand)
    assert (one.tank, one.fac_mg_l, one.ph, one.turbidity_ntu) == (1, 48.0, 7.1, 9.0)
    assert (two.tank, two.fac_mg_l, two.ph, two.turbidity_ntu) == (2, 47.0, 7.2, 8.0)
    assert one.fac_method is two.fac_method is Method.STRIP  # as was measured here last
    assert not made.is_open
    assert stand.board.message.words.text() == "Saved: readings of 2 tanks"


def test_what_is_left_empty_is_not_asked_again_and_an_empty_row_is_left_out(stand: Stand) -> None:
    made = opened(stand)
    stand.type("48", *[Key.Key_Return] * 5)
    with stand.qtbot.waitSignals([made.saved, stand.window.client.snapshot_changed]):
        stand.type(Key.Key_Return)
    (one,) = readings(stand)
    assert (one.tank, one.fac_mg_l, one.ph) == (1, 48.0, None)


def test_an_empty_round_saves_nothing_and_says_so(stand: Stand) -> None:
    made = opened(stand)
    stand.click(made.sheet.save)
    assert made.sheet.message.words.text() == "Write at least one value, or leave."
    stand.type(Key.Key_Escape)
    assert not made.is_open
    assert readings(stand) == []


def test_a_value_that_cannot_be_read_is_said_in_its_row_and_nothing_is_saved(stand: Stand) -> None:
    made = opened(stand)
    made.sheet.field("1:fac_mg_l").put("48")
    made.sheet.field("2:fac_mg_l").put("4 8 x")
    stand.click(made.sheet.save)
    assert made.sheet.field("2:fac_mg_l").fault.text
    assert not made.sheet.field("1:fac_mg_l").fault.text
    assert readings(stand) == []


def test_a_doubt_names_its_tank_and_what_came_before_it_is_saved(stand: Stand) -> None:
    made = opened(stand)
    made.sheet.field("1:fac_mg_l").put("48")
    made.sheet.field("2:fac_mg_l").put("480")
    stand.click(made.sheet.save)
    stand.qtbot.waitUntil(lambda: made.sheet.doubted)
    assert made.sheet.message.words.text().startswith("2  Second dunk: ")
    assert [one.tank for one in readings(stand)] == [1]
    assert not made.sheet.field("1:fac_mg_l").isEnabled()
    stand.type(Key.Key_Escape)
    made.sheet.field("2:fac_mg_l").put("48")
    with stand.qtbot.waitSignal(made.saved):
        stand.click(made.sheet.save)
    stand.qtbot.waitUntil(lambda: [one.tank for one in readings(stand)] == [1, 2])
    assert readings(stand)[1].fac_mg_l == 48.0


def test_names_stand_once_over_the_columns_and_each_field_is_named_with_its_tank(
    stand: Stand,
) -> None:
    made = opened(stand)
    shown = [one.text() for one in made.sheet.findChildren(QLabel) if one.isVisible()]
    assert shown.count("Free chlorine") == 1
    assert "1  First dunk" in shown
    field = made.sheet.field("2:ph")
    assert field.input.accessibleName() == "2  Second dunk: pH"
