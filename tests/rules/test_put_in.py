"""What certainly went in is believed until a reading says otherwise."""

import pytest
from msgspec.structs import replace

from tests.shed import Shed, a_peracetic_setup, a_setup, a_tank
from washmon.line.certain import Certain, certain_level
from washmon.line.events import DoseAdded, WaterExchanged
from washmon.line.flags import Amount, Level, StepKind
from washmon.line.message import say
from washmon.line.setup import ChlorineLimits
from washmon.units import UnitSystem

GALLON_L, CUP_ML = 3.785411784, 236.5882365


def certain(shed: Shed) -> Certain | None:
    tank = shed.shift.tank(1)
    assert tank.fill is not None
    return certain_level(tank.fill, tank.spec, shed.shift.setup)


def low(shed: Shed) -> float | None:
    found = certain(shed)
    return None if found is None else found.low_mg_l


# 60 mL of 12.5 % (trade) in 500 L: 60 × 125 / 500.06 = 15.0 mg/L.
ONE_DOSE = 15.0


def test_nothing_is_certain_but_what_no_reading_has_shown() -> None:
    shed = Shed()
    shed.fill()
    assert certain(shed) is None
    shed.dose()
    assert low(shed) == pytest.approx(ONE_DOSE, rel=1e-3)
    shed.wait(1).read(1, 9)  # not mixed in yet: it says nothing
    assert low(shed) == pytest.approx(ONE_DOSE, rel=1e-3)
    shed.wait(5).read(1, 12)
    assert certain(shed) is None


def test_what_was_read_shortly_before_a_dose_is_still_there() -> None:
    shed = Shed()
    shed.fill()
    shed.dose()
    shed.wait(6).read(1, 14)
    shed.dose()
    found = certain(shed)
    assert found is not None
    assert found.low_mg_l == pytest.approx(14 + ONE_DOSE, rel=1e-3)
    assert found.high_mg_l == pytest.approx(14 * 1.1 + ONE_DOSE, rel=1e-3)  # a kit is 10 % off
    shed.wash(3)
    assert low(shed) == pytest.approx(14 + ONE_DOSE, rel=1e-3)  # so it was, until it is read again
    shed.dose(ml=6)  # what the batches left of it nobody knows: but once there was so much
    assert low(shed) == pytest.approx(14 + ONE_DOSE, rel=1e-3)


def test_what_may_be_used_up_is_not_certain() -> None:
    shed = Shed()
    shed.fill()
    shed.dose()
    shed.wait(6).read(1, 14)
    shed.wash()
    shed.dose()
    assert low(shed) == pytest.approx(ONE_DOSE, rel=1e-3)
    idle = Shed()
    idle.fill()
    idle.wait(6).read(1, 14)
    idle.wait(61).dose()
    assert low(idle) == pytest.approx(ONE_DOSE, rel=1e-3)


def test_an_exchange_takes_its_share_along() -> None:
    shed = Shed()
    shed.fill()
    shed.dose(ml=600)
    shed.wait(1).tell(WaterExchanged(at=shed.now, by="RM", tank=1, volume_l=250))
    assert low(shed) == pytest.approx(5 * ONE_DOSE, rel=2e-3)


def test_a_dose_far_over_the_label_stops_the_tank_until_it_is_measured() -> None:
    """45 cups in 600 gal, as a slip of the hand has it: some 580 ppm where 200 are allowed."""
    limits = ChlorineLimits(
        critical_low_mg_l=50, low_mg_l=65, target_mg_l=100, high_mg_l=150, label_max_mg_l=200
    )
    tank = a_tank(1, "First", volume_l=600 * GALLON_L, chlorine=limits)
    shed = Shed(a_setup(tank, taste=UnitSystem.US))
    shed.fill(1, 600 * GALLON_L)
    shed.dose(1, 45 * CUP_ML)
    flag = shed.flag("label-by-dose")
    assert flag is not None
    assert flag.level is Level.STOP
    assert shed.plan().now.kind is StepKind.WAIT
    assert not shed.plan().feed
    said = say(flag.why, UnitSystem.US).replace("\N{NO-BREAK SPACE}", " ")
    assert said.startswith("With the 360 fl oz of hypochlorite of ")  # 8 fl oz to a cup
    assert "holds about 583 ppm" in said
    assert "label and law allow 200 ppm" in said
    shed.wash(2)  # batches use some of it up, but how much nobody knows
    assert shed.flag("label-by-dose") is not None
    shed.wait(6)
    assert shed.flag("label-by-dose") is not None
    assert shed.plan().now.kind is StepKind.CHECK
    shed.read(1, 120, ph=7.0)
    assert shed.flag("label-by-dose") is None


def test_doses_within_the_label_raise_nothing() -> None:
    shed = Shed()
    shed.fill()
    shed.dose(ml=400)  # 100 mg/L, which is the label maximum
    assert shed.flag("label-by-dose") is None
    shed.dose(ml=4)
    assert shed.flag("label-by-dose") is not None


def test_the_law_counts_for_peracetic_acid() -> None:
    setup = a_peracetic_setup()
    limits = setup.tanks[0].peracetic
    assert limits is not None
    limits = replace(limits, label_max_mg_l=200.0)
    shed = Shed(replace(setup, tanks=(replace(setup.tanks[0], peracetic=limits),)))
    shed.fill()
    # 15 % by weight at 1.12 kg/L: 168 g/L, so that 300 mL bring 101 mg/L.
    shed.tell(DoseAdded(at=shed.now, by="RM", tank=1, product="paa", amount=Amount(300.0, "mL")))
    assert shed.flag("label-by-dose") is not None
    shed.wait(6).read(1, paa_mg_l=70.0)
    assert shed.flag("label-by-dose") is None
