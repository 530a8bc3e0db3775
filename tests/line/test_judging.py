"""Good and bad water: which limits there are, and that what stands at one keeps it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from tests.shed import START, a_tank
from washmon.line import judging
from washmon.line.events import BatchWashed, ReadingTaken
from washmon.line.judging import LimitKind
from washmon.line.quantities import judge_reading
from washmon.line.setup import (
    ChlorineLimits,
    LabelBasis,
    Look,
    PeraceticLimits,
    Tank,
    TemperatureRule,
    TemperatureRuleKind,
)
from washmon.units import Kind, UnitSystem, show


def rinse() -> Tank:
    """A rinse whose limits lie within a few ppm of each other."""
    limits = ChlorineLimits(
        critical_low_mg_l=1.0, low_mg_l=1.5, target_mg_l=2.0, high_mg_l=4.0, label_max_mg_l=4.8
    )
    return a_tank(1, "Rinse", chlorine=limits)


def peracetic() -> Tank:
    """Peracetic acid whose label allows more than the law."""
    limits = PeraceticLimits(
        critical_low_mg_l=30, low_mg_l=40, target_mg_l=60, high_mg_l=75, label_max_mg_l=90
    )
    return a_tank(1, "Flume", peracetic=limits)


def which(breach: judging.Breach | None) -> LimitKind | None:
    return None if breach is None else breach.which


@pytest.mark.parametrize(
    ("level", "told"),
    [
        (24, LimitKind.CRITICAL_LOW),
        (24.4, LimitKind.CRITICAL_LOW),
        (24.6, LimitKind.LOW),  # it is read and written as 25
        (25, LimitKind.LOW),
        (34, LimitKind.LOW),
        (35, None),
        (75, None),
        (75.4, None),
        (76, LimitKind.HIGH),
        (100, LimitKind.HIGH),
        (100.4, LimitKind.HIGH),
        (101, LimitKind.LABEL),
    ],
)
def test_a_level_at_a_limit_keeps_it(level: float, told: LimitKind | None) -> None:
    assert which(judging.judge_level(level, a_tank(1, "First"))) is told


@pytest.mark.parametrize(
    ("level", "told"),
    [
        (0.94, LimitKind.CRITICAL_LOW),
        (0.96, LimitKind.LOW),
        (1.0, LimitKind.LOW),
        (1.44, LimitKind.LOW),
        (1.5, None),
        (4.8, LimitKind.HIGH),
        (4.84, LimitKind.HIGH),
        (4.9, LimitKind.LABEL),
    ],
)
def test_under_ten_a_level_counts_in_tenths(level: float, told: LimitKind | None) -> None:
    assert which(judging.judge_level(level, rinse())) is told


@pytest.mark.parametrize(("level", "told"), [(80, LimitKind.HIGH), (81, LimitKind.LEGAL)])
def test_of_label_and_law_the_stricter_counts(level: float, told: LimitKind) -> None:
    breach = judging.judge_level(level, peracetic())
    assert which(breach) is told
    assert judging.most_mg_l(peracetic()) == 80
    assert judging.may_wash(level, peracetic()) is (told is LimitKind.HIGH)


def test_a_stricter_label_counts_against_the_law() -> None:
    limits = PeraceticLimits(
        critical_low_mg_l=30, low_mg_l=40, target_mg_l=60, high_mg_l=65, label_max_mg_l=70
    )
    breach = judging.judge_level(75, a_tank(1, "Flume", peracetic=limits))
    assert breach is not None
    assert (breach.which, breach.limit, breach.critical) == (LimitKind.LABEL, 70, True)


@pytest.mark.parametrize(
    ("level", "critical", "low", "target", "high", "label"),
    [
        (25, False, True, True, False, False),
        (24, True, True, True, False, False),
        (35, False, False, True, False, False),
        (50, False, False, False, False, False),
        (76, False, False, False, True, False),
        (101, False, False, False, True, True),
    ],
)
def test_each_limit_can_be_asked_by_itself(
    *, level: float, critical: bool, low: bool, target: bool, high: bool, label: bool
) -> None:
    spec = a_tank(1, "First")
    asked = (
        judging.under_critical(level, spec),
        judging.under_low(level, spec),
        judging.under_target(level, spec),
        judging.over_high(level, spec),
        judging.over_label(level, spec),
    )
    assert asked == (critical, low, target, high, label)
    assert judging.in_range(level, spec) is not (low or high)
    assert judging.may_wash(level, spec) is not (critical or label)


def test_within_a_deadband_a_limit_is_not_kept_yet() -> None:
    spec = a_tank(1, "First")
    assert judging.under_critical(27, spec, back=2.5)
    assert not judging.under_critical(27.5, spec, back=2.5)  # written as 28
    assert judging.is_over(98, 100, Kind.CONCENTRATION, back=2.5)
    assert not judging.is_over(97, 100, Kind.CONCENTRATION, back=2.5)
    assert judging.is_under(6.55, 6.5, Kind.PH, back=0.1)
    assert not judging.is_under(6.6, 6.5, Kind.PH, back=0.1)


@pytest.mark.parametrize(
    ("ph", "told"),
    [
        (6.49, LimitKind.PH_LOW),
        (6.5, None),
        (7.5, None),
        (7.504, None),
        (7.51, LimitKind.PH_HIGH),
        (8.5, LimitKind.PH_HIGH),
        (8.51, LimitKind.PH_CRITICAL),
    ],
)
def test_a_ph_at_a_limit_keeps_it(ph: float, told: LimitKind | None) -> None:
    breach = judging.judge_ph(ph, a_tank(1, "First", critical_ph=8.5))
    assert which(breach) is told
    assert breach is None or breach.critical is (told is LimitKind.PH_CRITICAL)


def test_ph_means_nothing_where_peracetic_acid_is_kept() -> None:
    spec = peracetic()
    assert [judging.judge_ph(ph, spec) for ph in (3.0, 9.5)] == [None, None]
    assert not judging.over_critical_ph(9.5, replace(spec, critical_ph=8.0))


def test_total_chlorine_counts_only_where_the_label_speaks_of_it() -> None:
    free = a_tank(1, "First")
    total = a_tank(1, "First", chlorine=replace(free.chlorine, label_basis=LabelBasis.TOTAL))
    assert judging.judge_total(150, free) is None
    assert judging.judge_total(100.4, total) is None
    assert which(judging.judge_total(101, total)) is LimitKind.TOTAL


@pytest.mark.parametrize(("value", "is_kept"), [(4.8, True), (4.84, True), (4.9, False)])
def test_what_comes_with_peracetic_acid_is_held_against_the_law(
    *, value: float, is_kept: bool
) -> None:
    spec = peracetic()
    assert spec.peracetic is not None
    strict = replace(spec.peracetic, legal_hedp_mg_l=4.8, legal_peroxide_mg_l=4.8)
    spec = a_tank(1, "Flume", peracetic=strict)
    assert (judging.judge_hedp(value, spec) is None) is is_kept
    assert (judging.judge_peroxide(value, spec) is None) is is_kept
    assert judging.judge_hedp(1e6, a_tank(1, "First")) is None
    assert judging.judge_peroxide(1e6, a_tank(1, "First")) is None


@pytest.mark.parametrize("taste", list(UnitSystem))
@pytest.mark.parametrize("by_c", [5.56, 50 / 9])
@pytest.mark.parametrize("kind", list(TemperatureRuleKind))
def test_ten_degrees_fahrenheit_are_ten_degrees(
    kind: TemperatureRuleKind, by_c: float, taste: UnitSystem
) -> None:
    """With the template's 5.56 °C and with exact 50/9 °C, at each whole degree of the scale."""
    spec = a_tank(1, "Dump", temperature_rule=TemperatureRule(kind=kind, by_c=by_c))
    sign = 1 if kind is TemperatureRuleKind.WARMER else -1
    for pulp_f in range(35, 101):
        water_f = pulp_f + 10 * sign
        pulp, water = ((each_f - 32) * 5 / 9 for each_f in (pulp_f, water_f))
        assert judging.judge_temperature(water, pulp, spec) is None
        colder = judging.judge_temperature(water - 0.1 * 5 / 9, pulp, spec)
        assert colder is not None
        assert show(colder.limit, Kind.TEMPERATURE, taste) == show(water, Kind.TEMPERATURE, taste)


def test_without_a_rule_no_water_is_too_cold() -> None:
    assert judging.judge_temperature(0.0, 30.0, a_tank(1, "First")) is None
    assert judging.least_water_c(30.0, a_tank(1, "First")) is None


def test_cold_water_is_critical_only_where_the_set_up_says_so() -> None:
    wanted = TemperatureRule(kind=TemperatureRuleKind.WARMER, by_c=5.0)
    for critical in (False, True):
        spec = a_tank(1, "Dump", temperature_rule=wanted, critical_temperature=critical)
        breach = judging.judge_temperature(24.8, 20.0, spec)
        assert breach is not None
        assert breach.critical is critical
        assert judging.judge_temperature(25.0, 20.0, spec) is None
        assert judging.judge_temperature(25.2, 20.0, spec, back=0.5) is not None


@pytest.mark.parametrize(
    ("stayed", "told"),
    [
        (44, LimitKind.CRITICAL_CONTACT),
        (45, LimitKind.CONTACT),
        (59.4, LimitKind.CONTACT),
        (59.6, None),
        (60, None),
    ],
)
def test_a_batch_that_stayed_just_long_enough_is_good(
    stayed: float, told: LimitKind | None
) -> None:
    spec = a_tank(1, "First", contact_s=60.0, critical_contact_s=45.0)
    batch = BatchWashed(at=START, by="RM", tanks=(1,), lot="L1", contact_s=stayed)
    breach = judging.judge_batch(batch, spec)
    assert which(breach) is told
    assert breach is None or breach.critical is (told is LimitKind.CRITICAL_CONTACT)
    assert judging.under_critical_contact(stayed, spec) is (told is LimitKind.CRITICAL_CONTACT)


def test_a_batch_that_nobody_timed_is_not_judged() -> None:
    spec = a_tank(1, "First", critical_contact_s=45.0)
    batch = BatchWashed(at=START, by="RM", tanks=(1,), lot="L1")
    assert judging.judge_batch(batch, spec) is None
    assert judging.judge_contact(1.0, a_tank(1, "First", contact_s=None)) is None


@pytest.mark.parametrize(("ntu", "is_kept"), [(60, True), (60.4, True), (61, False)])
def test_cloudiness_at_its_limit_keeps_it(*, ntu: float, is_kept: bool) -> None:
    assert (judging.judge_turbidity(ntu, a_tank(1, "First")) is None) is is_kept
    assert judging.judge_turbidity(ntu, a_tank(1, "First", turbidity_max_ntu=None)) is None
    assert judging.judge_turbidity(56, a_tank(1, "First"), back=6.0) is not None


def test_the_card_in_the_set_up_is_the_first_that_is_bad() -> None:
    spec = a_tank(1, "First", look_limit=Look.FAINT)
    judged = [judging.judge_look(look, spec) is None for look in Look]
    assert judged == [True, False, False]
    assert judging.judge_look(Look.GONE, a_tank(1, "First", look_limit=None)) is None


def test_a_reading_names_each_value_that_keeps_no_limit() -> None:
    wanted = TemperatureRule(kind=TemperatureRuleKind.WARMER, by_c=5.0)
    spec = a_tank(1, "Dump", temperature_rule=wanted)
    reading = ReadingTaken(
        at=START,
        by="RM",
        tank=1,
        fac_mg_l=20,
        ph=8.2,
        turbidity_ntu=180,
        look=Look.READABLE,
        water_c=20,
        pulp_c=20,
    )
    found = judge_reading(reading, spec)
    assert {field: breach.which for field, breach in found.items()} == {
        "fac_mg_l": LimitKind.CRITICAL_LOW,
        "ph": LimitKind.PH_HIGH,
        "turbidity_ntu": LimitKind.TURBIDITY,
        "water_c": LimitKind.TEMPERATURE,
    }
    assert [breach.is_under for breach in found.values()] == [True, False, False, True]
    good = replace(reading, fac_mg_l=50, ph=7.0, turbidity_ntu=10, water_c=25)
    assert judge_reading(good, spec) == {}


@given(value=st.floats(0, 500), limit=st.floats(0, 500), kind=st.sampled_from(list(Kind)))
def test_what_reads_like_its_limit_keeps_it(value: float, limit: float, kind: Kind) -> None:
    if show(value, kind, UnitSystem.METRIC) == show(limit, kind, UnitSystem.METRIC):
        assert not judging.is_under(value, limit, kind)
        assert not judging.is_over(value, limit, kind)
    else:
        assert judging.is_under(value, limit, kind) is (value < limit)
        assert judging.is_over(value, limit, kind) is (value > limit)


def test_what_product_is_held_for_is_critical_and_nothing_else_is() -> None:
    spec = a_tank(1, "First", critical_ph=8.5, critical_contact_s=45.0)
    by_total = replace(spec, chlorine=replace(spec.chlorine, label_basis=LabelBasis.TOTAL))
    critical = (
        judging.judge_level(20, spec),
        judging.judge_level(120, spec),
        judging.judge_total(120, by_total),
        judging.judge_ph(9.0, spec),
        judging.judge_contact(30, spec),
    )
    assert [breach is not None and breach.critical for breach in critical] == [True] * 5
    operating = (
        judging.judge_level(30, spec),
        judging.judge_level(80, spec),
        judging.judge_ph(8.0, spec),
        judging.judge_turbidity(90, spec),
        judging.judge_look(Look.GONE, spec),
        judging.judge_contact(50, spec),
    )
    assert [breach is not None and breach.critical for breach in operating] == [False] * 6


def test_a_reading_is_judged_by_what_it_has() -> None:
    wanted = TemperatureRule(kind=TemperatureRuleKind.WARMER, by_c=5.0)
    spec = a_tank(1, "Dump", temperature_rule=wanted)
    bare = ReadingTaken(at=START, by="RM", tank=1)
    assert judge_reading(bare, spec) == {}
    assert judge_reading(replace(bare, water_c=5.0), spec) == {}
    assert judge_reading(replace(bare, pulp_c=30.0), spec) == {}
    assert set(judge_reading(replace(bare, look=Look.GONE), spec)) == {"look"}
