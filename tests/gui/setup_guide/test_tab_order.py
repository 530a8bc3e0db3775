"""Tab follows the eye on every page of the set-up guide, whatever was made or lent when."""

from itertools import pairwise

import pytest
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from tests.gui.setup_guide.guides import (
    LOOK,
    PLACE,
    PRODUCTS,
    full_setup,
    opened,
    pick_template,
    press,
)
from washmon.gui.setup_guide import SetupGuide

ESSENTIALS = 1


@pytest.fixture
def guide(qtbot: QtBot) -> SetupGuide:
    return opened(qtbot, full_setup())


def round_trip(guide: SetupGuide, *, back: bool = False) -> list[QWidget]:
    """Press Tab until the keyboard is where it was, and return what it came by."""
    first = focused()
    seen = [first]
    modifier = Qt.KeyboardModifier.ShiftModifier if back else Qt.KeyboardModifier.NoModifier
    while len(seen) < 400:
        QTest.keyClick(focused(), Qt.Key.Key_Tab, modifier)
        if focused() is first:
            return seen
        seen.append(focused())
    raise AssertionError(f"Tab does not come back on {guide.page.title}.")


def focused() -> QWidget:
    focus = QApplication.focusWidget()
    assert focus is not None
    return focus


def place(guide: SetupGuide, widget: QWidget) -> QRect:
    """Where a widget is, as if nothing were scrolled: within its page, else within the guide."""
    top = widget.parentWidget()
    while top is not None and top is not guide and top.objectName() != "scrolled":
        top = top.parentWidget()
    corner = widget.mapTo(top or guide, QPoint())
    if top is not guide and top is not None:
        corner += guide.stack.mapTo(guide, QPoint())
        corner.setX(widget.mapTo(guide, QPoint()).x())
    return QRect(corner, widget.size())


def goes_back(one: QRect, other: QRect) -> bool:
    """Whether the eye would go up, or back along a row, from one to the other."""
    above = other.bottom() < one.top() and other.left() <= one.right()
    left_in_row = other.right() <= one.left() and other.bottom() < one.bottom() + one.height()
    return above or (left_in_row and other.top() < one.bottom())


def test_tab_goes_on_in_reading_order_on_each_page(guide: SetupGuide) -> None:
    for at in range(LOOK + 1):
        check_order(guide, at)


def check_order(guide: SetupGuide, at: int) -> None:
    guide.go_to(at)
    QApplication.processEvents()
    stops = round_trip(guide)
    page = [one for one in stops if guide.page.isAncestorOf(one)]
    # All of the page comes in one piece, then what stands below it.
    into = (n for n, one in enumerate(stops) if one in page and stops[n - 1] not in page)
    first = next(into, 0)
    turned = [*stops[first:], *stops[:first]]
    assert set(turned[: len(page)]) == set(page)
    assert turned.index(guide.leave) < turned.index(guide.next)
    page = turned[: len(page)]
    places = [place(guide, one) for one in page]
    wrong = [
        (one, other)
        for (one, a), (other, b) in pairwise(zip(page, places, strict=True))
        if goes_back(a, b)
    ]
    assert wrong == []


def test_shift_tab_is_the_way_back(guide: SetupGuide) -> None:
    guide.go_to(PRODUCTS)
    QApplication.processEvents()
    there = round_trip(guide)
    back = round_trip(guide, back=True)
    assert back == [there[0], *reversed(there[1:])]


def test_from_initials_tab_leads_to_the_name_and_the_role(qtbot: QtBot) -> None:
    guide = opened(qtbot)
    pick_template(guide)
    assert guide.at == PLACE
    press(guide.place.add)
    second = guide.place.rows[1]
    QApplication.processEvents()
    second.initials.focus()
    seen = []
    for _ in range(4):
        seen.append(focused())
        QTest.keyClick(focused(), Qt.Key.Key_Tab)
    assert seen == [
        second.initials.editor,
        second.name.editor,
        second.role.editor,
        second.remove,
    ]
    assert focused() is guide.place.add


def test_the_essentials_are_asked_in_the_order_in_which_they_stand(qtbot: QtBot) -> None:
    guide = opened(qtbot)
    press(guide.template.answers.cards["3"])
    press(guide.next)
    assert guide.at == ESSENTIALS
    person, stops = guide.place.rows[0], round_trip(guide)
    wanted = [person.initials.editor, person.name.editor, guide.place.site.editor]
    assert stops[:3] == wanted
    assert stops.index(guide.essentials.more) < stops.index(guide.leave)
