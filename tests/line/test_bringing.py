"""What a dose brings about at both ends, and doses that keep what label and law allow."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from tests.shed import START, Shed, a_peracetic_setup, a_setup, a_tank
from washmon.chemistry.checks import ChemistryError
from washmon.chemistry.hypochlorite import StrengthBasis
from washmon.chemistry.measures import MEASURES, METRIC_SET, US_SET
from washmon.chemistry.measuring import NEAR, Caution
from washmon.chemistry.uncertainty import LABEL_ERROR, VOLUME_ERROR, Range
from washmon.line.bringing import allowed_dose, brings, largest_dose, peroxide_after
from washmon.line.events import DoseAdded, Method
from washmon.line.flags import Amount
from washmon.line.measure import how, measured
from washmon.line.message import say
from washmon.line.peracetic import brought
from washmon.line.product import dose
from washmon.line.reading import level_range, peracetic_range
from washmon.line.setup import LineSetup, PeraceticLimits, Sanitizer, SanitizerKind
from washmon.units import Taste

BLEACH = Sanitizer(
    key="bleach",
    name="hypochlorite",
    kind=SanitizerKind.SODIUM,
    strength=125.0,
    basis=StrengthBasis.G_PER_L_AVAILABLE_CHLORINE,
)
SETS = (US_SET, METRIC_SET, ("tablespoon", "cup"), ("quarter_cup", "gallon_jug"), ("jug_1000_ml",))


def sure(level: float) -> Range:
    return Range(level, level, level)


def test_a_dose_brings_the_mass_balance_with_its_errors_as_squares() -> None:
    # White, Handbook of Chlorination (1972): 216 mL of 125 g/L in 600 L bring 45 mg/L.
    found = brings(BLEACH, 600.0, Range(50.0, 55.0, 60.0), Amount(216.0, "mL"))
    assert found.best == pytest.approx(100.0, rel=1e-3)
    error = np.hypot(5.0, 45.0 * np.hypot(VOLUME_ERROR, LABEL_ERROR))
    assert found.high - found.best == pytest.approx(error, rel=1e-3)
    assert found.best - found.low == pytest.approx(error, rel=1e-3)


def test_an_old_container_may_have_lost_nothing() -> None:
    on = date(2026, 5, 7)
    old = replace(BLEACH, made_on=on - timedelta(days=90), storage_c=25.0)
    amount = dose(old, 600.0, 0.0, 50.0, on)
    found = brings(old, 600.0, sure(0.0), amount, on)
    assert found.best == pytest.approx(50.0, rel=1e-3)
    undecayed = brings(BLEACH, 600.0, sure(0.0), amount).best
    assert found.low < 50.0 < undecayed < found.high
    assert largest_dose(old, 600.0, sure(0.0), 75.0, on).value < largest_dose(
        BLEACH, 600.0, sure(0.0), 75.0
    ).value * (125.0 / 90.0)


def test_of_a_tested_container_the_dose_is_surer() -> None:
    on = date(2026, 5, 7)
    tested = replace(BLEACH, tested_g_l=125.0, tested_on=on)
    plain = largest_dose(BLEACH, 600.0, sure(0.0), 100.0, on)
    assert largest_dose(tested, 600.0, sure(0.0), 100.0, on).value > plain.value


@given(
    level=st.floats(0, 200),
    over=st.floats(0, 0.5),
    maximum=st.floats(5, 200),
    volume_l=st.floats(5, 5000),
    kind=st.sampled_from([SanitizerKind.SODIUM, SanitizerKind.CALCIUM]),
)
def test_the_largest_dose_comes_up_to_the_maximum_and_no_further(
    level: float, over: float, maximum: float, volume_l: float, kind: SanitizerKind
) -> None:
    product = BLEACH
    if kind is SanitizerKind.CALCIUM:
        by_weight = StrengthBasis.WEIGHT_PCT_AVAILABLE_CHLORINE
        product = replace(BLEACH, kind=kind, strength=65.0, basis=by_weight)
    was = Range(0.9 * level, level, (1 + over) * level)
    try:
        most = largest_dose(product, volume_l, was, maximum)
    except ChemistryError:
        assert was.high >= maximum * (1 - 1e-6)
        return
    high = brings(product, volume_l, was, most).high
    assert maximum * 0.998 <= high <= maximum


def random_line(rng: np.random.Generator) -> LineSetup:
    target = float(rng.uniform(5, 150))
    maximum = target * float(rng.uniform(1.05, 2.0))
    tank = a_tank(1, "Dunk", volume_l=float(10 ** rng.uniform(1.2, 3.7)))
    limits = replace(
        tank.chlorine,
        critical_low_mg_l=0.5 * target,
        low_mg_l=0.7 * target,
        target_mg_l=target,
        high_mg_l=0.5 * (target + maximum),
        label_max_mg_l=maximum,
    )
    names = SETS[int(rng.integers(len(SETS)))]
    return a_setup(
        replace(tank, chlorine=limits),
        sanitizers=(replace(BLEACH, strength=float(rng.uniform(40, 150))),),
        measures=names,
    )


def test_no_dose_passes_the_label_at_its_upper_end_and_none_is_far_off_unsaid() -> None:
    """Of 1,901 such doses the upper end passed the label in 359, by up to 1.86 times."""
    rng = np.random.default_rng(11)
    doses = 0
    for _ in range(1200):
        setup = random_line(rng)
        spec, product = setup.tanks[0], setup.sanitizers[0]
        read = float(rng.uniform(0, 1.0)) * spec.chlorine.target_mg_l
        low, high = level_range(read, list(Method)[int(rng.integers(3))])
        was = Range(min(low, read), read, max(high, read))
        try:
            most = largest_dose(product, spec.volume_l, was, spec.chlorine.label_max_mg_l)
            asked = dose(product, spec.volume_l, read, spec.chlorine.target_mg_l)
        except ChemistryError:
            continue
        to_add = measured(asked, setup, at_most=most)
        doses += 1
        poured = Amount(to_add.actual, asked.unit)
        brought = brings(product, spec.volume_l, was, poured)
        assert brought.high <= spec.chlorine.label_max_mg_l * (1 + 1e-6)
        assert abs(to_add.error_fraction) <= NEAR + 1e-6
        if to_add.caution is not None:
            assert how(to_add) is not None
    assert doses > 700


def test_no_dose_of_peracetic_acid_passes_the_law_nor_brings_too_much_beside_it() -> None:
    """Of 1,095 such doses the upper end passed in 236; two by rounding alone."""
    rng = np.random.default_rng(12)
    doses = 0
    for _ in range(700):
        setup = a_peracetic_setup(
            strength=float(rng.uniform(5, 22)), peroxide_pct=float(rng.uniform(5, 27))
        )
        limits = setup.tanks[0].peracetic
        assert isinstance(limits, PeraceticLimits)
        limits = replace(limits, target_mg_l=float(rng.uniform(40, 80)), label_max_mg_l=85.0)
        spec = replace(setup.tanks[0], peracetic=limits)
        setup = replace(setup, tanks=(spec,), measures=SETS[int(rng.integers(len(SETS)))])
        shed = Shed(setup)
        shed.fill()
        fill = shed.shift.tanks[0].fills[-1]
        read = float(rng.uniform(0, 60))
        low, high = peracetic_range(read, list(Method)[int(rng.integers(3))])
        was = Range(low, read, high)
        try:
            most = allowed_dose(setup, spec, fill, was)
            asked = dose(setup.sanitizers[0], fill.volume_l, read, limits.target_mg_l)
        except ChemistryError:
            continue
        to_add = measured(asked, setup, at_most=most)
        poured = Amount(to_add.actual, "mL")
        doses += 1
        after = brings(setup.sanitizers[0], fill.volume_l, was, poured)
        assert after.high <= limits.legal_paa_mg_l * (1 + 1e-6)
        beside = peroxide_after(setup, fill, setup.sanitizers[0], poured)
        assert beside.peroxide_mg_l <= limits.legal_peroxide_mg_l * (1 + 1e-6)
        assert beside.hedp_mg_l <= limits.legal_hedp_mg_l * (1 + 1e-6)
    assert doses > 350


def paa_shed(**product: float) -> Shed:
    shed = Shed(a_peracetic_setup(**product))
    shed.fill()
    return shed


def pour(shed: Shed, ml: float) -> None:
    shed.tell(DoseAdded(at=shed.now, by="RM", tank=1, product="paa", amount=Amount(ml, "mL")))


def test_a_product_with_much_peroxide_is_not_dosed_past_the_limit_of_peroxide() -> None:
    """5.6 %/26.5 %, target 70: the dose brought 331 mg/L of peroxide, limit 59."""
    shed = paa_shed(strength=5.6, peroxide_pct=26.5, hedp_pct=0.0)
    setup, fill = shed.shift.setup, shed.shift.tanks[0].fills[-1]
    whole = dose(setup.sanitizers[0], fill.volume_l, 0.0, 70.0)
    assert peroxide_after(setup, fill, setup.sanitizers[0], whole).peroxide_mg_l > 300
    most = allowed_dose(setup, setup.tanks[0], fill, sure(0.0))
    after = peroxide_after(setup, fill, setup.sanitizers[0], most)
    assert after.peroxide_mg_l == pytest.approx(59.0, rel=1e-6)
    pour(shed, most.value)
    fill = shed.shift.tanks[0].fills[-1]
    with pytest.raises(ChemistryError, match="change the water"):
        allowed_dose(setup, setup.tanks[0], fill, sure(0.0))


def test_peroxide_that_was_read_since_counts_in_place_of_what_was_dosed() -> None:
    shed = paa_shed()
    pour(shed, 100)
    shed.wait(6).read(1, paa_mg_l=30.0, peroxide_mg_l=5.0)
    fill, setup = shed.shift.tanks[0].fills[-1], shed.shift.setup
    none = peroxide_after(setup, fill, setup.sanitizers[0], Amount(0.0, "mL"))
    assert none.peroxide_mg_l == 5.0
    assert none.hedp_mg_l == brought(setup, fill).hedp_mg_l
    pour(shed, 10)
    fill = shed.shift.tanks[0].fills[-1]
    later = peroxide_after(setup, fill, setup.sanitizers[0], Amount(0.0, "mL"))
    assert later.peroxide_mg_l == brought(setup, fill).peroxide_mg_l


def test_where_the_level_may_be_at_its_maximum_nothing_may_be_added() -> None:
    with pytest.raises(ChemistryError, match="add nothing"):
        largest_dose(BLEACH, 500.0, Range(80.0, 95.0, 101.0), 100.0)


def test_what_no_measure_is_near_says_what_works() -> None:
    setup = a_setup(measures=US_SET, taste=Taste.US)
    small = measured(Amount(0.13, "mL"), setup)
    assert small.caution is Caution.NOT_NEAR
    told = how(small)
    assert told is not None
    sentence = say(told, Taste.US)
    assert "None of your measures comes near 0.13" in sentence
    assert "never the water into it" in sentence
    large = measured(Amount(9000.0, "mL"), setup)
    assert large.caution is Caution.TOO_LARGE
    assert how(large) is not None
    assert how(measured(Amount(11.5, "mL"), setup)) is None


@given(value=st.floats(0.05, 3000), names=st.sets(st.sampled_from(sorted(MEASURES)), min_size=1))
@settings(max_examples=150)
def test_acid_is_never_rounded_up(value: float, names: set[str]) -> None:
    setup = a_setup(measures=tuple(sorted(names)))
    for unit in ("mL", "g"):
        found = measured(Amount(value, unit), setup, never_more=True)
        assert found.actual <= value * (1 + 1e-6)


def test_a_day_is_only_needed_for_the_age_of_the_container() -> None:
    amount = Amount(100.0, "mL")
    assert brings(BLEACH, 500.0, sure(0.0), amount, START.date()) == brings(
        BLEACH, 500.0, sure(0.0), amount
    )
