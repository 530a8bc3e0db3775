"""Amounts in the measures that people own."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from washmon.chemistry.checks import ChemistryError
from washmon.chemistry.diluting import with_dilution
from washmon.chemistry.hypochlorite import dose_ml
from washmon.chemistry.measures import (
    MEASURES,
    METRIC_SET,
    UNIT_ML,
    US_SET,
    measure,
    own_measure,
)
from washmon.chemistry.measuring import MOST_FILLINGS, NEAR, MeasuringCaution, in_measure
from washmon.units import registry

TSP = 4.92892159375


def text(amount: float, owned: tuple[str, ...], *, solid: bool = False) -> str:
    found = in_measure(amount, owned, solid=solid)
    return found.describe().replace("\N{NO-BREAK SPACE}", " ")


@pytest.mark.parametrize(
    ("amount", "owned", "expected"),
    [
        (11.47, US_SET, "2¼ tsp"),
        (2.46, US_SET, "½ tsp"),
        (14.8, US_SET, "1 tbsp"),
        (30, US_SET, "2 tbsp"),
        (118, US_SET, "½ cup"),
        (355, US_SET, "1½ cups"),
        (237, US_SET, "1 cup"),
        (251, US_SET, "1 cup + 1 tbsp"),  # not 17 tbsp
        (90, US_SET, "¼ cup + 2 tbsp"),
        (355, ("fluid_ounce_jug",), "12 fl oz"),
        (1420, ("quart_jug",), "1½ qt"),
        (9500, ("gallon_jug", "cup"), "2½ gal"),
        (92.3, METRIC_SET, "92 mL"),
        (216, METRIC_SET, "220 mL"),
        (216, (*METRIC_SET, "cylinder_250_ml"), "216 mL"),
        (4.43, METRIC_SET, "4.4 mL"),
        (0.42, ("syringe_1_ml",), "0.40 mL"),
        (2300, ("jug_5_l",), "2.3 L"),
        (6200, ("bucket_10_l",), "6.0 L"),
        (700, ("cup", "own:750:50:mL"), "700 mL"),
    ],
)
def test_an_amount_is_told_in_what_is_owned(
    amount: float, owned: tuple[str, ...], expected: str
) -> None:
    assert text(amount, owned) == expected


def test_a_solid_is_weighed() -> None:
    assert text(58.2, US_SET, solid=True) == "58 g"
    assert text(3.14, ("spoon_scale",), solid=True) == "3.1 g"


def test_five_gallons_at_fifty_ppm_take_two_and_a_quarter_teaspoons() -> None:
    # Common practice, no published source: 8.25 % by the simple percent rule, about 2.3 teaspoons.
    measured = in_measure(dose_ml(5 * 3.785411784, 0.0, 50.0, 82.5), US_SET)
    assert measured.describe() == "2¼\N{NO-BREAK SPACE}tsp"
    assert measured.error_fraction == pytest.approx(-0.034, abs=0.002)
    assert measured.actual == pytest.approx(11.09, abs=0.01)
    assert measured.caution is None


def test_the_sizes_are_those_of_the_registry() -> None:
    names = {"tsp": "teaspoon", "tbsp": "tablespoon", "cup": "cup", "fl oz": "fluid_ounce"}
    names |= {"mL": "milliliter", "L": "liter", "g": "gram", "qt": "quart", "gal": "gallon"}
    for one in MEASURES.values():
        base = "gram" if one.solid else "milliliter"
        size = registry().Quantity(1, names[one.unit]).to(base).magnitude
        assert one.unit_size == pytest.approx(size, rel=1e-12)
    assert set(UNIT_ML) <= set(names)


@pytest.mark.parametrize(
    ("amount", "owned", "caution"),
    [
        (0.3, US_SET, MeasuringCaution.NOT_NEAR),
        (9000, US_SET, MeasuringCaution.TOO_LARGE),
        (22, ("tablespoon",), MeasuringCaution.NOT_NEAR),
        (50, ("kitchen_scale",), MeasuringCaution.NOT_OWNED),
        (50, ("a_thing_that_was_removed",), MeasuringCaution.NOT_OWNED),
        (50, (), MeasuringCaution.NOT_OWNED),
    ],
)
def test_an_amount_that_no_measure_suits_says_so(
    amount: float, owned: tuple[str, ...], caution: MeasuringCaution
) -> None:
    measured = in_measure(amount, owned)
    assert measured.caution is caution
    assert abs(measured.error_fraction) <= NEAR


@pytest.mark.parametrize(
    ("amount", "owned", "solid"),
    [
        (0.13, US_SET, False),
        (0.54, METRIC_SET, True),
        (0.13, METRIC_SET, False),
        (0.54, US_SET, True),
    ],
)
def test_what_is_too_small_to_measure_is_diluted_first(
    amount: float,
    owned: tuple[str, ...],
    solid: bool,  # noqa: FBT001 - a case
) -> None:
    """0.13 mL was "about ¼ tsp" (+830 %), 0.54 g was 1 g."""
    found = with_dilution(amount, owned, solid=solid)
    assert found.caution is MeasuringCaution.NOT_NEAR
    assert found.dilution is not None
    part, water, take = found.dilution.part, found.dilution.water, found.dilution.take
    assert part.caution is water.caution is take.caution is None
    total = water.actual if solid else water.actual + part.actual
    assert part.actual / total * take.actual == pytest.approx(found.actual)
    assert found.actual == pytest.approx(amount, rel=0.05)
    assert take.actual < total


def test_what_a_dilution_does_not_help_is_told_as_it_is() -> None:
    found = with_dilution(22, ("tablespoon",))
    assert found.dilution is None
    assert found.describe() == "22\N{NO-BREAK SPACE}mL"


@pytest.mark.parametrize("unit", ["mL", "fl oz", "qt"])
def test_a_vessel_of_the_sheds_own_is_a_measure_too(unit: str) -> None:
    marked, full = measure(own_measure(unit, 32, 4)), measure(own_measure(unit, 32))
    assert marked is not None
    assert full is not None
    assert (marked.step, marked.capacity, marked.is_scoop) == (4, 32, False)
    assert (full.step, full.is_scoop) == (32, True)
    assert marked.unit_size == UNIT_ML[unit]


@pytest.mark.parametrize(
    "name",
    [
        "own:",
        "own:750:50",
        "own:a:b:mL",
        "own:50:750:mL",
        "own:1:0:mL",
        "own:nan:1:mL",
        "own:9:1:bar",
    ],
)
def test_what_no_vessel_can_be_is_no_measure(name: str) -> None:
    assert measure(name) is None


def test_a_vessel_of_the_sheds_own_holds_a_thousand_at_most_and_is_marked_within() -> None:
    for capacity, step in ((1000.0, 50.0), (1.0, 1.0), (0.5, 0.01)):
        assert measure(f"own:{capacity}:{step}:mL") == ("mL", 1.0, step, capacity, False)
    for capacity, step in ((1000.1, 50.0), (1.0, 1.001), (1.0, 0.0), (1.0, -0.1), (0.0, 0.0)):
        assert measure(f"own:{capacity}:{step}:mL") is None


def test_what_must_not_be_passed_is_never_rounded_over() -> None:
    assert in_measure(12.1, ("teaspoon",), at_most=12.1).actual <= 12.1
    assert in_measure(TSP, ("teaspoon",), at_most=TSP).describe() == "1\N{NO-BREAK SPACE}tsp"
    assert in_measure(14.0, ("teaspoon",)).describe() == "3\N{NO-BREAK SPACE}tsp"
    under = in_measure(14.0, ("teaspoon",), at_most=14.0)  # two are 30 % less: not near
    assert under.caution is MeasuringCaution.NOT_NEAR
    assert under.actual == 14.0
    # What is asked for is over what may be: it comes down to that.
    assert in_measure(500, METRIC_SET, at_most=94).describe() == "94\N{NO-BREAK SPACE}mL"


def test_a_spoon_that_holds_enough_is_better_than_a_dilution() -> None:
    # 1.7 mL: ¼ tsp is 28 % less, ½ tsp 45 % more.
    assert in_measure(1.7, US_SET, at_most=2.0).caution is MeasuringCaution.NOT_NEAR
    enough = in_measure(1.7, US_SET, at_most=2.0, at_least=1.0)
    assert enough.describe() == "¼\N{NO-BREAK SPACE}tsp"
    assert enough.caution is None
    more = in_measure(1.9, US_SET, at_most=2.6, at_least=1.5)
    assert more.describe() == "½\N{NO-BREAK SPACE}tsp"
    assert in_measure(1.7, US_SET, at_most=2.0, at_least=1.5).caution is MeasuringCaution.NOT_NEAR
    assert in_measure(1.9, US_SET, at_least=1.0).describe() == "¼\N{NO-BREAK SPACE}tsp"


def test_decimals_follow_the_locale() -> None:
    assert in_measure(4.43, METRIC_SET).describe(",") == "4,4\N{NO-BREAK SPACE}mL"


AMOUNTS = st.floats(0.01, 1e5)
OWNED = st.sets(st.sampled_from([*sorted(MEASURES), "own:750:50:mL", "own:3:3:fl oz"]))


@given(AMOUNTS, OWNED, st.one_of(st.none(), st.floats(0.2, 2.0)), st.booleans())
def test_it_is_near_or_says_so_and_never_over_what_is_allowed(
    amount: float,
    owned: set[str],
    share: float | None,
    solid: bool,  # noqa: FBT001 - hypothesis fills it in
) -> None:
    most = None if share is None else share * amount
    found = with_dilution(amount, sorted(owned), solid=solid, at_most=most)
    asked = amount if most is None else min(amount, most)
    assert found.asked == asked
    assert found.actual > 0
    assert most is None or found.actual <= most * (1 + 1e-6)
    assert abs(found.error_fraction) <= NEAR + 1e-6
    assert found.number()
    if found.caution is None:
        assert found.fillings <= MOST_FILLINGS
        assert found.dilution is None


@given(AMOUNTS, OWNED, st.booleans())
def test_what_was_measured_is_measured_the_same_again(
    amount: float,
    owned: set[str],
    solid: bool,  # noqa: FBT001 - hypothesis fills it in
) -> None:
    once = in_measure(amount, sorted(owned), solid=solid)
    again = in_measure(once.actual, sorted(owned), solid=solid)
    assert again.actual == pytest.approx(once.actual, rel=1e-6)


@given(st.floats(1, 3000))
def test_a_larger_set_never_makes_the_amount_worse(amount: float) -> None:
    some = in_measure(amount, METRIC_SET)
    more = in_measure(amount, [*METRIC_SET, "cylinder_250_ml", "bucket_10_l"])
    assert more.awkwardness() <= some.awkwardness() + 1e-9


@pytest.mark.parametrize("amount", [0.0, -1.0, math.nan, math.inf])
def test_no_amount_is_refused(amount: float) -> None:
    with pytest.raises(ChemistryError, match="no amount to measure"):
        in_measure(amount, US_SET)
    with pytest.raises(ChemistryError, match="no amount to measure"):
        in_measure(1.0, US_SET, at_most=amount)


def test_odd_marks_are_told_in_decimals_not_left_out() -> None:
    found = in_measure(500.0, (own_measure("fl oz", 33.8, 1.69),))
    assert found.describe() == "16.90\N{NO-BREAK SPACE}fl oz"
    assert found.actual == pytest.approx(500.0, rel=0.01)


def test_a_count_stands_alone_where_one_unit_does_and_with_its_units_where_it_takes_two() -> None:
    one, two = in_measure(11.1, ("teaspoon", "quarter_teaspoon")), 236.588 + 2 * 14.787
    assert (one.number(), one.unit) == ("2¼", "tsp")
    both = in_measure(two, ("cup", "tablespoon"))
    assert (both.number(), both.unit) == (both.describe(), "")
    assert "cup + 2" in both.number()


def test_what_a_dilution_comes_to_is_told_to_two_figures() -> None:
    found = with_dilution(0.5, ("cylinder_10_ml", "cylinder_100_ml", "jug_1000_ml"))
    assert found.dilution is not None
    assert found.parts[0].step == pytest.approx(0.01)
