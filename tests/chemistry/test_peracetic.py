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
    PeraceticContents,
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


def test_what_a_label_does_not_name_is_not_in_the_product() -> None:
    bare = PeraceticProduct(15.0, 10.0, 1.12)
    assert (bare.acetic_pct, bare.hedp_pct) == (0.0, 0.0)
    assert contents_at(60.0, bare).hedp_mg_l == 0.0


@pytest.mark.parametrize(
    ("paa", "peroxide", "hedp", "most"),
    [
        (15.0, 0.0, 0.0, 80.0),
        (0.6, 0.5, 0.0, 59 * 0.6 / 0.5),  # under 1 % of it counts, too
        (5.3, 0.0, 0.6, 4.8 * 5.3 / 0.6),
        (5.3, 22.0, 0.6, 59 * 5.3 / 22),
        (5.0, 3.0, 0.3, 80.0),
    ],
)
def test_the_highest_level_just_keeps_every_limit(
    paa: float, peroxide: float, hedp: float, most: float
) -> None:
    # 21 CFR 173.315(a)(5): 80, 59 and 4.8 mg/L.
    product = PeraceticProduct(paa, peroxide, 1.1, hedp_pct=hedp)
    highest = highest_paa_mg_l(product)
    assert highest == pytest.approx(most)
    assert contents_at(highest * (1 - 1e-9), product).over == ()
    assert len(contents_at(highest * (1 + 1e-6), product).over) >= 1


def test_at_its_limit_a_content_is_not_over() -> None:
    assert PeraceticContents(80.0, 59.0, 4.8).over == ()
    for over, name in ((0, "paa"), (1, "peroxide"), (2, "hedp")):
        values = [80.0, 59.0, 4.8]
        values[over] *= 1.001
        assert PeraceticContents(*values).over == (name,)
