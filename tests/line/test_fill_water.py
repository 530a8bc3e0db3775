"""What the answers of a fill's own water tell of it."""

import pytest

from tests.chemistry.geochemistry import bleach, ph_after
from tests.shed import Shed, a_setup, a_tank
from washmon.chemistry.acid import AcidKind
from washmon.line.events import Method
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
