"""Readings go in by keyboard, by key pad and by touch; nothing typed is lost on the way."""

from collections.abc import Callable
from dataclasses import replace

import pytest
from PySide6.QtCore import QEvent, QLocale, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from washmon.gui.kit.buttons import ChoiceRow
from washmon.gui.kit.entry_sheet import EntrySheet
from washmon.gui.kit.number_pad import NumberPad, key_px
from washmon.gui.kit.sheet_spec import FieldKind, FieldSpec, SheetSpec, TankSpec, TypedEntry

METHODS = (("strip", "Strip"), ("kit", "Kit"), ("meter", "Meter"))
CARD = (("readable", "Readable"), ("faint", "Faint"), ("gone", "Gone"))
FREE = FieldSpec("fac", "Free chlorine", "ppm", last="44", required=True)
PH = FieldSpec("ph", "pH", last="7.1")
NTU = FieldSpec("turbidity", "Cloudiness", "NTU")
LOOK = FieldSpec("look", "Card in the sample", kind=FieldKind.CHOICE, choices=CARD)
METHOD = FieldSpec("method", "By", kind=FieldKind.CHOICE, choices=METHODS, last="strip", aside=True)
READING = SheetSpec(
    "Reading",
    (FREE, PH, NTU, METHOD),
    (TankSpec("a", "First dunk"), TankSpec("b", "Second dunk"), TankSpec("c", "Rinse", (FREE,))),
)


@pytest.fixture
def sheet(qtbot: QtBot) -> EntrySheet:
    window = QWidget()
    window.resize(1366, 768)
    qtbot.addWidget(window)
    window.show()
    qtbot.waitExposed(window)
    window.activateWindow()
    return EntrySheet(window)


def press(sheet: EntrySheet, *keys: str | Qt.Key) -> None:
    """Press keys as a person does: each goes to whatever has the focus."""
    for key in keys:
        focus = sheet.window().focusWidget()
        assert focus is not None
        if isinstance(key, str):
            QTest.keyClicks(focus, key)
        else:
            QTest.keyClick(focus, key)


def tap(widget: QWidget) -> None:
    QTest.mouseClick(widget, Qt.MouseButton.LeftButton)


ENTER, ESC, UP = Qt.Key.Key_Return, Qt.Key.Key_Escape, Qt.Key.Key_Up


def test_a_reading_takes_a_tank_digit_two_numbers_and_enter(
    qtbot: QtBot, sheet: EntrySheet
) -> None:
    sheet.open(READING)
    with qtbot.waitSignal(sheet.submitted) as told:
        press(sheet, "1", "48", ENTER, "7.1", ENTER, ENTER)
    values = {"fac": "48", "ph": "7.1", "turbidity": "", "method": "strip"}
    assert told.args == [TypedEntry("a", values)]
    assert sheet.isVisible()


def test_the_same_reading_by_touch_alone(qtbot: QtBot, sheet: EntrySheet) -> None:
    sheet.open(READING)
    assert sheet.tanks is not None
    tap(sheet.tanks.button("b"))
    for sign in ("4", "9", "erase", "8", "next", "7", sheet.pad.decimal, "1", "next"):
        tap(sheet.pad.key(sign))
    assert sheet.pad.key("next").label == "Save"
    with qtbot.waitSignal(sheet.submitted) as told:
        tap(sheet.pad.key("next"))
    entry = told.args[0]
    assert (entry.tank, entry.values["fac"], entry.values["ph"]) == ("b", "48", "7.1")


def test_the_last_value_is_greyed_and_never_taken_for_an_entry(
    qtbot: QtBot, sheet: EntrySheet
) -> None:
    sheet.open(READING)
    press(sheet, "1")
    assert sheet.field("fac").input.property("placeholderText") == "44"
    with qtbot.assertNotEmitted(sheet.submitted):
        press(sheet, ENTER, ENTER, ENTER)
    assert sheet.field("fac").fault.text == "Needed: type a value."
    assert sheet.field("fac").input.hasFocus()


def test_one_can_go_back_with_up_and_with_shift_tab(sheet: EntrySheet) -> None:
    sheet.open(READING)
    press(sheet, "1", "48", ENTER)
    assert sheet.field("ph").input.hasFocus()
    press(sheet, UP)
    assert sheet.field("fac").input.hasFocus()
    press(sheet, Qt.Key.Key_Down, Qt.Key.Key_Backtab)
    assert sheet.field("fac").input.hasFocus()


def test_enter_passes_a_field_that_stands_aside_and_tab_reaches_it(sheet: EntrySheet) -> None:
    sheet.open(READING)
    press(sheet, "1", "48", ENTER, ENTER)
    assert sheet.field("turbidity").input.hasFocus()
    press(sheet, Qt.Key.Key_Tab)
    assert sheet.field("method").input.hasFocus()
    press(sheet, Qt.Key.Key_Right)
    assert sheet.values()["method"] == "kit"
    press(sheet, "3")
    assert sheet.values()["method"] == "meter"


def test_a_choice_is_made_by_key_or_by_touch(sheet: EntrySheet) -> None:
    sheet.open(SheetSpec("Card", (LOOK, PH)))
    assert sheet.values()["look"] == ""
    press(sheet, "2")
    assert sheet.values()["look"] == "faint"
    assert not sheet.pad.key("5").isEnabled()
    press(sheet, ENTER, "7")
    assert sheet.values() == {"look": "faint", "ph": "7"}


def test_a_finger_on_a_toggle_goes_on_from_there(sheet: EntrySheet) -> None:
    sheet.open(SheetSpec("Card", (PH, LOOK, NTU, METHOD)))
    press(sheet, "7")
    row = sheet.field("look").input
    assert isinstance(row, ChoiceRow)
    tap(row.button("gone"))
    tap(sheet.pad.key("next"))
    assert sheet.field("turbidity").input.hasFocus()
    method = sheet.field("method").input
    assert isinstance(method, ChoiceRow)
    tap(method.button("meter"))
    assert sheet.field("turbidity").input.hasFocus()
    assert sheet.values() == {"ph": "7", "look": "gone", "turbidity": "", "method": "meter"}


def test_another_tank_keeps_what_was_typed_and_asks_only_its_own_fields(
    sheet: EntrySheet,
) -> None:
    sheet.open(READING)
    press(sheet, "1", "48", ENTER, "7.1")
    assert sheet.tanks is not None
    tap(sheet.tanks.button("c"))
    assert sheet.values() == {"fac": "48"}
    assert (sheet.tank, sheet.tanks.selected) == ("c", "c")


def test_esc_leaves_and_says_so(qtbot: QtBot, sheet: EntrySheet) -> None:
    sheet.open(READING)
    press(sheet, "2")
    with qtbot.waitSignal(sheet.left):
        press(sheet, ESC)
    assert not sheet.isVisible()


def test_faults_stand_beside_their_fields_until_they_are_mended(sheet: EntrySheet) -> None:
    sheet.open(READING)
    press(sheet, "1", "48", ENTER, "15")
    sheet.show_faults({"ph": "pH goes from 0 to 14."}, "Not saved yet.")
    field = sheet.field("ph")
    assert field.fault.text == "pH goes from 0 to 14."
    assert field.fault.isVisible()
    assert field.input.hasFocus()
    assert sheet.message.words.text() == "Not saved yet."
    press(sheet, Qt.Key.Key_Backspace)
    assert not field.fault.isVisible()
    assert sheet.values()["fac"] == "48"


def doubted(sheet: EntrySheet) -> None:
    sheet.open(READING)
    press(sheet, "1", "48", ENTER, "4", ENTER, ENTER)
    sheet.ask_doubt(("pH 4 is unlikely.", "Was it 7.4?"))


def test_a_doubt_is_answered_by_a_button_of_its_own(qtbot: QtBot, sheet: EntrySheet) -> None:
    assert not sheet.anyway.isVisible()
    doubted(sheet)
    assert sheet.anyway.label == "Save it all the same"
    assert sheet.message.words.text() == "pH 4 is unlikely. Was it 7.4?"
    with qtbot.waitSignal(sheet.submitted) as told:
        tap(sheet.anyway)
    assert told.args[0].sure


def test_what_saved_before_saves_no_doubt(qtbot: QtBot, sheet: EntrySheet) -> None:
    """Neither Enter nor Ctrl+Enter, nor a second press on the button or the pad."""
    again: tuple[Callable[[], object], ...] = (
        lambda: press(sheet, ENTER),
        lambda: press(sheet, Qt.Key.Key_Space),
        lambda: QTest.keyClick(sheet, ENTER, Qt.KeyboardModifier.ControlModifier),
        lambda: tap(sheet.save),
        lambda: tap(sheet.pad.key("next")),
    )
    for once_more in again:
        doubted(sheet)
        assert (sheet.save.label, sheet.pad.key("next").label) == ("Change it", "Change it")
        with qtbot.assertNotEmitted(sheet.submitted):
            once_more()
        assert not sheet.doubted
        assert sheet.isVisible()
        assert sheet.save.label == "Save"


def test_however_often_enter_is_pressed_a_doubt_is_not_saved(sheet: EntrySheet) -> None:
    told: list[TypedEntry] = []

    def doubt_it(entry: TypedEntry) -> None:
        told.append(entry)
        sheet.ask_doubt(("pH 4 is unlikely.",))

    sheet.submitted.connect(doubt_it)
    sheet.open(READING)
    press(sheet, "1", "48", ENTER, "4", *[ENTER] * 20)
    assert len(told) > 2
    assert not any(entry.sure for entry in told)


def test_one_can_step_to_all_the_same_and_take_it_there(qtbot: QtBot, sheet: EntrySheet) -> None:
    doubted(sheet)
    while not sheet.anyway.hasFocus():
        press(sheet, Qt.Key.Key_Tab)
    with qtbot.waitSignal(sheet.submitted) as told:
        press(sheet, ENTER)
    assert told.args[0].sure


def test_all_the_same_stands_where_no_finger_rests(sheet: EntrySheet) -> None:
    sheet.open(READING)
    press(sheet, "1", "48", ENTER, "4")
    before = {sheet.save.geometry().center(), sheet.leave.geometry().center()}
    sheet.ask_doubt(("pH 4 is unlikely.",))
    QTest.qWait(0)
    assert not any(sheet.anyway.geometry().contains(at) for at in before)
    assert sheet.save.hasFocus()


def test_a_doubt_can_be_taken_back_and_a_change_is_looked_at_afresh(
    qtbot: QtBot, sheet: EntrySheet
) -> None:
    sheet.open(READING)
    press(sheet, "1", "48", ENTER, "4")
    sheet.ask_doubt(("pH 4 is unlikely.",))
    with qtbot.assertNotEmitted(sheet.left):
        press(sheet, ESC)
    assert sheet.isVisible()
    assert not sheet.doubted
    assert sheet.field("ph").input.hasFocus()
    sheet.ask_doubt(("pH 4 is unlikely.",))
    sheet.field("ph").put("7.4")
    with qtbot.waitSignal(sheet.submitted) as told:
        tap(sheet.save)
    assert not told.args[0].sure


def test_no_entry_without_a_tank(qtbot: QtBot, sheet: EntrySheet) -> None:
    sheet.open(READING)
    with qtbot.assertNotEmitted(sheet.submitted):
        press(sheet, ENTER, "9")
        tap(sheet.save)
    assert sheet.message.words.text() == "Choose a tank first: press its number."


def test_a_text_field_dims_the_digits_of_the_pad(qtbot: QtBot, sheet: EntrySheet) -> None:
    note = FieldSpec("note", "What happened", kind=FieldKind.TEXT, required=True)
    sheet.open(SheetSpec("Note", (note,), note="Who saw it, and when", save="Save note"))
    assert not sheet.pad.key("5").isEnabled()
    assert (sheet.note.text(), sheet.save.label) == ("Who saw it, and when", "Save note")
    with qtbot.waitSignal(sheet.submitted) as told:
        press(sheet, "crate dropped", ENTER)
    assert told.args == [TypedEntry("", {"note": "crate dropped"})]


def test_a_correction_opens_with_its_values_in_place(sheet: EntrySheet) -> None:
    again = FieldSpec("fac", "Free chlorine", "ppm", value="84")
    sheet.open(SheetSpec("Correct", (again,), READING.tanks[:2], tank="b"))
    assert (sheet.tank, sheet.values()) == ("b", {"fac": "84"})
    assert sheet.field("fac").input.hasFocus()


@pytest.mark.parametrize("size", [(1280, 720), (1366, 768), (1920, 1080)])
def test_the_sheet_lies_over_the_lower_half_and_follows_the_window(
    qtbot: QtBot, sheet: EntrySheet, size: tuple[int, int]
) -> None:
    sheet.open(READING)
    sheet.window().resize(*size)
    width, height = size
    qtbot.waitUntil(lambda: sheet.width() == width)
    assert height // 2 - 8 <= sheet.y() <= height * 0.61
    assert sheet.geometry().bottom() == height - 1


def test_eight_tanks_find_room_in_a_small_window(qtbot: QtBot, sheet: EntrySheet) -> None:
    names = ("First dunk", "Second dunk", "Third dunk", "Flume", "Long flume", "Spray", "Rinse")
    tanks = tuple(TankSpec(name, name) for name in (*names, "Last rinse"))
    sheet.window().resize(1280, 720)
    sheet.open(SheetSpec("Water change", (FREE, PH), tanks))
    qtbot.waitUntil(lambda: sheet.width() == 1280)
    assert sheet.tanks is not None
    assert sheet.tanks.geometry().right() < sheet.pad.x()
    assert sheet.pad.geometry().right() < sheet.width()
    press(sheet, "8")
    assert sheet.tank == "Last rinse"


def test_of_ten_the_last_is_chosen_by_the_last_digit_of_the_keyboard(sheet: EntrySheet) -> None:
    names = (*(f"Tank {number}" for number in range(1, 9)), "Second fill of 1", "Second fill of 2")
    sheet.open(SheetSpec("Water change", (FREE,), tuple(TankSpec(name, name) for name in names)))
    press(sheet, "0")
    assert sheet.tank == "Second fill of 2"


def test_the_keys_of_the_pad_are_fifteen_millimetres_or_more(qtbot: QtBot) -> None:
    pad = NumberPad()
    qtbot.addWidget(pad)
    pad.show()
    qtbot.waitExposed(pad)
    screen = QApplication.primaryScreen()
    for sign in (*"0123456789", pad.decimal, "erase", "next"):
        key = pad.key(sign)
        assert min(key.width(), key.height()) / screen.logicalDotsPerInch() * 25.4 >= 15
    assert key_px() >= 57


def test_the_decimal_key_is_the_one_of_the_locale(qtbot: QtBot) -> None:
    before = QLocale()
    QLocale.setDefault(QLocale("es_ES"))
    try:
        pad = NumberPad()
        qtbot.addWidget(pad)
        with qtbot.waitSignal(pad.typed) as told:
            tap(pad.key(","))
        assert told.args == [","]
    finally:
        QLocale.setDefault(before)


def test_the_pad_types_into_what_is_asked_now_where_another_window_has_the_keyboard(
    qtbot: QtBot, sheet: EntrySheet
) -> None:
    sheet.open(SheetSpec("Reading", (FREE, PH)))
    sheet.shut()
    other = QWidget()
    qtbot.addWidget(other)
    other.show()
    other.activateWindow()
    qtbot.waitUntil(lambda: not sheet.window().isActiveWindow())
    for spec in (READING, SheetSpec("Note", (PH,))):
        sheet.open(replace(spec, tank="a") if spec.tanks else spec)
        QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)
        sheet.pad.typed.emit("7")
        sheet.pad.erased.emit()
        sheet.pad.typed.emit("5")
        assert next(iter(sheet.values().values())) == "5"
