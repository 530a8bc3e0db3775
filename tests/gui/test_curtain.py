"""What a sheet covered is shown by its picture first: nobody may see that it is one."""

from collections.abc import Callable

import pytest
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication

from tests.gui.stand import Key, Stand, begin_shift
from tests.some import some
from washmon.gui.kit import theme
from washmon.gui.kit.curtain import Curtain
from washmon.line.flags import StepKind
from washmon.line.kinds import EntryKind


@pytest.fixture
def stand(stand: Stand) -> Stand:
    """A running shift of two tanks, with its plots."""
    begin_shift(stand.path)
    stand.open()
    panels = stand.board.board.columns.panels
    for tank in (1, 2):
        stand.wait_for_step(tank, StepKind.CHECK)
    stand.qtbot.waitUntil(lambda: all(panel.trend.trend is not None for panel in some(panels)))
    QApplication.processEvents()  # the words of the plots find their places
    return stand


def curtains(stand: Stand) -> list[Curtain]:
    return stand.board.findChildren(Curtain)


def open_a_sheet(stand: Stand) -> None:
    """Open the sheet of a reading and wait until everything under it has its picture."""
    stand.board.open_entry(EntryKind.READING, tank=1)
    stand.qtbot.waitUntil(stand.entries.sheet.isVisible)
    stand.qtbot.waitUntil(lambda: not any(one.is_due for one in curtains(stand)))


def look(stand: Stand) -> QImage:
    return stand.window.grab().toImage()


def lifted(stand: Stand) -> Callable[[], bool]:
    return lambda: not any(one.isVisible() for one in curtains(stand))


def test_a_picture_looks_like_what_it_covers(stand: Stand, themed_app: QApplication) -> None:
    theme.apply(themed_app, theme.DARK)
    before = look(stand)
    open_a_sheet(stand)
    stand.type(Key.Key_Escape)
    assert all(one.isVisible() for one in some(curtains(stand)))
    assert look(stand) == before
    stand.qtbot.waitUntil(lifted(stand))
    assert look(stand) == before


def test_what_changed_is_shown_itself(stand: Stand) -> None:
    open_a_sheet(stand)
    first, second = (stand.panel(tank).curtain for tank in (1, 2))
    before = stand.panel(2).view
    with stand.saving():
        stand.type("50", Key.Key_Return, "7.0", Key.Key_Return, Key.Key_Return)
    assert stand.shift.last_seq > 0
    assert not stand.entries.sheet.isVisible()
    assert not first.isVisible()
    follows = stand.panel(2).view != before  # as the forecast is there already
    assert second.isVisible() or lifted(stand)() or follows


def test_what_changes_under_its_picture_is_shown_at_once(stand: Stand) -> None:
    open_a_sheet(stand)
    stand.type(Key.Key_Escape)
    bar = stand.board.bar
    assert bar.curtain.isVisible()
    bar.name_undo("Another word")
    stand.board.curtains.renew()
    assert not bar.curtain.isVisible()


def test_a_size_that_is_another_leaves_no_picture(stand: Stand) -> None:
    open_a_sheet(stand)
    stand.window.resize(1200, 720)
    stand.entries.sheet.shut()
    assert lifted(stand)()
