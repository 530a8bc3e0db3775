"""No easier way to measure is passed over, and a dilution keeps to what is told of it.

Held against all ways there are, counted out one by one; what makes a way awkward is common
practice, no published source.
"""

import math
from collections.abc import Iterator, Sequence
from itertools import product

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tests.some import some
from washmon.chemistry.diluting import _counts, _stocks, _ways, with_dilution
from washmon.chemistry.measures import MEASURES, METRIC_SET, US_SET, Measure, own_measure
from washmon.chemistry.measuring import MeasuredAmount, MeasuringCaution, bare, in_measure

SPOONS = [key for key, one in MEASURES.items() if one.is_scoop]
SCALES = [key for key, one in MEASURES.items() if not one.is_scoop and not one.solid]


def of(key: str) -> Measure:
    return MEASURES[key]


def sizes(keys: Sequence[str], unit: str) -> list[float]:
    """The spoons of one unit, the largest first, in that unit."""
    return sorted((of(key).capacity for key in keys if of(key).unit == unit), reverse=True)


def fillings(count: float, spoons: Sequence[float]) -> int:
    """How often spoons are filled for a count, the largest as often as it goes."""
    found, left = 0, count
    for one in spoons:
        times = math.floor(left / one + 1e-6)
        found, left = found + times, left - times * one
    return found


def spooned(amount: float, keys: Sequence[str], unit: str) -> Iterator[tuple[float, int]]:
    """Counts of the smallest spoon of a unit about an amount: what they hold, and fillings."""
    spoons = sizes(keys, unit)
    size = of(next(key for key in keys if of(key).unit == unit)).unit_size
    for steps in range(1, math.ceil(amount / (spoons[-1] * size)) + 2):
        yield steps * spoons[-1] * size, fillings(steps * spoons[-1], spoons)


def awkward(amount: float, held: float, times: int, kinds: int = 1) -> float:
    """5 % off is four fillings, or two spoons."""
    return abs(held / amount - 1) / 0.05 + 0.25 * (times - 1) + 0.5 * (kinds - 1)


def all_ways(amount: float, keys: Sequence[str]) -> Iterator[tuple[float, float]]:
    """What each way of twenty fillings at most holds, mL, and how awkward it is."""
    units = {of(key).unit: of(key).unit_size for key in keys if of(key).is_scoop}
    for unit in units:
        for held, times in spooned(amount, keys, unit):
            if times <= 20:
                yield held, awkward(amount, held, times)
    for large, small in product(units, units):
        if units[large] > units[small]:
            yield from of_two(amount, keys, (large, units[large]), small)
    for key in keys:
        if not of(key).is_scoop:
            yield from read(amount, of(key))


def of_two(
    amount: float, keys: Sequence[str], large: tuple[str, float], small: str
) -> Iterator[tuple[float, float]]:
    """As much as goes of one kind of spoon, then three fillings of a smaller one at most."""
    unit, size = large
    step = sizes(keys, unit)[-1] * size
    first = math.floor(amount / step + 1e-6) * step
    if first <= 0 or amount - first <= 0:
        return
    times = fillings(first / size, sizes(keys, unit))
    for held, more in spooned(amount - first, keys, small):
        if more <= 3 and times + more <= 20:
            yield first + held, awkward(amount, first + held, times + more, 2)


def read(amount: float, one: Measure) -> Iterator[tuple[float, float]]:
    """The marks next to an amount."""
    exact = amount / (one.step * one.unit_size)
    for steps in {math.floor(exact + 1e-6), math.ceil(exact - 1e-6)} - {0}:
        times = math.ceil(steps * one.step / one.capacity - 1e-9)
        if times <= 20:
            held = steps * one.step * one.unit_size
            yield held, awkward(amount, held, times)


@given(
    st.floats(0.3, 3000.0),
    st.sets(st.sampled_from([*SPOONS, *SCALES]), min_size=1),
    st.one_of(st.none(), st.floats(1.0, 1.2)),
)
def test_the_handiest_way_is_the_least_awkward_of_all_that_are_near(
    amount: float, owned: set[str], share: float | None
) -> None:
    keys = sorted(owned)
    most = None if share is None else amount * share
    near = [
        cost
        for held, cost in all_ways(amount, keys)
        if abs(held / amount - 1) <= 0.1 and (most is None or held <= most * (1 + 1e-9))
    ]
    found = in_measure(amount, keys, at_most=most)
    if found.caution is None:
        assert found.awkwardness() == pytest.approx(min(near), abs=1e-6)
    else:
        assert near == []


@pytest.mark.parametrize(
    ("amount", "owned", "count", "times"),
    [
        (2.25 * 4.92892159375, US_SET, "2¼ tsp", 3),
        (3.75 * 4.92892159375, ["quarter_teaspoon", "half_teaspoon", "teaspoon"], "3¾ tsp", 5),
        (250.0, ["jug_1000_ml"], "250 mL", 1),
        (2500.0, ["jug_1000_ml"], "2500 mL", 3),
        (1000.0, ["jug_1000_ml"], "1000 mL", 1),
    ],
)
def test_fillings_are_counted_as_a_person_fills(
    amount: float, owned: Sequence[str], count: str, times: int
) -> None:
    found = in_measure(amount, owned)
    assert found.describe().replace("\N{NO-BREAK SPACE}", " ") == count
    assert found.fillings == times


@pytest.mark.parametrize(("fills", "is_few"), [(20, True), (21, False)])
def test_twenty_fillings_are_asked_of_a_person_and_not_more(fills: int, *, is_few: bool) -> None:
    found = in_measure(fills * 236.5882365, ["cup"])
    assert found.fillings == fills
    assert (found.caution is None) is is_few


def test_where_all_is_too_large_the_fewest_fillings_are_told() -> None:
    found = in_measure(236.5882365 * 30, ["teaspoon", "cup"])
    assert found.caution is MeasuringCaution.TOO_LARGE
    assert found.describe() == "30\N{NO-BREAK SPACE}cups"


@pytest.mark.parametrize(
    ("eighths", "told"),
    [(1, "⅛"), (2, "¼"), (3, "⅜"), (4, "½"), (5, "⅝"), (6, "¾"), (7, "⅞"), (8, "1"), (9, "1⅛")],
)
def test_eighths_are_told_as_fractions(eighths: int, told: str) -> None:
    jug = own_measure("cup", 4.0, 0.125)
    assert in_measure(eighths / 8 * 236.5882365, [jug]).number() == told


@given(st.floats(0.0123, 9.87e6))
def test_bare_amounts_are_told_to_two_figures(amount: float) -> None:
    found = bare(amount)
    assert found.actual == pytest.approx(float(f"{amount:.1e}"), rel=0.0501)
    assert abs(found.actual - amount) <= 0.5 * found.parts[0].step * (1 + 1e-6)
    assert 9.99 < found.actual / found.parts[0].step < 100.01
    assert (found.fillings, found.unit) == (1, "mL")
    under = bare(amount, amount).actual
    assert amount - found.parts[0].step * (1 + 1e-6) <= under <= amount * (1 + 1e-9)
    assert bare(amount, solid=True).unit == "g"


KITS = [
    US_SET,
    METRIC_SET,
    ("teaspoon", "cup"),
    ("cylinder_10_ml", "jug_1000_ml", "spoon_scale"),
    ("syringe_1_ml", "bucket_10_l"),
    ("quarter_teaspoon", "gallon_jug", "spoon_scale"),
    (own_measure("mL", 30.0), own_measure("L", 20.0, 1.0)),
]


def steps_of(one: MeasuredAmount) -> float:
    return one.parts[-1].count / one.parts[-1].step


@given(
    st.sampled_from(KITS),
    st.floats(-2.5, 1.0).map(lambda power: 10.0**power),
    st.one_of(st.none(), st.floats(1.0, 1.3)),
    st.booleans(),
)
def test_a_dilution_keeps_to_what_is_told_of_it(
    owned: Sequence[str],
    amount: float,
    share: float | None,
    solid: bool,  # noqa: FBT001 - hypothesis fills it in
) -> None:
    most = None if share is None else amount * share
    found = with_dilution(amount, owned, solid=solid, at_most=most)
    assume(found.dilution is not None)
    assert found.dilution is not None
    part, water, take = found.dilution.part, found.dilution.water, found.dilution.take
    total = water.actual if solid else water.actual + part.actual
    strength = part.actual / total
    assert found.actual == pytest.approx(take.actual * strength)
    assert found.actual == pytest.approx(amount, rel=0.0501)
    assert most is None or found.actual <= most * (1 + 1e-6)
    assert strength <= (0.05 if solid else 0.25) * (1 + 1e-9)
    assert water.actual <= 10_000
    assert take.actual <= 0.8 * 1.0501 * total
    assert 0.8 * part.actual <= 200 * amount
    assert take.parts[-1].unit not in {"mL", "L"} or steps_of(take) >= 5 - 1e-6
    assert (part.unit == "g") is (solid)
    assert "g" not in {one.unit for one in (*water.parts, *take.parts)}
    assert part.awkwardness() == 0.25 * (part.fillings - 1)  # it is measured exactly


def test_the_least_water_and_the_fewest_fillings_are_chosen() -> None:
    """With a teaspoon and a cup all ways are counted: so many of the one, so many of the other."""
    amount, tsp, cup = 0.3, 4.92892159375, 236.5882365
    costs = []
    for count, waters in product(range(1, 5), range(1, 5)):
        for part, water in product((count * tsp, count * cup), (waters * tsp, waters * cup)):
            strength = part / (part + water)
            if not (strength <= 0.25 and amount <= 0.8 * part <= 200 * amount):
                continue
            take = in_measure(amount / strength, ("teaspoon", "cup"))
            if take.caution is None and abs(take.error_fraction) <= 0.05:
                fills = count + waters
                costs.append(take.awkwardness() + 0.25 * fills + math.log10(water))
    found = with_dilution(amount, ("teaspoon", "cup")).dilution
    assert found is not None
    fills = found.part.fillings + found.water.fillings
    cost = found.take.awkwardness() + 0.25 * fills + math.log10(found.water.actual)
    assert cost == pytest.approx(min(some(costs)))


@pytest.mark.parametrize("most", [0.5, 0.5 * (1 + 1e-12), 0.55])
def test_what_is_diluted_never_passes_its_most(most: float) -> None:
    found = with_dilution(0.5, METRIC_SET, at_most=most)
    assert found.dilution is not None
    assert 0.475 <= found.actual <= most * (1 + 1e-9)


@pytest.mark.parametrize(("thin", "is_found"), [(199.9, True), (200.1, False)])
def test_nothing_is_thinned_two_hundred_times_for_a_drop(thin: float, *, is_found: bool) -> None:
    part = 0.8 * 236.5882365  # a cup is the least there is, of which a fifth clings
    assert (list(_stocks(part / thin, ("cup",), solid=False)) != []) is is_found


@pytest.mark.parametrize(
    ("owned", "solid", "strongest"),
    [
        (("tablespoon", "half_cup"), False, 0.25),  # three to one half cup would be 0.273
        (("spoon_scale", "cup"), True, 0.05),  # 50 g to four cups would be 0.053
    ],
)
def test_no_stock_is_too_strong_to_be_mixed(
    owned: tuple[str, ...],
    solid: bool,  # noqa: FBT001 - a case
    strongest: float,
) -> None:
    strengths = [one for _, _, one in _stocks(0.5, owned, solid=solid)]
    assert strongest * 0.8 < max(strengths) <= strongest


@pytest.mark.parametrize(("key", "step"), [("cylinder_10_ml", 0.2), ("cylinder_100_ml", 1.0)])
def test_a_cylinder_is_not_read_under_five_of_its_steps(key: str, step: float) -> None:
    amounts = [0.04 * 1.03**power for power in range(130)]
    ways = [way for amount in amounts for way in _ways(amount, (key,), None, solid=False)]
    read = [round(way.take.parts[0].count / step) for way in ways]
    assert 5 <= min(read) < 8


@pytest.mark.parametrize("key", [key for key in MEASURES if key not in {"quart_jug", "gallon_jug"}])
def test_round_counts_are_filled_as_often_as_they_hold(key: str) -> None:
    one = of(key)
    for found in some(list(_counts([one]))):
        (part,) = found.parts
        assert part.fillings == max(1, math.ceil(round(part.count / one.capacity, 6)))
        assert (part.unit, part.step) == (one.unit, one.step)
        assert found.actual == found.asked == pytest.approx(part.count * one.unit_size)
