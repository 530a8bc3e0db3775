"""What doses certainly brought, and the most that a level can be, by mass balance."""

from datetime import timedelta

import pytest
from msgspec.structs import replace

from tests.shed import Shed, a_peracetic_setup, a_setup, a_tank
from washmon.chemistry.hypochlorite import StrengthBasis
from washmon.line.certain import Certain, certain_level, level_before
from washmon.line.events import DoseAdded, Method, ReadingTaken, WaterExchanged
from washmon.line.flags import Amount
from washmon.line.peracetic import brought
from washmon.line.product import dose, most_to, rise
from washmon.line.setup import SanitizerKind

# 40 mL of 125 g/L bring 10 mg/L to 500 L. A kit is 10 % off: what reads 30 may be 33 (tests of the
# chemistry hold that against its source).


def certain(shed: Shed) -> Certain | None:
    tank = shed.shift.tank(1)
    assert tank.fill is not None
    return certain_level(tank.fill, tank.spec, shed.shift.setup)


def told(acts: str) -> Shed:
    """Return a shift in which it went like this, one act after another.

    ``d`` doses 10 mg/L, ``w`` washes a batch, ``r`` reads 30 a mixing time later, ``e`` exchanges
    half of the water, ``z`` waits for longer than a reading of waiting water counts.
    """
    shed = Shed(a_setup(a_tank(1, "Only")))
    shed.fill()
    for act in acts:
        shed.wait(1)
        match act:
            case "d":
                shed.dose(ml=40)
            case "w":
                shed.wash(1)
            case "r":
                shed.wait(5).read(fac=30, ph=7.0)
            case "p":
                shed.wait(5).read(ph=7.0)
            case "e":
                shed.tell(WaterExchanged(at=shed.now, by="RM", tank=1, volume_l=250.0))
            case "z":
                shed.wait(60)
    return shed


@pytest.mark.parametrize(
    ("acts", "low", "high"),
    [
        ("d", 10, 10),
        ("dd", 20, 20),
        ("dp", 10, 10),  # a reading of pH tells nothing of it
        ("dwd", 10, 20),  # a batch may have used up what went in first
        ("ddw", 20, 20),  # what was put in last stays believed until it is read
        ("ddwd", 20, 30),  # as much as it ever was
        ("wd", 10, 10),  # fresh water holds none
        ("rd", 40, 43),
        ("rdd", 50, 53),
        ("rwd", 10, 43),
        ("rzd", 10, 43),  # a reading of long ago is gone
        ("de", 5, 5),
        ("ded", 15, 15),
        ("rde", 20, 21.5),
        ("red", 25, 26.5),
        ("ddwed", 10, 20),  # half of the 20 was drained; of the rest a batch may have taken all
    ],
)
def test_what_certainly_is_in_the_water_by_what_went_in(acts: str, low: float, high: float) -> None:
    found = certain(told(acts))
    assert found is not None
    assert found.high_mg_l == pytest.approx(high, rel=5e-3)
    assert found.low_mg_l == pytest.approx(low, rel=5e-3)


@pytest.mark.parametrize("acts", ["", "r", "dr", "e", "w", "der"])
def test_nothing_is_certain_without_a_dose_that_no_reading_shows(acts: str) -> None:
    assert certain(told(acts)) is None


def test_the_dose_that_brought_the_peak_is_the_one_that_is_named() -> None:
    shed = told("ddwd")
    found = certain(shed)
    fill = shed.shift.tank(1).fill
    assert found is not None
    assert fill is not None
    assert found.dose == fill.doses[1]
    again = certain(told("wdwd"))  # as much as before is no more
    assert again is not None
    assert again.dose.batches == 1


@pytest.mark.parametrize(
    ("acts", "level", "most"),
    [
        ("", 0, 0),
        ("d", 10, 10),
        ("dr", 30, 33),
        ("rd", 40, 43),
        ("rwdd", 50, 53),
        ("re", 15, 16.5),
        ("rde", 20, 21.5),
        ("red", 25, 26.5),
        ("rp", 30, 33),
    ],
)
def test_the_most_that_a_level_can_be_before_an_entry(acts: str, level: float, most: float) -> None:
    shed = told(acts)
    tank = shed.shift.tank(1)
    assert tank.fill is not None
    dose = DoseAdded(at=shed.now, by="RM", tank=1, product="bleach", amount=Amount(40, "mL"))
    found = level_before(shed.shift, tank.fill, dose)
    assert found.level_mg_l == pytest.approx(level, rel=5e-3)
    assert found.most_mg_l == pytest.approx(most, rel=5e-3)
    last = acts.rfind("d")
    fresh = last > acts.rfind("r")
    assert (found.unmeasured_at is not None) is fresh
    if fresh:
        assert found.unmeasured_at == tank.fill.doses[-1].event.at


def test_what_comes_after_an_entry_does_not_count_for_it() -> None:
    shed = told("rd")
    early = shed.now - timedelta(minutes=1)
    shed.wait(6).read(fac=80, ph=7.0, method=Method.METER)
    tank = shed.shift.tank(1)
    assert tank.fill is not None
    reading = ReadingTaken(at=early, by="RM", tank=1, fac_mg_l=30.0)
    found = level_before(shed.shift, tank.fill, reading)
    assert (found.level_mg_l, found.unmeasured_at) == (30.0, None)


@pytest.mark.parametrize("level", [0.0, 40.0])
@pytest.mark.parametrize("which", ["bleach", "granules", "paa"])
def test_what_is_dosed_raises_the_water_to_what_was_aimed_at(which: str, level: float) -> None:
    """However much it is: what is poured in thins what was there, and takes part of the volume."""
    products = {
        "bleach": a_setup().sanitizers[0],
        "granules": replace(
            a_setup().sanitizers[0],
            kind=SanitizerKind.CALCIUM,
            strength=65.0,
            basis=StrengthBasis.WEIGHT_PCT_AVAILABLE_CHLORINE,
            density_kg_l=None,
        ),
        "paa": a_peracetic_setup().sanitizers[0],
    }
    product, volume_l, target = products[which], 500.0, 2000.0
    amount = dose(product, volume_l, level, target)
    gained = rise(product, volume_l, amount)
    thinned = 0.0 if amount.unit == "g" else amount.value / 1000.0
    was = level * volume_l / (volume_l + thinned)
    assert was + gained == pytest.approx(target, rel=1e-6)
    assert most_to(product, volume_l, level, target).value == pytest.approx(amount.value)


def test_peroxide_and_stabiliser_stay_of_what_was_dosed_until_water_is_exchanged() -> None:
    """By hand: 100 mL of 1.12 kg/L hold 11.2 g of peroxide (10 %) and 0.672 g of HEDP (0.6 %)."""
    setup = a_peracetic_setup()
    shed = Shed(setup)
    shed.fill()

    def held() -> tuple[float, float]:
        fill = shed.shift.tank(1).fill
        assert fill is not None
        found = brought(setup, fill)
        return found.peroxide_mg_l, found.hedp_mg_l

    assert held() == (0.0, 0.0)
    paa = DoseAdded(at=shed.now, by="RM", tank=1, product="paa", amount=Amount(100.0, "mL"))
    shed.tell(paa)
    assert held() == pytest.approx((22.4, 1.344))
    shed.wait(1).tell(replace(paa, at=shed.now))
    assert held() == pytest.approx((44.8, 2.688))
    shed.wait(1).tell(WaterExchanged(at=shed.now, by="RM", tank=1, volume_l=250.0))
    assert held() == pytest.approx((22.4, 1.344))
    shed.wait(1).read(paa_mg_l=30.0, peroxide_mg_l=30.0)  # more was there, it may have been
    assert held() == pytest.approx((30.0, 1.344))
    shed.wait(1).read(paa_mg_l=30.0, peroxide_mg_l=10.0)
    assert held() == pytest.approx((30.0, 1.344))
    shed.wait(1).tell(replace(paa, at=shed.now, product="unknown"))
    assert held() == pytest.approx((30.0, 1.344))
    shed.wait(1).tell(WaterExchanged(at=shed.now, by="RM", tank=1, volume_l=500.0))
    assert held() == (0.0, 0.0)
