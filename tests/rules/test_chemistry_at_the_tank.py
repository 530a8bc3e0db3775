"""The chemistry as a person meets it: strength today, acid by estimate, gas, what a dose does."""

from datetime import timedelta

import pytest
from msgspec.structs import replace

from tests.shed import START, Shed, a_setup
from washmon.chemistry.acid import AcidKind, acid_mol_per_unit
from washmon.chemistry.titration import tank_water
from washmon.chemistry.water import at_ph, ph_of, with_acid
from washmon.line.events import DoseAdded, Method, ReadingTaken
from washmon.line.fill_water import FillWater
from washmon.line.flags import Amount, Caution, Flag, Level
from washmon.line.message import say
from washmon.line.setup import LineSetup, SourceWater
from washmon.rules.discharge import before_discharge
from washmon.units import UnitSystem


def said(flag: Flag) -> str:
    """Return the whole reason of a flag."""
    return plain(*(say(part, UnitSystem.METRIC) for part in (flag.why, *flag.more)))


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
    if "tested_g_l" in changes:  # 90 of the 125 g/L of 12.5 trade %
        assert "72 %" in said(flag)
        assert "80 %" in said(flag)
    assert shed.flag("product-weak", tank=2) is None


def test_a_weak_container_is_said_of_the_first_tank_that_holds_water_from_it() -> None:
    old = with_product(use_by=START.date() - timedelta(days=1))
    empty = Shed(old)
    empty.fill(tank=2)
    assert "past its use-by day" in said(up_at(empty, 2))
    other = replace(old.sanitizers[0], key="other", use_by=None)
    first = replace(old.tanks[0], sanitizer="other")
    shed = Shed(replace(old, sanitizers=(*old.sanitizers, other), tanks=(first, old.tanks[1])))
    shed.fill(tank=1)
    shed.fill(tank=2)
    assert shed.flag("product-weak", tank=1) is None
    assert "past its use-by day" in said(up_at(shed, 2))


def up_at(shed: Shed, tank: int) -> Flag:
    flag = shed.flag("product-weak", tank)
    assert flag is not None
    return flag


def test_a_fresh_container_is_not_called_weak() -> None:
    assert a_shed(with_product(made_on=START.date())).flag("product-weak") is None
    assert a_shed(a_setup()).flag("product-weak") is None
    assert a_shed(with_product(use_by=START.date())).flag("product-weak") is None


# --- acid by estimate


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


# --- gas


def test_gas_is_reckoned_from_chlorine_ph_and_chloride_not_from_ph_alone() -> None:
    mild = a_shed(a_setup(), fac=10, ph=5.6)
    assert mild.flag("ph-gas") is None
    strong = a_shed(a_setup(), fac=100, ph=5.2)
    flag = up(strong, "ph-gas")
    assert flag.level is Level.STOP
    assert "chlorine gas" in said(flag)


def test_a_stop_for_gas_goes_once_the_air_is_a_fifth_under_its_limit() -> None:
    # Still air over it may hold 0.54 ppm at pH 5.2, 0.43 at 5.3 and 0.38 at 5.35; 0.5 is the limit.
    assert a_shed(a_setup(), fac=100, ph=5.3).flag("ph-gas") is None
    shed = a_shed(a_setup(), fac=100, ph=5.2)
    up(shed, "ph-gas")
    shed.wait(1).read(fac=100, ph=5.3)
    up(shed, "ph-gas")
    shed.wait(1).read(fac=100, ph=5.35)
    assert shed.flag("ph-gas") is None


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
    assert up(shed, "ph-gas").level is Level.STOP
    shed.wait(1).read(ph=6.05)
    assert shed.flag("ph-gas") is not None  # the deadband
    shed.wait(1).read(ph=6.2)
    assert shed.flag("ph-gas") is None


# --- discharge


def test_changing_the_water_tells_what_takes_its_chlorine_out_and_that_rules_are_local() -> None:
    shed = a_shed(a_setup())
    shed.read(turbidity_ntu=70)
    flag = up(shed, "cloudy")
    # AWWA table 7-2: 1.9 g thiosulfate, 2.98 g of the pentahydrate, to 1 g of chlorine; 25 g here.
    assert "75 g sodium thiosulfate" in said(flag)
    assert "local" in said(flag)
    assert Caution.DISCHARGE in shed.plan().now.cautions


def test_what_is_drained_is_reckoned_by_the_total_where_free_chlorine_was_never_read() -> None:
    shed = Shed(a_setup())
    shed.fill()
    shed.read(total_mg_l=80.0)
    tank = shed.shift.tank(1)
    assert tank.fill is not None
    (told,) = before_discharge(FillWater(shed.shift.setup, tank.spec, tank.fill))
    # AWWA table 7-2, as above: 2.98 g to 1 g of chlorine, of which there are 40 g.
    assert "119 g sodium thiosulfate" in plain(say(told, UnitSystem.METRIC))


def test_a_dose_in_the_journal_counts_with_the_strength_of_its_day() -> None:
    shed = a_shed(with_product(made_on=MADE_100_DAYS_AGO, storage_c=25.0))
    tank = shed.shift.tank(1)
    assert tank.fill is not None
    dose = DoseAdded(at=shed.now, by="RM", tank=1, product="bleach", amount=Amount(200, "mL"))
    water = FillWater(shed.shift.setup, tank.spec, tank.fill)
    assert 25 < water.rise_mg_l(dose) < 40
