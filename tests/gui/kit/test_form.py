"""Forms hold what was typed and put each fault beside its field."""

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel, QWidget
from pytestqt.qtbot import QtBot

from washmon.gui.kit import theme
from washmon.gui.kit.form import FieldRow, Form, RepeatRows
from washmon.gui.kit.form_fields import ChoiceField, FormField, ListField, TextField

SHAPES = (("box", "Rectangular"), ("round", "Round"), ("trough", "Trough"))


@pytest.fixture
def form(qtbot: QtBot) -> Form:
    form = Form()
    qtbot.addWidget(form)
    form.resize(800, 400)
    form.add_section("Tank 1", "In the order in which the produce travels.")
    form.add_row(
        TextField("name", "Name", value="First dunk"),
        TextField("volume", "Working volume", unit="L", hint="As filled for washing"),
    )
    form.add(ChoiceField("shape", "Shape", SHAPES))
    form.add(ListField("stage", "Stage", SHAPES, value="round"))
    for number in range(8):
        form.add(TextField(f"more{number}", f"More {number}"))
    form.show()
    qtbot.waitExposed(form)
    form.activateWindow()
    qtbot.waitUntil(lambda: form.verticalScrollBar().maximum() > 0)
    return form


def hand(field: FormField) -> QWidget:
    """What the hand types into or presses."""
    proxy = field.focusProxy()
    assert proxy is not None
    return proxy


def test_a_form_gives_back_what_stands_in_its_fields(form: Form) -> None:
    fields = form.fields()
    fields["volume"].put(" 570 ")
    fields["shape"].put("trough")
    texts = {key: field.text for key, field in fields.items() if not key.startswith("more")}
    assert texts == {
        "name": "First dunk",
        "volume": "570",
        "shape": "trough",
        "stage": "round",
    }


def test_a_fault_is_said_under_its_field_with_a_mark_and_the_form_goes_there(
    qtbot: QtBot, form: Form
) -> None:
    assert form.show_faults({"more7": "Type a number."})
    field = form.fields()["more7"]
    assert (field.fault.text, field.fault.isVisible()) == ("Type a number.", True)
    assert hand(field).property("fault") is True
    qtbot.waitUntil(lambda: form.verticalScrollBar().value() > 0)
    assert hand(field).hasFocus()
    QTest.keyClicks(hand(field), "7")
    assert not field.fault.isVisible()


def test_a_fault_of_an_unknown_field_is_told_to_the_owner(form: Form) -> None:
    assert not form.show_faults({"nowhere": "Lost."})
    assert form.show_faults({})


def test_a_field_keeps_its_height_when_the_focus_comes(
    form: Form, themed_app: QApplication
) -> None:
    for shades in theme.THEMES.values():
        theme.apply(themed_app, shades)
        line = hand(form.fields()["name"])
        line.clearFocus()
        at_rest = line.sizeHint().height()
        line.setFocus()
        assert line.sizeHint().height() == at_rest == 44


@pytest.mark.parametrize(
    ("field", "after"),
    [
        (TextField, "7"),
        (ChoiceField, "round"),
        (ListField, "round"),
    ],
)
def test_every_kind_tells_that_a_hand_changed_it(
    qtbot: QtBot, field: type[FormField], after: str
) -> None:
    made: FormField
    if field is ChoiceField or field is ListField:
        made = field("key", "Label", SHAPES, value="box")
    else:
        made = field("key", "Label")
    qtbot.addWidget(made)
    made.show()
    made.show_fault("Wrong.")
    with qtbot.waitSignal(made.changed):
        if isinstance(made, ChoiceField):
            QTest.mouseClick(made.row.button("round"), Qt.MouseButton.LeftButton)
        elif isinstance(made, ListField):
            QTest.keyClick(made.editor, Qt.Key.Key_Down)
        else:
            QTest.keyClicks(hand(made), "7")
    assert (made.text, made.fault.text) == (after, "")


def test_nothing_is_chosen_until_someone_chooses(qtbot: QtBot) -> None:
    basis = ListField("basis", "Strength is", (("trade", "Trade %"), ("weight", "Weight %")))
    qtbot.addWidget(basis)
    assert basis.text == ""
    basis.put("weight")
    assert basis.text == "weight"
    basis.offer((("trade", "Trade %"),))
    assert basis.text == ""


def test_the_wheel_scrolls_past_a_list_without_changing_it(form: Form) -> None:
    stage = form.fields()["stage"]
    assert isinstance(stage, ListField)
    at = stage.editor.mapTo(form, stage.editor.rect().center())
    QTest.wheelEvent(form.windowHandle(), QPointF(at), QPoint(0, -120))
    assert stage.text == "round"
    assert form.verticalScrollBar().value() > 0


def test_rows_are_added_and_removed_within_their_bounds(qtbot: QtBot) -> None:
    def make() -> QWidget:
        return FieldRow(TextField("name", "Name"), TextField("initials", "Initials"))

    rows = RepeatRows(make, "Add a person", least=1, most=3)
    qtbot.addWidget(rows)
    rows.show()
    assert len(rows.rows) == 1
    assert rows.remover(rows.rows[0]).isHidden()
    with qtbot.waitSignal(rows.added):
        QTest.mouseClick(rows.add_button, Qt.MouseButton.LeftButton)
    rows.add()
    assert rows.add_button.isHidden()
    first, second, third = rows.rows
    with qtbot.waitSignal(rows.removed) as told:
        QTest.mouseClick(rows.remover(second), Qt.MouseButton.LeftButton)
    assert told.args == [second]
    assert rows.rows == [first, third]
    assert rows.add_button.isVisible()


def test_a_cleared_form_is_empty(form: Form) -> None:
    form.clear()
    assert form.fields() == {}
    assert [label for label in form.findChildren(QLabel) if label.isVisible()] == []


def test_the_arrows_choose_in_a_row_of_toggles(form: Form, qtbot: QtBot) -> None:
    shape = form.fields()["shape"]
    hand(shape).setFocus()
    with qtbot.waitSignal(shape.changed):
        QTest.keyClick(hand(shape), Qt.Key.Key_Right)
    QTest.keyClick(hand(shape), Qt.Key.Key_Right)
    assert shape.text == "round"
    QTest.keyClick(hand(shape), Qt.Key.Key_Left)
    assert shape.text == "box"
