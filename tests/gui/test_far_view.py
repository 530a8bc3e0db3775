"""The far view says in large type what the Board says, and when it is not current."""

from datetime import timedelta

import pytest
from msgspec.structs import replace
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QImage, QPainter
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from tests.gui.board.scenes import ME, a_dose, a_troubled_shed, a_wait, calm, planned, see
from tests.shed import Shed
from washmon.gui.far_view import FarColumn, FarView, fitting, type_of
from washmon.gui.kit.state_mark import MarkState
from washmon.gui.kit.text import Weight
from washmon.planning.snapshot import Mode, Snapshot


@pytest.fixture
def far(qtbot: QtBot) -> FarView:
    view = FarView()
    qtbot.addWidget(view)
    view.resize(1920, 1080)
    view.show()
    qtbot.waitExposed(view)
    return view


def four(shed: Shed) -> Snapshot:
    wait = a_wait(2, shed.now + timedelta(minutes=2))
    plans = (a_dose(1), wait, calm(3, shed.now), calm(4, shed.now))
    return planned(see(shed), *plans)


def test_each_tank_says_state_number_age_and_step_with_its_countdown(far: FarView) -> None:
    far.show_snapshot(four(a_troubled_shed(4)), ME)
    assert far.view is not None
    one, two, *_ = far.view.panels
    assert far.words(one) == (
        "1 Dump tank. Act now. 31. ppm, strip, 3 min ago. Add 76 mL hypochlorite, stir"
    )
    assert far.step(two) == "Stir, then read: 2:00"
    assert far.words(one) in far.accessibleName()


def test_what_is_held_is_said(far: FarView) -> None:
    shed = a_troubled_shed(1)
    batch = shed.wash(1, tanks=(1,))[0]
    shed.read(1, 12, ph=7.0)
    shed.hold(batch.seq)
    far.show_snapshot(see(shed), ME)
    assert far.view is not None
    assert far.state(far.view.panels[0]) == "Stop, 1 held"


def test_stale_data_says_not_current_and_no_state(
    far: FarView, monkeypatch: pytest.MonkeyPatch
) -> None:
    far.show_snapshot(four(a_troubled_shed(4)), ME)
    assert far.is_current
    came = far._came_at
    monkeypatch.setattr("washmon.gui.far_view.time.monotonic", lambda: came + 180)
    far._grow_older()
    assert not far.is_current
    assert far.view is not None
    assert {far.state(panel) for panel in far.view.panels} == {"Not current"}
    assert far.view.panels[0].look is MarkState.ACT  # which is not what is said of it


def test_a_replay_is_as_current_as_its_own_clock(
    far: FarView, monkeypatch: pytest.MonkeyPatch
) -> None:
    far.show_snapshot(replace(four(a_troubled_shed(4)), mode=Mode.REPLAY), ME)
    came = far._came_at
    monkeypatch.setattr("washmon.gui.far_view.time.monotonic", lambda: came + 999)
    assert far.is_current


@pytest.mark.parametrize("count", [1, 4, 8])
@pytest.mark.parametrize("size", [(1024, 600), (1920, 1080)])
def test_no_word_leaves_its_column_and_the_first_step_is_the_largest(
    far: FarView, count: int, size: tuple[int, int]
) -> None:
    far.resize(*size)
    far.show_snapshot(planned(see(a_troubled_shed(count)), a_dose(1)), ME)
    assert far.view is not None
    far.grab()
    box = QRectF(0, 0, size[0] / (count + 0.25), size[1] * 0.9)
    image = QImage(*size, QImage.Format.Format_RGB32)
    painter = QPainter(image)
    first, *others = (FarColumn(painter, box, far, panel) for panel in far.view.panels)
    most = first.step_px(size[1] * 0.07)
    for column in (first, *others):
        size_px = column.step_px(most)
        assert size_px <= most
        metrics = QFontMetricsF(type_of(size_px, Weight.DemiBold))
        words = far.step(column._panel)
        assert max(metrics.horizontalAdvance(word) for word in words.split()) <= box.width()
        flags = int(Qt.TextFlag.TextWordWrap)
        assert metrics.boundingRect(column.step_box, flags, words).height() <= (
            column.step_box.height() + 1
        )
    painter.end()


def test_number_and_shape_are_read_at_four_metres_on_24_inches(far: FarView) -> None:
    # A sign is read at 160 times its height at most (common practice, no published source), so
    # 25 mm serve four metres; 24 inches at 16:9 are 531 mm wide.
    far.show_snapshot(four(a_troubled_shed(4)), ME)
    mm_per_px = 531 / far.width()
    column = QRectF(0, 0, far.width() / 4.4, far.height() * 0.9)
    number = fitting("31", column.adjusted(20, 0, -20, 0), far.height() * 0.3, Weight.Bold)
    assert number.pixelSize() * 0.66 * mm_per_px >= 25  # digits are two thirds of their type


def test_escape_closes_it_and_no_timer_goes_on(far: FarView) -> None:
    far.show_snapshot(four(a_troubled_shed(4)), ME)
    QTest.keyClick(far, Qt.Key.Key_Escape)
    assert not far.isVisible()
    assert not far._second.isActive()
