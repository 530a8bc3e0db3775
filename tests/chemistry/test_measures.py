"""Amounts in the measures that people own."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from washmon.chemistry.checks import ChemistryError
from washmon.chemistry.hypochlorite import dose_ml
from washmon.chemistry.measures import (
    CAUTION_TEXT,
    MEASURES,
    METRIC_SET,
    US_SET,
    Caution,
    in_measure,
)
from washmon.units import registry


def text(amount: float, owned: tuple[str, ...], *, solid: bool = False) -> str:
    return in_measure(amount, owned, solid=solid).describe().replace("\N{NO-BREAK SPACE}", " ")


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
        (355, ("fluid_ounce_jug",), "12 fl oz"),
        (92.3, METRIC_SET, "92 mL"),
        (216, METRIC_SET, "220 mL"),
        (216, (*METRIC_SET, "cylinder_250_ml"), "216 mL"),
        (4.43, METRIC_SET, "4.4 mL"),
        (6200, ("bucket_10_l",), "6.0 L"),
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
    names |= {"mL": "milliliter", "L": "liter", "g": "gram"}
    for measure in MEASURES.values():
        base = "gram" if measure.solid else "milliliter"
        size = registry().Quantity(1, names[measure.unit]).to(base).magnitude
        assert measure.unit_size == pytest.approx(size, rel=1e-12)


@pytest.mark.parametrize(
    ("amount", "owned", "caution"),
    [
        (0.3, US_SET, Caution.TOO_SMALL),
        (9000, US_SET, Caution.TOO_LARGE),
        (22, ("tablespoon",), Caution.COARSE),
        (50, ("kitchen_scale",), Caution.NOT_OWNED),
        (50, ("a_thing_that_was_removed",), Caution.NOT_OWNED),
        (50, (), Caution.NOT_OWNED),
    ],
)
def test_an_amount_that_no_measure_suits_says_so(
    amount: float, owned: tuple[str, ...], caution: Caution
) -> None:
    measured = in_measure(amount, owned)
    assert measured.caution is caution
    assert CAUTION_TEXT[caution].endswith(".")
    assert measured.actual > 0


def test_acid_is_never_rounded_up() -> None:
    assert in_measure(11.47, ("teaspoon",), never_more=True).count == 2
    assert in_measure(4.92892159375, ("teaspoon",), never_more=True).count == 1
    assert in_measure(14.0, ("teaspoon",)).count == 3
    assert in_measure(14.0, ("teaspoon",), never_more=True).count == 2


def test_a_range_is_told_in_the_same_measure_and_rounded_outward() -> None:
    millilitres = in_measure(92.3, METRIC_SET)
    assert millilitres.span(80.4, 104.6) == "80–105\N{NO-BREAK SPACE}mL"
    spoons = in_measure(11.47, US_SET)
    assert spoons.span(10.2, 13.2) == "2–2¾\N{NO-BREAK SPACE}tsp"
    assert spoons.span(11.0901, 11.0901) == "2¼–2½\N{NO-BREAK SPACE}tsp"
    assert in_measure(237, US_SET).span(200, 240) == "¾–1¼\N{NO-BREAK SPACE}cups"


def test_decimals_follow_the_locale() -> None:
    assert in_measure(4.43, METRIC_SET).describe(",") == "4,4\N{NO-BREAK SPACE}mL"


@given(st.floats(0.01, 1e5), st.sets(st.sampled_from(sorted(MEASURES))), st.booleans())
def test_the_parts_agree_with_each_other(
    amount: float,
    owned: set[str],
    never_more: bool,  # noqa: FBT001 - hypothesis fills it in
) -> None:
    measured = in_measure(amount, owned, never_more=never_more)
    assert measured.actual == pytest.approx(measured.count * measured.unit_size)
    assert measured.error_fraction == pytest.approx(measured.actual / amount - 1)
    assert measured.number()
    if measured.caution in {None, Caution.COARSE, Caution.TOO_LARGE}:
        step = measured.step * measured.unit_size
        assert abs(measured.actual - amount) <= step * (1.000001 if never_more else 0.500001)
        assert not (never_more and measured.actual > amount * 1.001)
    if measured.caution is None:
        assert abs(measured.error_fraction) <= 0.10 + 1e-9


@given(st.floats(1, 3000))
def test_a_larger_set_never_makes_the_amount_worse(amount: float) -> None:
    some = in_measure(amount, METRIC_SET)
    more = in_measure(amount, [*METRIC_SET, "cylinder_250_ml", "bucket_10_l"])
    assert abs(more.error_fraction) <= max(abs(some.error_fraction), 0.05) + 1e-9


@pytest.mark.parametrize("amount", [0.0, -1.0, math.nan, math.inf])
def test_no_amount_is_refused(amount: float) -> None:
    with pytest.raises(ChemistryError, match="no amount to measure"):
        in_measure(amount, US_SET)
