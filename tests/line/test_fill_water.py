"""What the answers of a fill's own water tell of it."""

import pytest
from msgspec.structs import replace

from tests.chemistry.geochemistry import bleach, ph_after
from tests.shed import Shed, a_setup, a_tank
from washmon.chemistry.acid import AcidKind
from washmon.chemistry.titration import Alkalinity
from washmon.line.events import AcidAdded, DoseAdded, Method
from washmon.line.fill_water import KnownAlkalinity, water_of
from washmon.line.setup import Acid, SourceWater


def told_by(before: float, after: float, ml: float, **source: float) -> KnownAlkalinity | None:
    shed = Shed(a_setup(a_tank(1, "Only"), source=SourceWater(**source)))
    shed.fill()
    shed.dose(ml=200)
    shed.wait(6).read(1, 50, method=Method.METER, ph=before)
    shed.acid(ml=ml)
    shed.wait(6).read(1, 50, method=Method.METER, ph=after)
    fill = shed.shift.tanks[0].fills[-1]
    return water_of(shed.shift.setup, shed.shift.tanks[0].spec, fill).alkalinity


@pytest.mark.parametrize("after", [8.3, 8.2])
def test_an_answer_within_the_error_of_the_meter_tells_nothing(after: float) -> None:
    """Its range was cut off at the hardest water there is, and so it looked like an answer."""
    assert told_by(8.3, after, 65) is None


@pytest.mark.parametrize("alkalinity", [60.0, 150.0])
def test_a_plain_answer_tells_the_alkalinity(alkalinity: float) -> None:
    acid = {**bleach(50.0), "HAcet": 250 * 0.05 / 60.052 / 500}
    before = ph_after(alkalinity, 7.8, 20.0, bleach(50.0))
    known = told_by(before, ph_after(alkalinity, 7.8, 20.0, acid), 250)
    assert known is not None
    assert known.range.low_mg_l < alkalinity < known.range.high_mg_l
    assert known.told_at is not None


def test_a_report_counts_unless_the_water_answers_as_a_softer_one() -> None:
    soft = ph_after(30.0, 7.8, 20.0, bleach(50.0))
    acid = {**bleach(50.0), "HAcet": 150 * 0.05 / 60.052 / 500}
    answered = told_by(soft, ph_after(30.0, 7.8, 20.0, acid), 150, alkalinity_mg_l=250.0)
    assert answered is not None
    assert answered.told_at is not None
    assert answered.range.high_mg_l < 200.0


def test_hydrochloric_acid_brings_the_chloride_that_it_is_made_of() -> None:
    # 31.45 % acid of 1.157 kg/L holds 9.98 mol/L (36.461 g/mol), each with 35.453 g of chloride:
    # IUPAC standard atomic weights; the density, Perry's Chemical Engineers' Handbook (value from
    # memory). Vinegar has none.
    muriatic = Acid(key="vinegar", name="muriatic", kind=AcidKind.HYDROCHLORIC, strength_pct=31.45)
    for acid, brought in ((muriatic, 0.1 * 9.98 * 35_453 / 500), (a_setup().acids[0], 0.0)):
        shed = Shed(a_setup(acids=(acid,)))
        shed.fill()
        tank = shed.shift.tank(1)
        assert tank.fill is not None
        before = water_of(shed.shift.setup, tank.spec, tank.fill).chloride_mg_l
        shed.acid(ml=100.0)
        tank = shed.shift.tank(1)
        assert tank.fill is not None
        after = water_of(shed.shift.setup, tank.spec, tank.fill).chloride_mg_l
        assert after - before == pytest.approx(brought, rel=5e-3)


@pytest.mark.parametrize(("error", "low", "high"), [(None, 80, 120), (10, 90, 110), (150, 0, 250)])
def test_a_report_tells_the_alkalinity_within_its_error_and_never_under_none(
    error: float | None, low: float, high: float
) -> None:
    source = SourceWater(alkalinity_mg_l=100.0, alkalinity_error_mg_l=error)
    shed = Shed(a_setup(source=source))
    shed.fill()
    fill = shed.shift.tanks[0].fills[-1]
    known = water_of(shed.shift.setup, shed.shift.tanks[0].spec, fill).alkalinity
    assert known == KnownAlkalinity(Alkalinity(100.0, low, high))


@pytest.mark.parametrize(("minutes", "tells"), [(5.0, True), (4.9, False)])
def test_an_answer_counts_from_the_moment_that_all_has_mixed_in(
    minutes: float, *, tells: bool
) -> None:
    shed = Shed(a_setup(a_tank(1, "Only")))
    shed.fill()
    shed.dose(ml=200)
    shed.wait(6).read(1, 50, method=Method.METER, ph=8.3)
    shed.acid(ml=300)
    shed.wait(minutes).read(1, 50, method=Method.METER, ph=7.3)
    fill = shed.shift.tanks[0].fills[-1]
    known = water_of(shed.shift.setup, shed.shift.tanks[0].spec, fill).alkalinity
    assert (known is not None) is tells


def test_acid_that_is_not_in_the_set_up_is_no_acid_of_the_water() -> None:
    shed = Shed(a_setup(a_tank(1, "Only")))
    shed.fill()
    for product in ("vinegar", "unknown"):
        acid = shed.acid(ml=300).event
        assert isinstance(acid, AcidAdded)
        shed.tell(replace(acid, product=product))
    fill = shed.shift.tanks[0].fills[-1]
    water = water_of(shed.shift.setup, shed.shift.tanks[0].spec, fill)
    assert len(water.water(7.0, 100.0, source_ph=7.8).acids) == 3
    strong = replace(shed.shift.setup.acids[0], kind=AcidKind.HYDROCHLORIC, strength_pct=10.0)
    other = water_of(a_setup(acids=(strong,)), shed.shift.tanks[0].spec, fill)
    assert other.water(7.0, 100.0, source_ph=7.8).acids == ()


def told_by_a_dose(before: float | None, after: float) -> KnownAlkalinity | None:
    """200 mL of bleach, 50 mg/L, take the pH from 7.2 to 7.6."""
    shed = Shed(a_setup(a_tank(1, "Only")))
    shed.fill()
    shed.read(1, before, method=Method.METER, ph=7.2)
    shed.dose(ml=200)
    shed.wait(6).read(1, after, method=Method.METER, ph=7.6)
    fill = shed.shift.tanks[0].fills[-1]
    return water_of(shed.shift.setup, shed.shift.tanks[0].spec, fill).alkalinity


def test_chlorine_that_was_used_up_meanwhile_tells_another_water() -> None:
    """A mol of HOCl that turns into chloride leaves a mol of acid (mass and charge balance)."""
    kept, used = told_by_a_dose(10.0, 60.0), told_by_a_dose(10.0, 40.0)
    assert kept is not None
    assert used is not None
    assert used.range.best_mg_l < kept.range.best_mg_l - 5
    unread = told_by_a_dose(None, 40.0)  # what it began with is not known: nothing is taken off
    assert unread is not None


def test_what_a_product_nobody_knows_the_strength_of_brings_counts_as_nothing() -> None:
    bleach = a_setup().sanitizers[0]
    unknown = (replace(bleach, strength=None), replace(bleach, key="another"), bleach)
    brought = []
    for product in unknown:
        shed = Shed(a_setup())
        shed.fill()
        dose = shed.dose(ml=200).event
        assert isinstance(dose, DoseAdded)
        tank = shed.shift.tank(1)
        assert tank.fill is not None
        setup = a_setup(sanitizers=(product,))
        brought.append(water_of(setup, tank.spec, tank.fill).rise_mg_l(dose))
    assert brought == [0.0, 0.0, pytest.approx(50.0, rel=1e-3)]  # 200 mL of 125 g/L in 500 L
