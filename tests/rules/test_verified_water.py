"""Only water that was measured after an addition mixed in counts as verified."""

import pytest
from msgspec.structs import replace

from tests.shed import Shed, a_setup, a_tank
from washmon.line.events import WaterExchanged
from washmon.line.flags import Condition, Level, StepKind
from washmon.line.message import say
from washmon.line.setup import LabelBasis
from washmon.rules.in_question import to_hold
from washmon.units import UnitSystem

# The common practice throughout, no published source: dose, mix, wait, test again. The set-up of
# these tests says that mixing takes 5 minutes.


@pytest.fixture
def shed() -> Shed:
    """Return a shift whose first tank is filled, dosed, measured and good."""
    shed = Shed()
    shed.fill()
    shed.dose(ml=200)
    shed.wait(6).read(fac=50, ph=7.0)
    return shed


def exchange(shed: Shed, volume_l: float) -> None:
    shed.tell(WaterExchanged(at=shed.now, by="RM", tank=1, volume_l=volume_l))


def asked_to_hold(shed: Shed) -> set[int]:
    assert shed.flag("hold")
    return set(to_hold(shed.shift, shed.shift.tank(1)))


def test_a_ph_before_the_last_acid_or_exchange_raises_nothing(shed: Shed) -> None:
    for change in ("acid", "exchange"):
        shed.wait(6).read(fac=50, ph=8.6)
        assert shed.flag("ph-high")
        if change == "acid":
            shed.acid()
        else:
            exchange(shed, 400)
        shed.wait(6).read(fac=50)
        assert shed.flag("ph-high") is None
        shed.read(fac=50, ph=8.6)
        assert shed.flag("ph-high")


def test_a_reading_seconds_after_a_dose_clears_no_stop_and_closes_no_hold(shed: Shed) -> None:
    first = shed.wash(2)
    shed.wait(1).read(fac=20, ph=7.0)
    assert shed.flag("chlorine-critical")
    shed.wait(1).dose()
    shed.wait(0.2).read(fac=60, ph=7.0)
    advice = shed.look().tank(1)
    assert advice.condition is Condition.STOP
    later = shed.wash(1)
    shed.wait(5).read(fac=52, ph=7.0)
    assert shed.flag("chlorine-critical") is None
    assert asked_to_hold(shed) == {entry.seq for entry in first + later}


def test_a_low_reading_counts_even_before_a_dose_has_mixed_in(shed: Shed) -> None:
    shed.read(fac=30, ph=7.0)
    shed.dose()
    shed.wait(0.2).read(fac=20, ph=7.0)
    advice = shed.look().tank(1)
    assert advice.condition is Condition.STOP
    assert advice.step.kind is StepKind.WAIT


def test_a_reading_a_little_before_the_mixing_time_counts(shed: Shed) -> None:
    shed.read(fac=20, ph=7.0)
    shed.dose()
    shed.wait(4).read(fac=52, ph=7.0)
    assert shed.look().tank(1).condition is Condition.IN_LIMITS


def a_shed_by_total() -> Shed:
    tank = a_tank(1, "Dunk")
    by_total = replace(tank.chlorine, label_basis=LabelBasis.TOTAL)
    shed = Shed(a_setup(replace(tank, chlorine=by_total)))
    shed.fill()
    shed.read(fac=60, ph=7.0, total_mg_l=110)
    return shed


def test_a_total_over_the_label_stands_until_a_total_is_read() -> None:
    shed = a_shed_by_total()
    washed = shed.wash(1)
    shed.read(fac=55, ph=7.0)
    assert shed.flag("chlorine-label")
    assert asked_to_hold(shed) == {washed[0].seq}
    shed.wait(1).read(fac=55, ph=7.0, total_mg_l=90)
    assert shed.flag("chlorine-label") is None


def test_a_total_over_the_label_goes_with_the_water_that_is_exchanged() -> None:
    # Mass balance: half of the water leaves half of 110 mg/L.
    shed = a_shed_by_total()
    exchange(shed, 250)
    assert shed.flag("chlorine-label")
    shed.wait(6).read(fac=40, ph=7.0)
    assert shed.flag("chlorine-label") is None


def test_a_small_exchange_does_not_bring_a_total_under_the_label() -> None:
    shed = a_shed_by_total()
    exchange(shed, 10)
    shed.wait(6).read(fac=58, ph=7.0)
    assert shed.flag("chlorine-label")


def test_free_chlorine_over_the_label_maximum_is_over_it_for_total_too() -> None:
    shed = a_shed_by_total()
    shed.wait(1).read(fac=50, ph=7.0, total_mg_l=80)
    assert shed.flag("chlorine-label") is None
    (batch,) = shed.wash(1)
    shed.read(fac=105, ph=7.0)
    assert shed.flag("chlorine-label")
    assert asked_to_hold(shed) == {batch.seq}


def test_water_whose_ph_was_never_measured_is_not_in_limits() -> None:
    shed = Shed()
    shed.fill()
    shed.dose(ml=200)
    shed.wait(6).read(fac=50)
    advice = shed.look().tank(1)
    assert advice.condition is Condition.UNKNOWN
    assert advice.step.kind is StepKind.CHECK
    shed.wash(1)
    assert shed.flag("first-reading")
    shed.read(ph=7.0)
    assert shed.flag("first-reading") is None
    assert shed.look().tank(1).condition is Condition.IN_LIMITS


def test_a_ph_older_than_two_check_intervals_is_overdue(shed: Shed) -> None:
    for _ in range(2):
        shed.wait(28).read(fac=50)
    assert shed.flag("overdue") is None
    shed.wait(10).read(fac=50)
    flag = shed.flag("overdue")
    assert flag is not None
    assert flag.level is Level.WATCH
    assert say(flag.why, UnitSystem.METRIC) == "The last pH is 66\xa0min and 0 batches old."
    shed.read(ph=7.0)
    assert shed.flag("overdue") is None
