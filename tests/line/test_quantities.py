"""What is declared of each quantity, where a slip would ask, offer or wait for the wrong thing.

Bounds: what no instrument shows is refused, what is not likely is asked about; common practice, no
published source.
"""

import pytest

from tests.shed import a_peracetic_setup, a_setup
from washmon.line.events import ReadingTaken
from washmon.line.quantities import METHODS, QUANTITIES

BY_FIELD = {quantity.field: quantity for quantity in QUANTITIES}


def those(flag: str) -> set[str]:
    return {field for field, quantity in BY_FIELD.items() if getattr(quantity, flag)}


def test_what_a_tank_is_kept_at_what_moves_and_what_is_seldom_asked() -> None:
    assert those("is_level") == {"fac_mg_l", "paa_mg_l"}
    moved = {"fac_mg_l", "total_mg_l", "paa_mg_l", "peroxide_mg_l", "ph", "orp_mv"}
    assert those("is_moved") == moved  # not cloudiness, nor warmth
    assert those("seldom") == {"total_mg_l", "orp_mv"}
    assert those("is_loose") == {"fac_mg_l", "ph", "turbidity_ntu", "water_c", "orp_mv"}


def test_each_way_of_measuring_that_a_reading_tells_is_asked_for() -> None:
    told = [name for name in ReadingTaken.__struct_fields__ if name.endswith("_method")]
    assert sorted(method.field for method in METHODS) == sorted(told)
    assert {quantity.method for quantity in QUANTITIES} <= {"", *told}


@pytest.mark.parametrize(
    ("field", "bounds"),
    [
        ("fac_mg_l", (0, 1000, 0, 300)),
        ("total_mg_l", (0, 1000, 0, 350)),
        ("paa_mg_l", (0, 2000, 0, 250)),
        ("peroxide_mg_l", (0, 5000, 0, 400)),
        ("ph", (0, 14, 5, 9.5)),
        ("turbidity_ntu", (0, 4000, 0, 1000)),
        ("water_c", (-2, 80, 0.5, 45)),
        ("pulp_c", (-5, 60, 0, 40)),
        ("orp_mv", (-500, 1500, 100, 950)),
    ],
)
def test_what_can_be_and_what_is_likely(field: str, bounds: tuple[float, ...]) -> None:
    assert BY_FIELD[field].bounds == bounds
    least, most, low, high = bounds
    assert least <= low < high <= most


def test_a_column_on_paper_is_as_wide_as_what_stands_in_it() -> None:
    widest = {field for field, quantity in BY_FIELD.items() if quantity.width > 3}
    assert widest == those("is_level")  # told with their method


def test_each_sanitizer_has_its_own_quantities_and_the_rest_fits_any_tank() -> None:
    chlorine, peracetic = a_setup().tanks[0], a_peracetic_setup().tanks[0]
    here = {one.field for one in QUANTITIES if one.fits(chlorine)}
    there = {one.field for one in QUANTITIES if one.fits(peracetic)}
    assert here - there == {"fac_mg_l", "total_mg_l"}
    assert there - here == {"paa_mg_l", "peroxide_mg_l"}
