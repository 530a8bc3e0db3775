"""The chemistry as a person meets it: strength today, acid by estimate, gas, what a dose does."""

from datetime import date, timedelta

import pytest
from msgspec.structs import replace

from tests.shed import START, Shed, a_setup, a_tank
from washmon.chemistry.acid import AcidKind, acid_mol_per_unit
from washmon.chemistry.titration import tank_water
from washmon.chemistry.water import at_ph, ph_of, with_acid, with_hypochlorite
from washmon.line.events import DoseAdded, Method, ReadingTaken
from washmon.line.fill_water import FillWater
from washmon.line.flags import Amount, Caution, Flag, StepKind
from washmon.line.message import say
from washmon.line.setup import LineSetup, SourceWater
from washmon.units import Taste


def said(flag: Flag) -> str:
    """Return the whole reason of a flag."""
    return plain(*(say(part, Taste.METRIC) for part in (flag.why, *flag.more)))


def plain(*texts: str) -> str:
    return " ".join(texts).replace("\N{NO-BREAK SPACE}", " ")


def with_product(**changes: object) -> LineSetup:
    setup = a_setup()
    return replace(setup, sanitizers=(replace(setup.sanitizers[0], **changes),))


def with_source(**water: float) -> LineSetup:
    return a_setup(source=SourceWater(**water))


def a_shed(setup: LineSetup, fac: float = 50.0, ph: float = 7.0) -> Shed:
    shed = Shed(setup)
    shed.fill()
    shed.dose(ml=200)
    shed.wait(6).read(fac=fac, ph=ph)
    return shed


def up(shed: Shed, rule: str) -> Flag:
    flag = shed.flag(rule)
    assert flag is not None, shed.rules_up()
    return flag


# --- strength today

MADE_100_DAYS_AGO = START.date() - timedelta(days=100)


def test_an_aged_container_is_dosed_with_what_is_left_of_it_and_a_wider_range() -> None:
    # Adam & Gordon (1999): 125 g/L at 25 °C has lost about a third after 100 days
    # (tests/chemistry/test_ageing.py holds the equation to its published half-lives).
    fresh = up(a_shed(a_setup(), fac=30), "chlorine-low")
    aged = up(
        a_shed(with_product(made_on=MADE_100_DAYS_AGO, storage_c=25.0), fac=30), "chlorine-low"
    )
    amounts = []
    for flag in (fresh, aged):
        step = flag.step
        assert step.amount is not None
        assert step.amount_low is not None
        assert step.amount_high is not None
        assert step.amount_low < step.amount.value < step.amount_high
        amounts.append((step.amount.value, step.amount_high / step.amount.value))
    assert 1.3 < amounts[1][0] / amounts[0][0] < 1.8
    assert amounts[1][1] > amounts[0][1] + 0.05
    assert "100 days at 25" in said(aged)
    assert "125 g/L" in said(aged)


def test_a_test_of_the_container_overrides_its_age() -> None:
    setup = with_product(
        made_on=MADE_100_DAYS_AGO, tested_g_l=100.0, tested_on=START.date(), storage_c=25.0
    )
    flag = up(a_shed(setup, fac=30), "chlorine-low")
    assert flag.step.amount is not None
    # Mass balance: 500 L * (50 - 30) mg/L / (100 - 0.05) g/L = 100 mL.
    assert flag.step.amount.value == pytest.approx(100.05, abs=0.1)
    assert "as tested" in said(flag)


def test_a_container_of_unknown_age_is_dosed_by_its_label() -> None:
    flag = up(a_shed(a_setup(), fac=30), "chlorine-low")
    assert flag.step.amount is not None
    assert flag.step.amount.value == pytest.approx(500 * 20 / 124.95, rel=1e-6)


def test_a_dose_keeps_the_label_maximum_even_if_nothing_of_the_strength_was_lost() -> None:
    setup = with_product(made_on=date(2023, 5, 7), storage_c=35.0)
    shed = a_shed(setup, fac=30)
    flag = up(shed, "chlorine-low")
    assert flag.step.amount is not None
    worst = 30 + flag.step.amount.value * 125 / 500
    assert worst <= 100.1
    assert "More could pass the label maximum of 100 ppm" in said(flag)
    assert "from 30 ppm to 50 ppm" not in said(flag)  # it does not get there


def test_a_dose_keeps_the_label_maximum_even_if_a_container_is_as_strong_as_it_was_tested() -> None:
    for days in (1, 60, 200, 800):
        tested = {"tested_g_l": 140.0, "tested_on": START.date() - timedelta(days=days)}
        flag = up(a_shed(with_product(storage_c=35.0, **tested), fac=30), "chlorine-low")
        assert flag.step.amount is not None
        assert flag.step.amount_high is not None
        # Mass balance, as if nothing had been lost since the test.
        assert 30 + flag.step.amount_high * 140 / 500 <= 100.1
        assert "140 g/L that a test found" in said(flag)
        assert "as tested" not in said(flag)


def test_a_coarse_measure_is_never_rounded_up_over_the_label_maximum() -> None:
    limits = replace(a_tank(1, "Dunk").chlorine, low_mg_l=80.0, target_mg_l=95.0, high_mg_l=99.0)
    for fac in (30.0, 40.0, 52.0, 70.0):
        setup = a_setup(a_tank(1, "Dunk", chlorine=limits), measures=("cup", "half_cup"))
        said_amount = up(a_shed(setup, fac=fac), "chlorine-low").step.say.values["amount"]
        told = plain(str(said_amount))
        halves = {"½ cup": 1, "1 cup": 2, "1½ cups": 3}
        ml = halves[told] * 236.5882365 / 2 if told in halves else float(told.split()[0])
        assert fac + ml * 125 / 500 <= 100.1, told


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"made_on": MADE_100_DAYS_AGO, "storage_c": 25.0}, "best case"),
        ({"tested_g_l": 90.0, "tested_on": START.date()}, "As tested"),
        ({"use_by": START.date() - timedelta(days=1)}, "past its use-by day"),
    ],
)
def test_a_weak_container_is_said_once_for_the_line(changes: dict[str, object], words: str) -> None:
    shed = a_shed(with_product(**changes))
    shed.fill(tank=2)
    shed.dose(tank=2, ml=200)
    shed.wait(6).read(tank=2, fac=50, ph=7.0)
    flag = up(shed, "product-weak")
    assert flag.level.value == "watch"
    assert words in said(flag)
    assert shed.flag("product-weak", tank=2) is None


def test_a_fresh_container_is_not_called_weak() -> None:
    assert a_shed(with_product(made_on=START.date())).flag("product-weak") is None
    assert a_shed(a_setup()).flag("product-weak") is None


# --- what a dose does to the pH


def test_the_reason_of_a_dose_tells_what_it_does_to_the_ph() -> None:
    shed = a_shed(with_source(alkalinity_mg_l=100.0, ph=7.8), fac=30, ph=7.2)
    water = at_ph(tank_water(100.0, 7.8, 20.0, 30.0), 7.2)
    after = ph_of(with_hypochlorite(water, 20.0))
    assert f"It takes pH 7.2 to about {after:.1f}" in said(up(shed, "chlorine-low"))


def test_without_a_ph_reading_nothing_is_said_of_it() -> None:
    shed = Shed()
    shed.fill()
    shed.read(fac=30)
    assert "pH" not in said(up(shed, "chlorine-low"))


def test_a_ph_from_before_the_last_dose_does_not_tell_where_the_next_one_takes_it() -> None:
    shed = a_shed(a_setup(), fac=30, ph=7.2)
    assert "It takes pH 7.2" in said(up(shed, "chlorine-low"))
    shed.dose(ml=40)
    shed.wait(6).read(fac=35)
    assert "It takes pH" not in said(up(shed, "chlorine-low"))
    shed.read(fac=35, ph=7.4)
    assert "It takes pH 7.4" in said(up(shed, "chlorine-low"))


# --- acid by estimate


def test_a_known_alkalinity_gives_half_of_the_estimate() -> None:
    shed = a_shed(with_source(alkalinity_mg_l=200.0, ph=7.8), ph=7.9)
    flag = up(shed, "ph-high")
    assert flag.step.kind is StepKind.ACID
    assert flag.step.amount is not None
    assert "half of the estimate" in say(flag.step.say, Taste.METRIC)
    # The amount doubled, in the water that the set-up describes, comes to the target.
    water = at_ph(tank_water(200.0, 7.8, 20.0, 50.0), 7.9)
    mol = 2 * flag.step.amount.value * acid_mol_per_unit(AcidKind.VINEGAR, 5.0) / 500
    assert ph_of(with_acid(water, AcidKind.VINEGAR, mol)) == pytest.approx(7.0, abs=0.02)
    assert "200 (160–240) mg/L" in said(flag)


def acid_answered(alkalinity: float, method: Method = Method.METER) -> Shed:
    """Return a shift in which one small step of vinegar moved the pH as water of this kind does."""
    shed = a_shed(a_setup(), ph=8.0)
    water = at_ph(tank_water(alkalinity, 7.8, 20.0, 50.0), 8.0)
    mol = 300 * acid_mol_per_unit(AcidKind.VINEGAR, 5.0) / 500
    shed.acid(ml=300)
    ph = round(ph_of(with_acid(water, AcidKind.VINEGAR, mol)), 2)
    reading = ReadingTaken(
        at=shed.wait(6).now, by="RM", tank=1, fac_mg_l=50.0, ph=ph, ph_method=method
    )
    shed.tell(reading)
    return shed


@pytest.mark.parametrize("alkalinity", [80.0, 150.0, 250.0])
def test_the_answer_to_the_first_step_gives_the_next_by_estimate(alkalinity: float) -> None:
    shed = acid_answered(alkalinity)
    tank = shed.shift.tank(1)
    assert tank.fill is not None
    known = FillWater(shed.shift.setup, tank.spec, tank.fill).alkalinity
    assert known is not None
    assert known.range.best_mg_l == pytest.approx(alkalinity, rel=0.1)
    assert known.range.low_mg_l < alkalinity < known.range.high_mg_l


def test_until_something_was_answered_the_step_is_small() -> None:
    flag = up(a_shed(a_setup(), ph=8.0), "ph-high")
    assert flag.step.amount is not None
    # Half a teaspoon of vinegar to five gallons (common practice, no published source).
    assert flag.step.amount.value == pytest.approx(65.1, abs=0.2)
    assert "small steps" in said(flag)


def test_a_step_under_the_smallest_measure_says_so_and_tells_no_more() -> None:
    setup = a_setup(measures=("jug_1000_ml",), tanks=(a_tank(1, "Tub", volume_l=20.0),))
    shed = Shed(setup)
    shed.fill(volume_l=20.0)
    shed.read(fac=50, ph=7.9)
    step = up(shed, "ph-high").step
    text = plain(say(step.say, Taste.METRIC))
    assert step.amount is not None
    assert "under your smallest measure" in text
    assert "Add 2.6 mL" in text
    assert step.amount.value == pytest.approx(2.604, abs=0.01)


# --- gas


def test_gas_is_reckoned_from_chlorine_ph_and_chloride_not_from_ph_alone() -> None:
    mild = a_shed(a_setup(), fac=10, ph=5.6)
    assert mild.flag("ph-gas") is None
    assert mild.look().tank(1).step.kind is not StepKind.ACID
    strong = a_shed(a_setup(), fac=100, ph=5.2)
    flag = up(strong, "ph-gas")
    assert flag.step.kind is StepKind.LEAVE
    assert Caution.GAS in flag.step.cautions
    assert "chlorine gas" in said(flag)


def test_chloride_that_built_up_makes_gas_sooner() -> None:
    def shed(doses: int) -> Shed:
        shed = Shed()
        shed.fill()
        for _ in range(doses):
            shed.dose(ml=400)
            shed.wait(1)
        shed.wait(6).read(fac=50, ph=5.5)
        return shed

    assert shed(1).flag("ph-gas") is None
    assert shed(12).flag("ph-gas") is not None


def test_where_chlorine_is_not_known_a_ph_under_six_stops_as_before() -> None:
    shed = Shed()
    shed.fill()
    shed.read(ph=5.9)
    assert up(shed, "ph-gas").step.kind is StepKind.LEAVE
    shed.wait(1).read(ph=6.05)
    assert shed.flag("ph-gas") is not None  # the deadband
    shed.wait(1).read(ph=6.2)
    assert shed.flag("ph-gas") is None


# --- dose range, discharge


def test_the_range_of_a_dose_holds_reading_volume_and_strength() -> None:
    shed = a_shed(a_setup())
    shed.wait(1).read(fac=30, method=Method.METER)
    step = up(shed, "chlorine-low").step
    assert step.amount is not None
    assert step.amount_low is not None
    assert step.amount_high is not None
    # Meter 5 % of 30 = 1.5 of a rise of 20 mg/L: 7.5 %; volume 5 %, label 10 %: 13.5 % together.
    assert step.amount_high / step.amount.value == pytest.approx(1.135, abs=0.002)
    assert step.amount_low / step.amount.value == pytest.approx(0.865, abs=0.002)


def test_changing_the_water_tells_what_takes_its_chlorine_out_and_that_rules_are_local() -> None:
    shed = a_shed(a_setup())
    shed.read(turbidity_ntu=70)
    flag = up(shed, "cloudy")
    # AWWA table 7-2: 1.9 g thiosulfate, 2.98 g of the pentahydrate, to 1 g of chlorine; 25 g here.
    assert "75 g sodium thiosulfate" in said(flag)
    assert "local" in said(flag)
    assert Caution.DISCHARGE in flag.step.cautions


def test_a_dose_in_the_journal_counts_with_the_strength_of_its_day() -> None:
    shed = a_shed(with_product(made_on=MADE_100_DAYS_AGO, storage_c=25.0))
    tank = shed.shift.tank(1)
    assert tank.fill is not None
    dose = DoseAdded(at=shed.now, by="RM", tank=1, product="bleach", amount=Amount(200, "mL"))
    water = FillWater(shed.shift.setup, tank.spec, tank.fill)
    assert 25 < water.rise_mg_l(dose) < 40
