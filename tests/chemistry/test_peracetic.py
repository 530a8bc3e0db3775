"""Peracetic acid: dose, limits and pH."""

import math
from dataclasses import astuple

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.chemistry.geochemistry import BACKGROUND_MG_L, ph_after
from washmon.chemistry.checks import ChemistryError
from washmon.chemistry.peracetic import (
    LIMIT_HEDP_MG_L,
    LIMIT_PAA_MG_L,
    LIMIT_PEROXIDE_MG_L,
    PeraceticProduct,
    contents_at,
    highest_paa_mg_l,
    peracetic_dose_ml,
    with_peracetic,
)
from washmon.chemistry.water import ph_of, source_water

FIVE_AND_TWENTY_TWO = PeraceticProduct(5.3, 22.0, 1.12, acetic_pct=8.0, hedp_pct=0.6)
FIFTEEN_AND_TEN = PeraceticProduct(15.0, 10.0, 1.15, acetic_pct=16.0, hedp_pct=0.3)


def test_the_limits_are_those_of_the_federal_rule() -> None:
    # 21 CFR 173.315(a)(5), as reproduced in CDC's VSP 2018 Operations Manual, page 266.
    assert (LIMIT_PAA_MG_L, LIMIT_PEROXIDE_MG_L, LIMIT_HEDP_MG_L) == (80, 59, 4.8)


def test_a_product_can_keep_one_limit_and_break_the_other() -> None:
    # 21 CFR 173.315(a)(5). Much peroxide: 60 ppm of PAA brings 249 of peroxide.
    rich = contents_at(60, FIVE_AND_TWENTY_TWO)
    assert rich.peroxide_mg_l == pytest.approx(249, abs=0.5)
    assert rich.over == ("peroxide", "hedp")
    assert contents_at(60, FIFTEEN_AND_TEN).over == ()
    assert contents_at(81, FIFTEEN_AND_TEN).over == ("paa",)
    assert highest_paa_mg_l(FIVE_AND_TWENTY_TWO) == pytest.approx(59 * 5.3 / 22)
    assert highest_paa_mg_l(FIFTEEN_AND_TEN) == 80


def test_the_dose_is_by_weight_and_density() -> None:
    # mL = V Δ / (10 % SG): 1000 L to 60 ppm with 15 %, 1.15 kg/L, mass balance.
    assert peracetic_dose_ml(1000.0, 0.0, 60.0, FIFTEEN_AND_TEN) == pytest.approx(348, abs=0.5)
    # Without density, 400 mL: 15 % too much.
    assert pytest.approx(1.15, abs=0.005) == 1000 * 60 / 150 / 348


@given(st.floats(10, 10_000), st.floats(0, 60), st.floats(1, 60))
def test_the_dose_brings_what_was_asked(volume: float, level: float, rise: float) -> None:
    amount = peracetic_dose_ml(volume, level, level + rise, FIFTEEN_AND_TEN)
    mixed = (level * volume + amount * 172.5) / (volume + amount / 1000)
    assert mixed == pytest.approx(level + rise)


@pytest.mark.parametrize(("alkalinity", "paa"), [(20, 40), (20, 80), (100, 80), (300, 80)])
def test_a_dose_lowers_the_ph_as_phreeqc_says(alkalinity: float, paa: float) -> None:
    # PHREEQC with peracetic acid built in, pKa 8.2, value from memory.
    source = source_water(float(alkalinity), 7.8, 15.0, BACKGROUND_MG_L)
    acetic = paa * 16 / 15
    theirs = ph_after(alkalinity, 7.8, 15.0, {"HPera": paa / 76_051, "HAcet": acetic / 60_052})
    ours = ph_of(with_peracetic(source, float(paa), FIFTEEN_AND_TEN))
    assert ours == pytest.approx(theirs, abs=0.01)
    assert ours < 7.8


@pytest.mark.parametrize(
    "label",
    [
        (0, 22, 1.1),
        (60, 10, 1.1),
        (15, 90, 1.1),
        (15, 10, 1100),
        (15, -1, 1.1),
        (15, math.nan, 1.1),
    ],
)
def test_a_label_that_can_not_be_is_refused(label: tuple[float, float, float]) -> None:
    with pytest.raises(ChemistryError):
        PeraceticProduct(*label)


def test_a_dose_that_makes_no_sense_is_refused() -> None:
    for volume, level, target in ((0, 0, 60), (500, 60, 60), (500, -1, 60), (500, 0, math.nan)):
        with pytest.raises(ChemistryError):
            peracetic_dose_ml(float(volume), float(level), target, FIFTEEN_AND_TEN)
    assert astuple(contents_at(0.0, FIFTEEN_AND_TEN)) == (0, 0, 0)
