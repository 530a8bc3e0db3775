"""The scale's words keep apart and its picture shows what it was given."""

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st
from pytestqt.qtbot import QtBot

from washmon.gui.kit import theme
from washmon.gui.kit.level_scale import Label, LevelScale, ScaleView, place

VIEW = ScaleView(low=35, high=75, target=50, critical=25, reading=31, likely=(25, 37))
labels = st.lists(
    st.builds(
        Label,
        centre=st.floats(0, 300),
        width=st.floats(10, 90),
        rank=st.integers(0, 9),
    ),
    max_size=6,
)


@given(labels)
def test_words_never_overlap_nor_leave_the_scale_nor_their_tick(wanted: list[Label]) -> None:
    found = place(wanted, 0, 300, 8)
    spans = sorted((left, left + wanted[at].width) for at, left in found.items())
    for (_, end), (start, _) in pairwise(spans):
        assert start - end >= 8 - 1e-6
    for at, left in found.items():
        assert -1e-6 <= left <= 300 - wanted[at].width + 1e-6
        assert left - 1e-6 <= wanted[at].centre <= left + wanted[at].width + 1e-6


def test_where_two_collide_the_less_important_goes() -> None:
    assert set(place([Label(50, 60, 1), Label(52, 60, 0)], 0, 60, 8)) == {1}


def test_words_that_have_room_stand_under_their_tick() -> None:
    assert place([Label(100, 40, 0), Label(200, 40, 1)], 0, 300, 8) == {0: 80, 1: 180}


def test_a_wide_scale_names_all_levels_and_a_narrow_one_the_critical_first(qtbot: QtBot) -> None:
    scale = LevelScale()
    qtbot.addWidget(scale)
    scale.show_view(VIEW)
    scale.resize(300, 40)
    assert scale.shown_words() == ["25 critical", "35 low", "50 target", "75 high"]
    scale.resize(200, 40)
    assert scale.shown_words() == ["25 critical", "50 target", "75 high"]
    scale.resize(90, 40)
    assert scale.shown_words() == ["25 critical"]


def test_the_needle_stands_at_the_reading_and_none_without_one(qtbot: QtBot) -> None:
    scale = LevelScale()
    qtbot.addWidget(scale)
    scale.resize(300, 40)
    ink = theme.BRIGHT.ink.lower()

    def dark_columns() -> list[int]:
        picture = scale.grab().toImage()
        return [x for x in range(picture.width()) if picture.pixelColor(x, 5).name() == ink]

    scale.show_view(VIEW)
    columns = dark_columns()
    assert abs(sum(columns) / len(columns) - 31 / VIEW.end * 298 - 1) < 1.5
    scale.show_view(ScaleView(low=35, high=75, target=50))
    assert dark_columns() == []


def test_a_reading_beyond_all_limits_still_lies_on_the_scale() -> None:
    assert ScaleView(low=35, high=75, target=50, reading=400).end > 400


def test_levels_are_read_out(qtbot: QtBot) -> None:
    scale = LevelScale()
    qtbot.addWidget(scale)
    scale.show_view(ScaleView(low=6.5, high=7.5, target=7))
    assert scale.accessibleName() == "7 target, 7.5 high, 6.5 low"
