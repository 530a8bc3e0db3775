"""The trend shows what it was given, answers the hand, and stays quick and whole."""

import time
from collections.abc import Callable

import numpy as np
import pytest
from msgspec.structs import replace
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from washmon.gui.kit import theme
from washmon.gui.kit.trend import LegendEntry, Trend
from washmon.gui.kit.trend_view import (
    DrawnFan,
    DrawnPoint,
    Run,
    TrendLimits,
    TrendMark,
    TrendView,
)


def run(*levels: tuple[float, float]) -> Run:
    return tuple(DrawnPoint(x, y, f"{y} ppm, strip, RM", y - 5, y + 5) for x, y in levels)


VIEW = TrendView(
    y_label="Free chlorine (ppm) against batches washed",
    limits=TrendLimits(low=35, high=75, target=50, critical=25),
    earlier=(run((0, 50), (6, 41)),),
    current=(run((10, 51), (14, 42), (17, 34)), run((17, 52), (21, 41))),
    doses=(TrendMark(17, "92 mL hypochlorite", 34),),
    changes=(TrendMark(10, "water change"),),
    acids=(TrendMark(14, "20 mL vinegar", 42),),
    fan=(DrawnFan(21, 40, 41, 42), DrawnFan(27, 28, 33, 37)),
)


@pytest.fixture
def trend(qtbot: QtBot) -> Trend:
    widget = Trend()
    qtbot.addWidget(widget)
    widget.resize(400, 340)
    widget.show()
    qtbot.waitExposed(widget)
    widget.show_view(VIEW)
    return widget


def on_screen(trend: Trend, x: float, y: float) -> QPoint:
    """Where a point of the plot lies in its viewport."""
    at = trend.plot.mapFromScene(trend.plot.box.mapViewToScene(QPointF(x, y)))
    assert isinstance(at, QPoint)
    return at


def test_readings_are_joined_within_a_run_and_parted_at_a_dose(trend: Trend) -> None:
    x, y = trend.layers.current.getData()
    assert list(x[~np.isnan(x)]) == [10, 14, 17, 17, 21]
    assert list(np.flatnonzero(np.isnan(y))) == [3, 6]
    assert trend.layers.current.opts["connect"] == "finite"


def test_limits_stand_at_their_levels_with_their_names(trend: Trend) -> None:
    assert trend.layers.band.getRegion() == (35, 75)
    assert (trend.layers.target.value(), trend.layers.target.label.format) == (50, "target")
    assert (trend.layers.critical.value(), trend.layers.critical.label.format) == (25, "critical")
    trend.show_view(replace(VIEW, limits=TrendLimits(5, 10)))
    assert not trend.layers.critical.isVisible()


def test_doses_acid_changes_ranges_and_the_fan_are_drawn(trend: Trend) -> None:
    layers = trend.layers
    assert [list(axis) for axis in layers.doses.getData()] == [[17], [34]]
    assert [list(axis) for axis in layers.acids.getData()] == [[14], [42]]
    assert list(layers.changes.getData()[0]) == [10, 10]
    assert len(layers.ranges.getData()[0]) == 2 * 7
    assert list(layers.fan_middle.getData()[1]) == [41, 33]
    assert list(layers.fan.getData()[1]) == [40, 28, 37, 42, 40]


def test_what_if_draws_a_second_fan_beside_the_first(trend: Trend) -> None:
    supposed = tuple(replace(step, middle=step.middle - 5) for step in VIEW.fan)
    trend.show_view(replace(VIEW, supposed=supposed))
    assert list(trend.layers.supposed_middle.getData()[1]) == [36, 28]
    assert list(trend.layers.fan_middle.getData()[1]) == [41, 33]


def test_the_legend_names_only_what_is_there(trend: Trend) -> None:
    assert set(trend.legend.entries) == set(LegendEntry) - {LegendEntry.SUPPOSED}
    trend.show_view(replace(VIEW, supposed=VIEW.fan))
    assert set(trend.legend.entries) == set(LegendEntry)
    trend.show_view(TrendView(VIEW.y_label, VIEW.limits, current=VIEW.current[:1]))
    assert trend.legend.entries == (LegendEntry.RANGE,)


def test_the_axis_counts_whole_batches_from_zero(trend: Trend) -> None:
    axis = trend.plot.axes["bottom"]
    for high in (3.0, 12.0, 97.0, 640.0):
        ((step, _),) = axis.tickSpacing(0, high, 300)
        assert step == int(step)
        assert step * 300 / high >= 44
    assert axis.tickStrings([-5, 0, 5], 1, 5) == ["", "0", "5"]
    (x_low, x_high), (y_low, y_high) = trend.plot.box.viewRange()
    assert y_low == 0
    assert x_low < 0
    assert x_high > 27
    assert y_high > 75


def test_pointing_at_a_reading_tells_what_it_was_and_who_entered_it(
    qtbot: QtBot, trend: Trend
) -> None:
    viewport = trend.plot.viewport()
    QTest.mouseMove(viewport, on_screen(trend, 14, 42) + QPoint(4, 3))
    qtbot.waitUntil(trend.hint.isVisible)
    assert trend.hint.text() == "42 ppm, strip, RM"
    assert trend.rect().contains(trend.hint.geometry())
    QTest.mouseMove(viewport, on_screen(trend, 14, 4))
    qtbot.waitUntil(trend.hint.isHidden)


def test_a_tap_on_the_last_reading_keeps_the_hint_inside(qtbot: QtBot, trend: Trend) -> None:
    trend.show_view(replace(VIEW, fan=()))
    QTest.mouseClick(trend.plot.viewport(), Qt.MouseButton.LeftButton, pos=on_screen(trend, 21, 41))
    qtbot.waitUntil(trend.hint.isVisible)
    assert trend.rect().contains(trend.hint.geometry())


def turn_wheel(trend: Trend, by: int = 240) -> None:
    at = QPointF(on_screen(trend, 15, 40))
    viewport = trend.plot.viewport()
    QApplication.sendEvent(
        viewport,
        QWheelEvent(
            at,
            QPointF(viewport.mapToGlobal(at.toPoint())),
            QPoint(),
            QPoint(0, by),
            Qt.MouseButton.NoButton,
            Qt.KeyboardModifier.NoModifier,
            Qt.ScrollPhase.NoScrollPhase,
            False,  # not inverted; Qt takes it by place only
        ),
    )


def width(trend: Trend) -> float:
    (low, high), _ = trend.plot.box.viewRange()
    return float(high - low)


def test_a_zoomed_view_stays_when_readings_come_and_a_double_click_shows_all(
    qtbot: QtBot, trend: Trend
) -> None:
    whole = width(trend)
    turn_wheel(trend)
    zoomed = width(trend)
    assert zoomed < whole * 0.95
    trend.show_view(replace(VIEW, doses=()))
    assert width(trend) == pytest.approx(zoomed)
    viewport, middle = trend.plot.viewport(), on_screen(trend, 15, 60)
    QTest.mouseClick(viewport, Qt.MouseButton.LeftButton, pos=middle)
    QTest.mouseDClick(viewport, Qt.MouseButton.LeftButton, pos=middle)
    qtbot.waitUntil(lambda: width(trend) == pytest.approx(whole))


def test_a_view_zoomed_in_at_its_end_follows_new_readings(trend: Trend) -> None:
    turn_wheel(trend)
    trend.plot.box.translateBy(x=100)
    zoomed = width(trend)
    trend.show_view(replace(VIEW, x_to=60))
    (_, right), _ = trend.plot.box.viewRange()
    assert right == pytest.approx(60 * 1.04)
    assert width(trend) == pytest.approx(zoomed)


def test_a_view_zoomed_out_to_the_whole_takes_up_new_readings_again(trend: Trend) -> None:
    turn_wheel(trend)
    turn_wheel(trend, by=-2400)
    trend.show_view(replace(VIEW, x_to=60))
    assert width(trend) == pytest.approx(60 * 1.04 * 1.03)


def test_a_pinch_zooms_and_nobody_can_drag_the_plot_out_of_sight(trend: Trend) -> None:
    whole = width(trend)
    middle = trend.plot.viewport().mapToGlobal(on_screen(trend, 15, 40))
    trend.plot.pinch(2.0, QPointF(middle))
    assert width(trend) == pytest.approx(whole / 2, rel=0.01)
    trend.plot.box.translateBy(x=500, y=500)
    (_, x_high), (_, y_high) = trend.plot.box.viewRange()
    assert x_high <= VIEW.x_end + 1e-6
    assert y_high <= VIEW.y_end + 1e-6
    assert not trend.plot.box.menuEnabled()


def test_an_unchanged_view_is_not_drawn_again(
    trend: Trend, monkeypatch: pytest.MonkeyPatch
) -> None:
    drawn: list[TrendView] = []
    monkeypatch.setattr(trend.layers, "draw", drawn.append)
    trend.show_view(replace(VIEW))
    assert drawn == []
    trend.show_view(replace(VIEW, doses=()))
    assert len(drawn) == 1


def test_a_plot_that_was_only_covered_is_not_drawn_anew(
    qtbot: QtBot, trend: Trend, monkeypatch: pytest.MonkeyPatch
) -> None:
    drawn: list[bool] = []
    render = trend.plot.render
    trend.resize(420, 350)

    def count(*args: object) -> None:
        drawn.append(True)
        render(*args)

    monkeypatch.setattr(trend.plot, "render", count)
    for _ in range(6):  # words find their places once the first drawing is there
        QApplication.processEvents()
    assert drawn
    before = trend.plot.grab().toImage()
    drawn.clear()
    cover = QWidget(trend)
    cover.resize(trend.size())
    for visible in (True, False):
        cover.setVisible(visible)
        QApplication.processEvents()
    assert not drawn
    assert trend.plot.grab().toImage() == before

    drawn.clear()
    trend.show_view(replace(VIEW, limits=TrendLimits(30, 60, target=45, critical=20)))
    qtbot.wait_until(lambda: bool(drawn) and not trend.plot.stale)
    assert trend.plot.grab().toImage() != before


def test_items_are_kept_from_view_to_view(trend: Trend) -> None:
    before = trend.plot.scene().items()
    for count in range(1, 20):
        trend.show_view(replace(VIEW, current=(run(*((x, 40.0) for x in range(count))),)))
    assert trend.plot.scene().items() == before


def test_a_trend_takes_the_colours_of_a_new_theme(themed_app: QApplication, trend: Trend) -> None:
    theme.apply(themed_app, theme.DARK)
    assert trend.layers.current.opts["pen"].color().name().upper() == theme.DARK.ink
    assert trend.plot.grab().toImage().pixelColor(60, 2).name().upper() == theme.DARK.card


def test_lines_are_as_thick_on_a_fine_screen(trend: Trend) -> None:
    pens = []
    for ratio in (1.0, 2.0):
        trend.layers.dress(theme.BRIGHT, ratio)
        pens.append(trend.layers.current.opts["pen"].widthF())
    assert pens[1] == pytest.approx(2 * pens[0])


def test_a_trend_folded_to_a_strip_gives_all_its_room_to_the_plot(trend: Trend) -> None:
    assert trend.title.isVisible()
    assert trend.legend.isVisible()
    trend.resize(400, 100)
    assert not trend.title.isVisible()
    assert not trend.legend.isVisible()


def test_an_empty_trend_shows_its_limits(trend: Trend) -> None:
    trend.show_view(TrendView("Free chlorine (ppm)", TrendLimits(35, 75, 50, 25)))
    assert trend.layers.band.isVisible()
    assert width(trend) >= 10
    assert not trend.grab().isNull()


def test_a_trend_survives_two_thousand_repaints(trend: Trend) -> None:
    """PySide6 6.12.0 on Python 3.11 lost a reference to None per call and aborted here."""
    trend.resize(220, 180)
    for count in range(2_000):
        if count % 100 == 0:
            trend.show_view(replace(VIEW, x_to=30.0 + count))
        assert not trend.plot.grab().isNull()


@pytest.mark.benchmark_ratio
def test_a_long_shift_is_taken_up_in_a_few_milliseconds(trend: Trend) -> None:
    """Against the plain arithmetic of pyqtgraph: no slower than twelve bare setData calls."""
    x = np.arange(500.0)
    views = [
        replace(VIEW, current=(run(*((float(at), 40.0 + at % 7) for at in range(count))),))
        for count in (499, 500)
    ]

    def show_both() -> None:
        for view in views:
            trend.show_view(view)

    ours = best_of(5, show_both) / 2
    bare = best_of(5, lambda: trend.layers.current_dots.setData(x, x))
    assert ours < 12 * bare + 0.005


def best_of(times: int, work: Callable[[], object]) -> float:
    """Seconds of the quickest of several runs."""
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return min(taken)
