"""The table of pages, and a page that is added to it as DEVELOPERS.md tells."""

import pytest
from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QLabel, QWidget

from tests.gui.stand import Stand, begin_shift
from washmon.gui import menu as menus
from washmon.gui.context import UserContext
from washmon.gui.page import Page, Window, while_running
from washmon.gui.rooms import PAGES, Room

Key = Qt.Key
pytestmark = pytest.mark.qt_log_ignore("This plugin does not support", extend=True)


# What DEVELOPERS.md asks for: a module with the page …
class Scales(QLabel):
    left = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)

    def open(self, person: UserContext) -> None:
        self.setText(person.initials)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's name
        if event.key() == Key.Key_Escape:
            self.left.emit()


# … and its row in the table, with how it is made.
def _scales(window: Window) -> Scales:
    page = Scales()
    page.left.connect(window.go_back)
    return page


SCALES = Page(
    "scales",
    _scales,
    lambda page, window: page.open(window.person),
    words="Scales",
    key=("Ctrl+G",),
    why_not=while_running,
    aside=True,
)


@pytest.fixture
def stand(stand: Stand, monkeypatch: pytest.MonkeyPatch) -> Stand:
    monkeypatch.setattr(menus, "PAGES", (*PAGES, SCALES))
    return stand


def test_a_page_needs_its_module_and_a_row_and_is_reached_by_menu_and_key(stand: Stand) -> None:
    begin_shift(stand.path)
    stand.open()
    stand.choose_in_menu(stand.menu_line(SCALES))
    assert stand.room is SCALES
    assert stand.page(Scales).text() == "RM"
    stand.key(Key.Key_Escape)
    stand.wait_for(Room.BOARD)
    stand.key(Key.Key_G, Qt.KeyboardModifier.ControlModifier)
    stand.wait_for(SCALES)


def test_a_page_that_needs_a_running_shift_says_so_where_none_runs(stand: Stand) -> None:
    window = stand.open()
    assert not stand.menu_line(SCALES).isEnabled()
    window.go(SCALES)
    assert stand.room is not SCALES
    assert window.notice.words.text() == "No shift is running."


def test_every_page_of_the_table_can_be_made_and_entered(stand: Stand) -> None:
    begin_shift(stand.path)
    window = stand.open()
    made: list[QWidget] = [window.enter(page) for page in PAGES]
    assert len(set(made)) == len(PAGES) > 10
    assert len({page.name for page in PAGES}) == len(PAGES)
    keys = [key for page in PAGES for key in page.key]
    assert len(set(keys)) == len(keys)


def test_a_page_is_as_high_as_it_must_be_whatever_was_opened_before(stand: Stand) -> None:
    window = stand.open()
    window.resize(1000, 700)
    window.go(Room.TRENDS)
    stand.qtbot.waitUntil(window.rooms.page(Room.TRENDS).isVisible)
    asked = window.rooms.layout()
    assert asked is not None
    tall = asked.heightForWidth(1000)
    window.go(Room.CHANGES)
    assert 0 < asked.heightForWidth(1000) < tall
