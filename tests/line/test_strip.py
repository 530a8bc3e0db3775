import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from tests.shed import START, a_setup, a_tank
from washmon.line.events import Method, ReadingTaken
from washmon.line.reading import (
    PADS_MG_L,
    SCALES_MG_L,
    level_range,
    peracetic_range,
    range_of,
    strip_range,
    usable_pads,
)
from washmon.line.validate_watching import pads_rise_from_nothing


def test_a_pad_stands_for_the_range_between_the_half_ways_to_its_neighbours() -> None:
    assert strip_range(50.0) == (37.5, 75.0)
    assert strip_range(40.0, (0.0, 20.0, 40.0, 60.0)) == (30.0, 50.0)


def test_a_value_between_two_pads_was_guessed_to_half_the_distance() -> None:
    assert strip_range(44.0) == (37.75, 50.0)


def test_a_reading_by_strip_goes_by_the_pack_in_use_else_by_a_usual_one() -> None:
    read = ReadingTaken(at=START, by="RM", tank=1, fac_mg_l=40.0, fac_method=Method.STRIP)
    setup, spec = a_setup(), a_tank(1, "Only")
    pack = replace(setup, strip_pads_mg_l=(0.0, 20.0, 40.0, 60.0))
    assert range_of(pack, spec, read) == (30.0, 50.0)
    assert range_of(setup, spec, read) == (33.75, 46.25)  # guessed between 25 and 50
    by_kit = replace(read, fac_method=Method.KIT)
    assert range_of(pack, spec, by_kit) == range_of(setup, spec, by_kit) == (36.0, 44.0)


def test_over_the_last_pad_the_top_is_open() -> None:
    assert strip_range(300.0, (0.0, 50.0, 200.0)) == (200.0, 400.0)
    assert strip_range(200.0, (0.0, 50.0, 200.0)) == (125.0, 300.0)
    assert strip_range(0.0, (0.0, 50.0, 200.0)) == (0.0, 25.0)


@pytest.mark.parametrize(
    ("method", "chlorine", "peracetic"),
    # A kit is 10 % off, a meter 5 %; a strip for peracetic acid 25 %: common practice.
    [(Method.KIT, 5.0, 5.0), (Method.METER, 2.5, 2.5), (Method.STRIP, None, 12.5)],
)
def test_a_reading_may_mean_so_much_more_or_less(
    method: Method, chlorine: float | None, peracetic: float
) -> None:
    expected = (37.5, 75.0) if chlorine is None else (50.0 - chlorine, 50.0 + chlorine)
    assert level_range(50.0, method) == expected
    assert peracetic_range(50.0, method) == (50.0 - peracetic, 50.0 + peracetic)


@given(st.lists(st.floats(allow_nan=True, allow_infinity=True), max_size=6))
def test_pads_are_always_usable(pads: list[float]) -> None:
    usable = usable_pads(tuple(pads))
    assert usable[0] == 0
    assert len(usable) > 1
    assert all(low < high < math.inf for low, high in pairwise(usable))


@pytest.mark.parametrize("pads", [(), *SCALES_MG_L])
def test_usual_scales_are_possible(pads: tuple[float, ...]) -> None:
    assert list(pads_rise_from_nothing(replace(a_setup(), strip_pads_mg_l=pads))) == []
    assert usable_pads(pads) == (pads or PADS_MG_L)


@pytest.mark.parametrize("pads", [(0.0,), (10.0, 50.0), (0.0, 50.0, 25.0), (0.0, math.inf)])
def test_pads_that_no_pack_has_are_a_fault(pads: tuple[float, ...]) -> None:
    found = list(pads_rise_from_nothing(replace(a_setup(), strip_pads_mg_l=pads)))
    assert [one.path for one in found] == ["strip_pads_mg_l"]
