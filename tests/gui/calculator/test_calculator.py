"""The calculator's page, driven through its real widgets."""

from datetime import date

import msgspec
import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QComboBox, QLineEdit, QWidget
from pytestqt.qtbot import QtBot

from tests.shed import Shed, a_peracetic_setup, a_setup, a_tank
from tests.some import some
from washmon.gui.calculator.page import Calculator
from washmon.gui.context import UserContext
from washmon.gui.kit.state_mark import MarkState
from washmon.gui.kit.text import Text
from washmon.line.calculations import CALCULATIONS
from washmon.units import UnitSystem

RM = UserContext("RM", UnitSystem.METRIC)
SETUP = a_setup(measures=("cylinder_10_ml", "cylinder_100_ml", "jug_1000_ml", "kitchen_scale"))


@pytest.fixture
def page(qtbot: QtBot) -> Calculator:
    page = Calculator(today=lambda: date(2026, 5, 7))
    qtbot.addWidget(page)
    page.resize(1366, 768)
    page.open(SETUP, RM)
    with qtbot.waitExposed(page):
        page.show()
    page.activateWindow()
    qtbot.waitUntil(page.isActiveWindow)
    page.list.setFocus()
    return page


def choose(page: Calculator, key: str) -> None:
    page.list.setCurrentRow([calculation.key for calculation in CALCULATIONS].index(key))


def hand(page: Calculator, key: str) -> QWidget:
    """What the hand types into or presses."""
    proxy = page.form.fields[key].focusProxy()
    assert proxy is not None
    return proxy


def write(page: Calculator, **texts: str) -> None:
    for key, text in texts.items():
        editor = hand(page, key.strip("_").replace("_", "-"))
        assert isinstance(editor, QLineEdit)
        editor.setFocus()
        editor.selectAll()
        QTest.keyClicks(editor, text)


def shown(widget: QWidget) -> str:
    """All the words that can be read in a widget."""
    return "\n".join(text.text() for text in widget.findChildren(Text) if text.isVisible())


def look(page: Calculator) -> MarkState:
    return page.answer.card.look


def test_the_set_up_fills_in_the_form_and_a_reading_gives_the_dose(page: Calculator) -> None:
    assert page.form.fields["volume"].text == "500"
    assert page.form.fields["basis"].text == "trade_pct"
    write(page, from_="31")
    # White, Handbook of Chlorination (1972), mass balance: 500 L × 19 ÷ 125 = 76 mL.
    assert page.answer.headline.text().startswith("Add 76\N{NO-BREAK SPACE}mL")
    assert "Never with acid: chlorine gas" in shown(page.answer)


def test_the_answer_follows_each_key(page: Calculator) -> None:
    heads = []
    write(page, from_="4")
    heads.append(page.answer.headline.text())
    QTest.keyClicks(hand(page, "from"), "0")
    heads.append(page.answer.headline.text())
    assert heads[0] != heads[1]
    assert all(head.startswith("Add") for head in some(heads))


def test_a_refusal_stands_beside_its_field_and_there_is_no_amount(
    page: Calculator, qtbot: QtBot
) -> None:
    write(page, from_="60")
    target = page.form.fields["to"]
    assert target.fault.text.startswith("The target is not above the present level")
    assert "mL" not in shown(page.answer)
    write(page, from_="40")
    assert not target.fault.text
    write(page, volume="5 kg")
    assert not page.form.fields["volume"].fault.text  # nobody is scolded while typing
    qtbot.waitUntil(lambda: "is a weight" in page.form.fields["volume"].fault.text)


def test_another_tank_of_the_set_up_fills_in_its_own_volume(page: Calculator) -> None:
    page.open(a_setup(a_tank(1, "Dunk"), a_tank(2, "Rinse", volume_l=380.0)), RM)
    QTest.keyClick(page.tank, Qt.Key.Key_Down)
    assert page.tank.currentText() == "2  Rinse"
    page.tank.activated.emit(1)
    assert page.form.fields["volume"].text == "380"


def test_a_tank_of_the_running_shift_starts_from_its_last_reading(page: Calculator) -> None:
    assert "Still needed: Free chlorine now" in shown(page.answer)  # no reading, no dose
    shed = Shed(SETUP)
    shed.fill()
    shed.wait(2).read(fac=31.0)
    page.open(SETUP, RM, shed.shift)
    assert page.form.fields["from"].text == "31"
    assert page.answer.headline.text().startswith("Add 76")
    write(page, from_="33")
    page.open(SETUP, RM, shed.shift)
    assert page.form.fields["from"].text == "33"  # nothing new was read
    shed.wait(2).dose()
    page.open(SETUP, RM, shed.shift)
    assert "Still needed: Free chlorine now" in shown(page.answer)


def test_another_tank_does_not_start_from_the_level_of_the_first(page: Calculator) -> None:
    write(page, from_="31")
    QTest.keyClick(page.tank, Qt.Key.Key_Down)
    page.tank.activated.emit(1)
    assert not page.form.fields["from"].text


def test_what_is_asked_in_the_same_words_is_typed_once(page: Calculator) -> None:
    write(page, volume="640 L")
    choose(page, "lower")
    assert page.form.fields["volume"].text == "640 L"
    choose(page, "peracetic")
    assert not page.form.fields["density"].text  # another product: its density is its own


def test_the_arrows_choose_and_tab_goes_through_the_form(page: Calculator) -> None:
    QTest.keyClick(page.list, Qt.Key.Key_Down)
    assert page.calculation.key == "rise"
    QTest.keyClick(page.list, Qt.Key.Key_Tab)
    assert page.focusWidget() is hand(page, "volume")
    QTest.keyClick(hand(page, "volume"), Qt.Key.Key_Return)
    assert page.focusWidget() is hand(page, "from")
    QTest.keyClick(hand(page, "from"), Qt.Key.Key_Tab)
    assert page.focusWidget() is hand(page, "solid")


def test_enter_in_the_list_goes_to_the_form(page: Calculator) -> None:
    QTest.keyClick(page.list, Qt.Key.Key_Return)
    assert page.form.isAncestorOf(page.focusWidget())


def test_a_solid_is_asked_for_its_percent_only(page: Calculator) -> None:
    QTest.keyClick(hand(page, "solid"), Qt.Key.Key_Right)
    fields = page.form.fields
    assert fields["strength"].isVisible()
    assert not fields["basis"].isVisible()
    assert not fields["density"].isVisible()
    write(page, strength="65", from_="0")
    assert page.answer.headline.text().startswith("Add 38\N{NO-BREAK SPACE}g")


def test_how_unfolds_the_way_its_source_and_the_whole_caution(page: Calculator) -> None:
    write(page, from_="31")
    assert "White, Handbook" not in shown(page.answer)
    page.answer.unfold.click()
    text = shown(page.answer)
    assert "amount = volume × rise ÷ strength" in text
    assert "Source: Strength and mass balance: White, Handbook of Chlorination (1972)" in text
    assert "which can kill" in text
    write(page, from_="32")
    assert "White, Handbook" in shown(page.answer)  # it stays unfolded while one types


def test_gas_over_the_water_shows_as_stop(page: Calculator) -> None:
    choose(page, "active")
    write(page, chlorine="150", ph="7.2")
    assert look(page) is MarkState.IN_LIMITS
    write(page, ph="5.8")
    assert look(page) is MarkState.STOP
    assert "Chlorine gas can leave this water" in shown(page.answer)


def test_alkalinity_that_was_found_is_carried_to_the_acid(page: Calculator) -> None:
    choose(page, "alkalinity")
    write(page, chlorine="50", ph_before="7.9", ph_after="7.5", amount="300")
    assert page.answer.headline.text().startswith("About")
    page.answer.next.click()
    assert page.calculation.key == "acid"
    assert float(page.form.fields["alkalinity"].text) > 100
    write(page, ph="7.9")
    assert page.answer.headline.text().startswith("First add")


def test_the_strength_of_an_old_container_is_carried_to_the_dose(page: Calculator) -> None:
    choose(page, "container")
    write(page, made="2026-01-01", storage_temperature="30")
    page.answer.next.click()
    assert page.calculation.key == "dose"
    assert page.form.fields["basis"].text == "g_per_l_available_chlorine"
    write(page, from_="31")
    assert page.answer.headline.text().startswith("Add 180")


def test_us_units_are_filled_in_and_read(page: Calculator) -> None:
    page.open(a_setup(a_tank(1, "Tub", volume_l=567.811767)), UserContext("RM", UnitSystem.US))
    assert page.form.fields["volume"].text == "150"
    write(page, volume="5 gal", from_="0", strength="8.25")
    assert "tsp" in page.answer.headline.text()


def test_a_decimal_comma_is_written_and_read(page: Calculator) -> None:
    page.open(SETUP, UserContext("RM", UnitSystem.METRIC, ","))
    assert page.form.fields["strength"].text == "12,5"
    write(page, from_="31,5")
    assert page.answer.headline.text().startswith("Add 74")


def test_without_a_set_up_everything_is_asked(page: Calculator) -> None:
    page.open(None, RM)
    page.open(None, UserContext("TK", UnitSystem.METRIC))
    assert not page.tank.isVisible()
    assert "Still needed: Water in the tank, Free chlorine now, Target" in shown(page.answer)


def test_escape_leaves(page: Calculator, qtbot: QtBot) -> None:
    with qtbot.waitSignal(page.left):
        QTest.keyClick(page, Qt.Key.Key_Escape)


@pytest.mark.parametrize("key", [calculation.key for calculation in CALCULATIONS])
def test_whatever_a_finger_touches_is_large_enough(page: Calculator, key: str) -> None:
    choose(page, key)
    for kind in (QLineEdit, QComboBox, QAbstractButton):
        for widget in page.findChildren(kind):
            if widget.isVisible():
                assert widget.height() >= 44, widget
    assert page.list.visualItemRect(page.list.item(0)).height() >= 44


def test_a_tank_of_peracetic_acid_is_not_offered_a_dose_of_chlorine(qtbot: QtBot) -> None:
    paa = a_peracetic_setup()
    flume = msgspec.structs.replace(paa.tanks[0], number=2)
    both = msgspec.structs.replace(
        SETUP, tanks=(*SETUP.tanks[:1], flume), sanitizers=(*SETUP.sanitizers, *paa.sanitizers)
    )
    page = Calculator(today=lambda: date(2026, 5, 7))
    qtbot.addWidget(page)
    page.open(both, RM)

    def offered() -> list[str]:
        rows = range(page.list.count())
        return [CALCULATIONS[row].key for row in rows if not page.list.item(row).isHidden()]

    assert "dose" in offered()
    page.tank.setCurrentIndex(1)
    page.tank.activated.emit(1)
    assert offered() == ["peracetic"]
    assert page.calculation.key == "peracetic"
    page.tank.setCurrentIndex(0)
    page.tank.activated.emit(0)
    assert "dose" in offered()
