"""A chart of values in order of time: what breaks a rule is told by shape and words."""

import xml.etree.ElementTree as ET
from dataclasses import replace
from itertools import pairwise

import pytest
from PySide6.QtCore import QLocale, QPointF, QRectF
from PySide6.QtGui import QColor, QImage
from pytestqt.qtbot import QtBot

from tests.some import some
from washmon.gui.kit import theme
from washmon.gui.kit.control_chart import ControlChart
from washmon.gui.kit.control_plot import bar_fills, place_of
from washmon.gui.kit.control_view import (
    Bar,
    BarPanel,
    ControlLevel,
    ControlPanel,
    ControlPoint,
    ControlView,
)
from washmon.gui.kit.plot_frame import axis_numbers, x_of, y_of

POINTS = tuple(
    ControlPoint(y, f"2026-05-{at:02}", f"value {y}", ("8",) if y == 9 else ())
    for at, y in enumerate((5.0, 6.0, 5.5, 9.0, 5.0), 1)
)
PANEL = ControlPanel("Lows, ppm", POINTS, (ControlLevel(6.1, "mean 6.1", dashed=True),))
VIEW = ControlView((PANEL, PANEL), caption="Leaf line <1> & more")


def a_chart(qtbot: QtBot, view: ControlView = VIEW) -> ControlChart:
    chart = ControlChart()
    qtbot.addWidget(chart)
    chart.resize(900, 420)
    chart.show_view(view)
    chart.show()
    return chart


def test_the_axis_holds_every_point_and_level() -> None:
    low, high = PANEL.span()
    assert all(point.y is not None and low < point.y < high for point in some(POINTS))
    assert ControlPanel("", ()).span()[0] < ControlPanel("", ()).span()[1]
    assert ControlPanel("", POINTS, y_from=0, y_to=100).span() == (0, 100)


@pytest.mark.parametrize("high", [0.3, 2.1, 3.0, 24.0, 70.0, 1100.0])
def test_the_lowest_axis_names_more_than_nothing_and_each_number_as_it_is(high: float) -> None:
    numbers = list(axis_numbers(0.0, high, 20.0))
    assert len(numbers) > 1
    assert [float(words) for _, words in numbers] == pytest.approx([at for at, _ in numbers])


def test_the_axis_is_written_with_the_decimal_sign_of_the_place() -> None:
    before = QLocale()
    QLocale.setDefault(QLocale(QLocale.Language.German, QLocale.Country.Germany))
    try:
        numbers = [words for _, words in axis_numbers(-0.6, 0.6, 90.0)]
    finally:
        QLocale.setDefault(before)
    assert numbers == ["\N{MINUS SIGN}0,5", "0,0", "0,5"]


def spot(box: QRectF, at: int) -> QPointF:
    place = place_of(PANEL, box, at)
    assert place is not None
    return place


def test_a_week_in_which_nothing_was_measured_keeps_its_place_on_the_axis(qtbot: QtBot) -> None:
    gap = replace(POINTS[2], y=None)
    panel = replace(PANEL, points=(*POINTS[:2], gap, *POINTS[3:]))
    box = QRectF(0, 0, 500, 100)
    assert place_of(panel, box, 2) is None
    assert place_of(panel, box, 3) == place_of(PANEL, box, 3)
    assert panel.days == PANEL.days
    chart = ControlChart()
    qtbot.addWidget(chart)
    chart.resize(500, 300)
    chart.show_view(ControlView((panel,)))
    boxed = chart._boxes(QRectF(chart.rect()))[0]
    assert chart.point_at(spot(boxed, 2)) is None
    assert not chart.grab().isNull()


def test_points_stand_in_order_and_higher_values_higher() -> None:
    box = QRectF(0, 0, 500, 100)
    places = [spot(box, at) for at in range(5)]
    assert [place.x() for place in places] == sorted(place.x() for place in places)
    assert min(places, key=QPointF.y) == places[3]
    assert all(box.contains(place) for place in some(places))


def test_pointing_near_a_value_finds_it(qtbot: QtBot) -> None:
    chart = a_chart(qtbot)
    box = chart._boxes(QRectF(chart.rect()))[0]
    found = chart.point_at(spot(box, 3) + QPointF(5, 5))
    assert found is POINTS[3]
    assert chart.point_at(QPointF(2, 2)) is None


def test_a_broken_rule_is_drawn_as_a_diamond_in_the_colour_of_act(qtbot: QtBot) -> None:
    chart = a_chart(qtbot)
    picture = chart.grab().toImage()
    middle = spot(chart._boxes(QRectF(chart.rect()))[0], 3).toPoint()
    act = QColor(theme.current().act)
    assert picture.pixelColor(middle) == act
    assert picture.pixelColor(middle.x() + 4, middle.y()) == act  # wider than a dot at its middle
    assert picture.pixelColor(middle.x() + 5, middle.y() + 5) != act  # and pointed


def test_the_picture_is_saved_twice_as_sharp(qtbot: QtBot) -> None:
    image = QImage.fromData(a_chart(qtbot).png())
    assert (image.width(), image.height()) == (1800, 840)


def test_the_vectors_are_whole_xml_with_the_words_in_them(qtbot: QtBot) -> None:
    root = ET.fromstring(a_chart(qtbot).svg())  # noqa: S314 - our own file
    words = " ".join(root.itertext())
    for part in ("Lows, ppm", "mean 6.1", "Leaf line <1> & more"):
        assert part in words
    assert some(root.iter("{http://www.w3.org/2000/svg}polyline"))
    assert b"<image" not in a_chart(qtbot).svg()


def test_where_there_is_nothing_it_says_so(qtbot: QtBot) -> None:
    chart = a_chart(qtbot, ControlView(nothing="No shift yet."))
    assert chart.accessibleName() == "No shift yet."
    assert chart.point_at(QPointF(chart.rect().center())) is None
    assert b"No shift yet." in chart.svg()


BARS = BarPanel(
    "Cost, EUR",
    ("hypochlorite", "Water"),
    (
        Bar((3.0, 1.0), "2026-05-04", "4.00 EUR"),
        Bar((0.0, 2.0), "2026-05-11", "at least 2.00 EUR", "?"),
    ),
)


def test_bars_stand_on_nothing_and_have_room_above() -> None:
    low, high = BARS.span()
    assert low == 0
    assert high > 4
    assert BarPanel("", (), ()).span() == (0, 1)
    assert BarPanel("", ("a",), (Bar((0.0,), "2026-05-04"),)).span() == (0, 1)


def test_pointing_over_a_bar_tells_about_it(qtbot: QtBot) -> None:
    chart = a_chart(qtbot, ControlView((BARS,)))
    (box,) = chart._boxes(QRectF(chart.rect()))
    assert chart.point_at(box.center() - QPointF(40, 0)) is BARS.bars[0]
    assert chart.point_at(box.center() + QPointF(40, 0)) is BARS.bars[1]
    assert chart.point_at(QPointF(2, 2)) is None


def test_parts_are_stacked_as_high_as_they_are_and_named_in_that_order(qtbot: QtBot) -> None:
    chart = a_chart(qtbot, ControlView((BARS,)))
    (box,) = chart._boxes(QRectF(chart.rect()))
    picture = chart.grab().toImage()
    shades = theme.current()
    middle = int(x_of(BARS, box, 0))
    lower, upper = int(y_of(BARS, box, 1.5)), int(y_of(BARS, box, 3.5))
    assert picture.pixelColor(middle, lower) == QColor(shades.hand)
    assert picture.pixelColor(middle, upper) == QColor(shades.band)
    words = list(ET.fromstring(chart.svg()).itertext())  # noqa: S314 - our own file
    said = [word.strip() for word in words if word.strip()]
    assert said.index("Water") < said.index("hypochlorite")
    assert "?" in said


def test_neighbours_in_a_stack_differ_in_lightness_and_not_in_colour_alone() -> None:
    for one in theme.THEMES.values():
        shades = [QColor(colour).lightnessF() for colour in bar_fills(one)]
        assert all(abs(above - below) > 0.12 for below, above in some(pairwise(shades))), one.name
