"""What is believed of a tank's pH. The water behind the readings is PHREEQC's."""

import math
from itertools import pairwise
from statistics import fmean

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from tests.chemistry.geochemistry import bleach, ph_after
from tests.forecast.acid_worlds import look
from tests.shed import Shed, a_peracetic_setup, a_setup, a_tank
from washmon.forecast import ph_following
from washmon.forecast.ph import ph_forecast
from washmon.line.events import Method
from washmon.line.flags import Amount
from washmon.line.setup import LineSetup, SourceWater


def one_tank(**source: float) -> LineSetup:
    return a_setup(a_tank(1, "Only"), source=SourceWater(**source))


def told(alkalinity: float = 100.0, **source: float) -> Shed:
    shed = Shed(one_tank(alkalinity_mg_l=alkalinity, ph=7.8, **source))
    shed.fill()
    return shed


def test_fresh_water_is_believed_to_have_the_ph_of_its_source() -> None:
    found = look(told())
    assert found.read is None
    assert found.now.best == pytest.approx(7.8, abs=0.02)
    assert found.now.highest - found.now.lowest < 0.45


@pytest.mark.parametrize("alkalinity", [30.0, 100.0, 250.0])
@pytest.mark.parametrize("rise", [25.0, 50.0, 100.0, 150.0])
def test_a_dose_brings_the_ph_that_phreeqc_says(alkalinity: float, rise: float) -> None:
    shed = told(alkalinity)
    expected = ph_after(alkalinity, 7.8, 20.0, bleach(rise))
    found = look(shed).after(rise_mg_l=rise)
    assert found.best == pytest.approx(expected, abs=0.07)
    assert found.lowest < expected < found.highest
    shed.dose(ml=500 * rise / 125)  # and the same where it went in
    assert look(shed.wait(6)).now.best == pytest.approx(expected, abs=0.07)


@pytest.mark.parametrize("ml", [50.0, 150.0, 300.0])
def test_acid_brings_the_ph_that_phreeqc_says(ml: float) -> None:
    shed = told(100.0)
    shed.dose(ml=200)
    shed.wait(6)
    expected = ph_after(100.0, 7.8, 20.0, {**bleach(50.0), "HAcet": ml * 0.05 / 60.052 / 500})
    assert look(shed).after(acid=Amount(ml, "mL")).best == pytest.approx(expected, abs=0.12)
    shed.acid(ml=ml)
    assert look(shed.wait(6)).now.best == pytest.approx(expected, abs=0.12)


def test_the_range_narrows_with_what_was_read() -> None:
    shed = Shed(one_tank())
    shed.fill()
    shed.dose(ml=200)
    before = look(shed.wait(6)).now
    shed.read(1, 50, method=Method.KIT, ph=8.4)
    after = look(shed).now
    assert after.highest - after.lowest < 0.4 * (before.highest - before.lowest)
    assert after.best == pytest.approx(8.4, abs=0.1)


def test_one_absurd_reading_hardly_counts_and_the_second_does() -> None:
    shed = told()
    shed.dose(ml=200)
    shed.wait(6).read(1, 50, method=Method.KIT, ph=8.7)
    was = look(shed).now.best
    shed.wait(5).read(1, 50, method=Method.KIT, ph=7.2)
    once = look(shed).now
    assert once.lowest < 7.8
    shed.wait(5).read(1, 50, method=Method.KIT, ph=7.2)
    assert look(shed).now.best == pytest.approx(7.2, abs=0.3)
    shed.wait(5).read(1, 50, method=Method.KIT, ph=7.2)
    assert look(shed).now.best == pytest.approx(7.2, abs=0.15)
    assert was == pytest.approx(8.7, abs=0.1)


def test_a_strip_tells_less_than_a_meter_and_a_sample_too_early_less_still() -> None:
    def width(method: Method, wait: float) -> float:
        shed = Shed(one_tank())
        shed.fill()
        shed.dose(ml=200)
        shed.wait(wait).read(1, 50, method=Method.KIT, ph=8.4, ph_method=method)
        now = look(shed).now
        return now.highest - now.lowest

    assert width(Method.METER, 6) < width(Method.STRIP, 6) < width(Method.STRIP, 1)


@pytest.mark.parametrize(("alkalinity", "low", "high"), [(40.0, 15, 95), (280.0, 150, 460)])
def test_responses_tell_the_alkalinity(alkalinity: float, low: float, high: float) -> None:
    shed = Shed(one_tank(ph=7.8))
    shed.fill()
    acid = 0.0
    for ml in (0.0, 100.0, 100.0):
        if ml:
            shed.acid(ml=ml)
        else:
            shed.dose(ml=200)
        acid += ml * 0.05 / 60.052 / 500
        ph = ph_after(alkalinity, 7.8, 20.0, {**bleach(50.0), "HAcet": acid or 1e-12})
        shed.wait(6).read(1, 50, method=Method.KIT, ph=round(ph, 1))
    found = look(shed).alkalinity
    assert low < found.low < alkalinity < found.high < high


def test_what_one_tub_told_is_known_of_the_next() -> None:
    shed = Shed(a_setup(a_tank(1, "First"), a_tank(2, "Second")))
    for tank in (1, 2):
        shed.fill(tank)
        shed.dose(tank, ml=200)
    unknown = ph_forecast(shed.shift, shed.shift.tanks[1], shed.wait(6).now)
    for ml in (0.0, 120.0):
        if ml:
            shed.acid(1, ml=ml)
        acid = {"HAcet": ml * 0.05 / 60.052 / 500 or 1e-12}
        ph = ph_after(60, 7.6, 20, {**bleach(50), **acid})
        shed.wait(6).read(1, 50, method=Method.KIT, ph=round(ph, 1))
    known = ph_forecast(shed.shift, shed.shift.tanks[1], shed.now)
    assert unknown is not None
    assert known is not None
    assert known.read is None
    assert known.now.high - known.now.low < 0.6 * (unknown.now.high - unknown.now.low)


def test_drift_is_learned_from_the_batches_and_looked_ahead() -> None:
    shed = told(100.0)
    shed.dose(ml=200)
    acid = ph_after(100.0, 7.8, 20.0, {**bleach(50.0), "HAcet": 7e-4})
    shed.acid(ml=7e-4 * 500 / (0.05 / 60.052))
    shed.wait(6).read(1, 50, method=Method.KIT, ph=round(acid, 2))
    for part in range(1, 6):  # produce whose sap brings 0.04 meq/L with each batch
        for _ in range(3):
            shed.wash()
        true = ph_after(100.0, 7.8, 20.0, {**bleach(50.0), "HAcet": 7e-4, "HCl": 1.2e-4 * part})
        shed.read(1, 50, method=Method.KIT, ph=round(true, 2))
    found = look(shed)
    expected = ph_after(100.0, 7.8, 20.0, {**bleach(50.0), "HAcet": 7e-4, "HCl": 7.2e-4})
    assert found.after(batches=3).best == pytest.approx(expected, abs=0.1)
    assert found.batches_until_high(9.5).low == math.inf
    assert found.batches_until_high(5.0) == found.batches_until_high(4.0)


def test_fresh_water_in_place_of_a_part_brings_the_ph_toward_its_own() -> None:
    shed = told(100.0)
    shed.dose(ml=200)
    shed.acid(ml=350)
    sour = look(shed.wait(6))
    assert sour.now.best < 7.5
    half = sour.after(exchanged=0.5).best
    mixed = {kind: mol / 2 for kind, mol in bleach(50.0).items()}
    mixed["HAcet"] = 350 * 0.05 / 60.052 / 1000
    assert half == pytest.approx(ph_after(100.0, 7.8, 20.0, mixed), abs=0.12)
    assert sour.after(exchanged=1.0).best == pytest.approx(7.8, abs=0.05)


def test_a_waiting_fill_does_not_drift_with_the_batches_of_its_tank() -> None:
    shed = Shed(one_tank(alkalinity_mg_l=100, ph=7.8))
    shed.fill()
    shed.fill(second=True)
    shed.dose(second=True, ml=200)
    waits = shed.shift.tanks[0].second
    before = ph_forecast(shed.shift, shed.shift.tanks[0], shed.now, waits)
    for _ in range(10):
        shed.wash()
    waits = shed.shift.tanks[0].second
    after = ph_forecast(shed.shift, shed.shift.tanks[0], shed.now, waits)
    assert before is not None
    assert after is not None
    assert after.now.best == pytest.approx(before.now.best, abs=0.02)
    assert after.now.lowest == pytest.approx(before.now.lowest, abs=0.02)


def test_peracetic_acid_and_an_empty_tank_have_no_forecast() -> None:
    shed = Shed(a_peracetic_setup())
    assert ph_forecast(shed.shift, shed.shift.tanks[0], shed.now) is None
    shed.fill()
    assert ph_forecast(shed.shift, shed.shift.tanks[0], shed.now) is None


def test_an_instrument_reads_about_the_ph_and_a_strip_less_surely() -> None:
    found = look(told())
    meter, strip = found.will_read(Method.METER), found.will_read(Method.STRIP)
    assert meter.mid == pytest.approx(found.now.best, abs=0.05)
    assert strip.low < meter.low < meter.mid < meter.high < strip.high


def test_caustic_told_in_the_set_up_moves_the_ph_of_a_dose() -> None:
    def brings(caustic: float | None) -> float:
        setup = one_tank(alkalinity_mg_l=60, ph=7.8)
        # NaOH, % by weight, in 125 g/L at 1.17 kg/L
        pct = None if caustic is None else caustic * 125 / 70.906 * 39.997 / 11.7
        product = replace(setup.sanitizers[0], caustic_pct=pct)
        shed = Shed(replace(setup, sanitizers=(product,)))
        shed.fill()
        return look(shed).after(rise_mg_l=100).best

    dose = 100 / 70_906
    for caustic in (0.02, 0.2):
        reaction = {"NaHyp": dose, "NaOH": caustic * dose, "NaCl": dose}
        assert brings(caustic) == pytest.approx(ph_after(60, 7.8, 20, reaction), abs=0.08)
    assert brings(0.02) < brings(None) < brings(0.2)


READINGS = st.lists(
    st.tuples(
        st.sampled_from(["read", "dose", "acid", "wash"]),
        st.floats(0, 14),
        st.floats(0, 500),
        st.sampled_from(list(Method)),
        st.sampled_from([0.0, 1.0, 6.0, 60.0]),
    ),
    max_size=12,
)


@given(story=READINGS, alkalinity=st.one_of(st.none(), st.floats(0, 1000)))
@settings(max_examples=60, deadline=None)
def test_whatever_is_entered_the_forecast_exists_and_telling_it_at_once_changes_nothing(
    story: list[tuple[str, float, float, Method, float]], alkalinity: float | None
) -> None:
    source = {} if alkalinity is None else {"alkalinity_mg_l": alkalinity}
    shed = Shed(one_tank(**source))
    shed.fill()
    for what, ph, amount, method, wait in story:
        shed.wait(wait)
        match what:
            case "read":
                shed.read(1, amount, method=method, ph=ph, ph_method=method)
            case "dose":
                shed.dose(ml=amount + 0.1)
            case "acid":
                shed.acid(ml=amount + 0.1)
            case "wash":
                shed.wash()
        now = look(shed).now
        ends = (now.lowest, now.low, now.best, now.high, now.highest)
        assert all(1.0 <= end <= 14.0 for end in ends)
        assert all(one <= other for one, other in pairwise(ends))
    tank = shed.shift.tanks[0]
    step_by_step = ph_following.belief_of(shed.shift.setup, tank.spec, tank.fills[-1])
    ph_following._followed.cache_clear()
    ph_following._belief_of.cache_clear()
    at_once = ph_following.belief_of(shed.shift.setup, tank.spec, tank.fills[-1])
    assert np.array_equal(step_by_step.base, at_once.base)


def test_the_range_holds_what_is_read_next_as_often_as_it_says() -> None:
    """Meters in 150 tanks of PHREEQC: a first pH after the dose, acid, the next pH foretold."""
    rng, inside, pits = np.random.default_rng(5), [], []
    for _ in range(150):
        alkalinity, source_ph = rng.uniform(20, 400), rng.uniform(7.0, 8.4)
        shed = Shed(one_tank())
        shed.fill()
        shed.dose(ml=200)
        ph = ph_after(alkalinity, source_ph, 20.0, bleach(50.0))
        shed.wait(6).read(1, 50, method=Method.KIT, ph=round(ph + rng.normal(0, 0.07), 1))
        ml = rng.uniform(50, 200)
        foretold = look(shed).after(acid=Amount(ml, "mL"))
        acid = {"HAcet": ml * 0.05 / 60.052 / 500}
        true = ph_after(alkalinity, source_ph, 20.0, {**bleach(50.0), **acid})
        inside.append(foretold.lowest <= true <= foretold.highest)
        pits.append(foretold.low <= true <= foretold.high)
    assert fmean(inside) > 0.93
    assert fmean(pits) > 0.72


def test_of_a_strips_wide_pad_the_dose_that_went_in_tells_which_part() -> None:
    """80 ppm read as the pad 100 took acid for a fifth too much chlorine: pH 6.45."""

    def levels(read: float, washed: int = 0) -> float:
        shed = told(100.0)
        shed.dose(ml=320)  # 80 ppm
        for _ in range(washed):
            shed.wash()
        shed.wait(6).read(1, read, method=Method.STRIP, ph=8.7)
        tank = shed.shift.tanks[0]
        return ph_following.belief_of(shed.shift.setup, tank.spec, tank.fills[-1]).level_mg_l

    assert levels(100.0) == pytest.approx(80.0, rel=0.01)
    assert levels(50.0) == pytest.approx(75.0, rel=0.01)  # the top of what a pad of 50 may be
    assert levels(50.0, washed=3) == pytest.approx(62.5, rel=0.01)
    assert levels(200.0) == pytest.approx(150.0, rel=0.01)
