"""A chart of values in order of time: what breaks a rule is told by shape and words."""

import xml.etree.ElementTree as ET

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QColor, QImage
from pytestqt.qtbot import QtBot

from washmon.gui.kit import theme
from washmon.gui.kit.control_chart import ControlChart, place_of
from washmon.gui.kit.control_view import ControlLevel, ControlPanel, ControlPoint, ControlView

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
    assert all(low < point.y < high for point in POINTS)
    assert ControlPanel("", ()).span()[0] < ControlPanel("", ()).span()[1]
    assert ControlPanel("", POINTS, y_from=0, y_to=100).span() == (0, 100)


def test_points_stand_in_order_and_higher_values_higher() -> None:
    box = QRectF(0, 0, 500, 100)
    places = [place_of(PANEL, box, at) for at in range(5)]
    assert [place.x() for place in places] == sorted(place.x() for place in places)
    assert min(places, key=QPointF.y) == places[3]
    assert all(box.contains(place) for place in places)


def test_pointing_near_a_value_finds_it(qtbot: QtBot) -> None:
    chart = a_chart(qtbot)
    box = chart._boxes(QRectF(chart.rect()))[0]
    found = chart.point_at(place_of(PANEL, box, 3) + QPointF(5, 5))
    assert found is POINTS[3]
    assert chart.point_at(QPointF(2, 2)) is None


def test_a_broken_rule_is_drawn_as_a_diamond_in_the_colour_of_act(qtbot: QtBot) -> None:
    chart = a_chart(qtbot)
    picture = chart.grab().toImage()
    spot = place_of(PANEL, chart._boxes(QRectF(chart.rect()))[0], 3).toPoint()
    act = QColor(theme.current().act)
    assert picture.pixelColor(spot) == act
    assert picture.pixelColor(spot.x() + 4, spot.y()) == act  # wider than a dot at its middle
    assert picture.pixelColor(spot.x() + 5, spot.y() + 5) != act  # and pointed


def test_the_picture_is_saved_twice_as_sharp(qtbot: QtBot) -> None:
    image = QImage.fromData(a_chart(qtbot).png())
    assert (image.width(), image.height()) == (1800, 840)


def test_the_vectors_are_whole_xml_with_the_words_in_them(qtbot: QtBot) -> None:
    root = ET.fromstring(a_chart(qtbot).svg())  # noqa: S314 - our own file
    words = " ".join(root.itertext())
    for part in ("Lows, ppm", "mean 6.1", "Leaf line <1> & more"):
        assert part in words
    assert root.iter("{http://www.w3.org/2000/svg}polyline")
    assert b"<image" not in a_chart(qtbot).svg()


def test_where_there_is_nothing_it_says_so(qtbot: QtBot) -> None:
    chart = a_chart(qtbot, ControlView(nothing="No shift yet."))
    assert chart.accessibleName() == "No shift yet."
    assert b"No shift yet." in chart.svg()
