"""What a person entered is shown in a tip as it is, never as mark-up."""

from pytestqt.qtbot import QtBot

from washmon.gui.kit.text import ShortText, plain_tip


def test_a_name_that_looks_like_markup_is_shown_as_it_is(qtbot: QtBot) -> None:
    name = '<img src="file:///etc/hostname"> <b>L-1</b> & co'
    label = ShortText()
    qtbot.addWidget(label)
    label.setText(name)
    assert "<img" not in label.toolTip()
    assert "&lt;img src=" in label.toolTip()
    assert label.text() == name


def test_a_plain_tip_stays_as_it_is() -> None:
    assert plain_tip("35 to 75 ppm & more") == "35 to 75 ppm & more"
