"""The pH of wash water and what hypochlorite does to it, against PHREEQC."""

import math
from itertools import product
from statistics import median

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.chemistry.geochemistry import BACKGROUND_MG_L, bleach, ph_after
from washmon.chemistry.acid import AcidKind
from washmon.chemistry.checks import ChemistryError
from washmon.chemistry.constants import constants
from washmon.chemistry.water import (
    CACO3_MG_PER_EQ,
    CL2_MG_PER_MOL,
    Water,
    at_ph,
    ph_of,
    source_water,
    with_acid,
    with_chlorine_used,
    with_hypochlorite,
)

GRID = list(
    product(
        (0.0, 20.0, 50.0, 100.0, 200.0, 400.0),
        (6.0, 6.5, 7.0, 7.5, 8.0, 8.5, 9.0, 9.5),
        (5.0, 15.0, 30.0),
        (0.0, 25.0, 100.0, 200.0),
    )
)


@pytest.mark.parametrize(
    ("celsius", "pk1", "pk2", "pkw"),
    [
        (5, 6.516, 10.554, 14.73),
        (10, 6.463, 10.488, 14.53),
        (15, 6.419, 10.428, 14.34),
        (20, 6.382, 10.376, 14.17),
        (25, 6.352, 10.329, 13.995),
        (30, 6.328, 10.288, 13.83),
    ],
)
def test_the_constants_are_those_of_the_tables(
    celsius: float, pk1: float, pk2: float, pkw: float
) -> None:
    # Plummer & Busenberg (1982), Geochim. Cosmochim. Acta 46:1011; water from phreeqc.dat.
    found = constants(float(celsius), 0.0)
    assert [-math.log10(k) for k in found[:3]] == pytest.approx([pk1, pk2, pkw], abs=0.006)


def test_salt_shifts_the_constants_as_davies_says() -> None:
    # Davies (1962): log gamma = -0.509 (√I / (1 + √I) - 0.3 I) at 25 °C; 0.9020 at 0.01 mol/L.
    assert constants(25.0, 0.01).gamma == pytest.approx(0.9020, abs=0.0005)


def test_the_ph_after_hypochlorite_agrees_with_phreeqc() -> None:
    gaps = []
    for alkalinity, ph, celsius, rise in GRID:
        source = source_water(alkalinity, ph, celsius, BACKGROUND_MG_L)
        carbon = source.carbonate_mol_l if alkalinity == 0 or source.carbonate_mol_l == 0 else None
        theirs = ph_after(alkalinity, ph, celsius, bleach(rise), carbon)
        gaps.append(abs(ph_of(with_hypochlorite(source, rise)) - theirs))
    assert len(gaps) == 576
    assert max(gaps) < 0.005  # 0.03 was asked
    assert median(gaps) < 0.0005


def test_the_ph_drifts_down_as_chlorine_is_used_up_as_phreeqc_says() -> None:
    # 100 ppm brought to pH 7.0; then 30 and 60 ppm are used, which leaves as much acid.
    source = source_water(100.0, 7.8, 20.0, BACKGROUND_MG_L)
    acid = 1.51e-3
    tank = with_acid(with_hypochlorite(source, 100.0), AcidKind.HYDROCHLORIC, acid)
    for used, about in ((0.0, 7.0), (30.0, 6.7), (60.0, 6.4)):
        left = bleach(100.0) | {"HCl": acid}
        gone = used / CL2_MG_PER_MOL
        left["NaHyp"] -= gone
        left["NaCl"] += gone
        theirs = ph_after(100.0, 7.8, 20.0, left)
        ours = ph_of(with_chlorine_used(tank, used))
        assert ours == pytest.approx(theirs, abs=0.01)
        assert ours == pytest.approx(about, abs=0.1)


def test_a_hundred_ppm_brings_seventy_of_alkalinity() -> None:
    # One mol of OCl- to the mol of Cl2: 0.706 mg/L as CaCO3 to the mg/L, from molar masses.
    source = source_water(100.0, 7.8, 20.0, 0.0)
    dosed = with_hypochlorite(source, 100.0, 0.0)
    gain = (dosed.alkalinity_eq_l - source.alkalinity_eq_l) * CACO3_MG_PER_EQ
    assert gain == pytest.approx(70.6, abs=0.05)


waters = st.builds(
    source_water, st.floats(5, 400), st.floats(6, 9.5), st.floats(2, 35), st.floats(0, 500)
)


@given(st.floats(20, 400), st.floats(6, 9.5), st.floats(2, 35))
def test_fresh_water_has_the_ph_it_was_given(alk: float, ph: float, celsius: float) -> None:
    assert ph_of(source_water(alk, ph, celsius, 0.0)) == pytest.approx(ph, abs=1e-6)


@given(waters, st.floats(1, 300), st.floats(1e-6, 1e-3), st.sampled_from(AcidKind))
def test_hypochlorite_raises_and_acid_lowers_the_ph(
    water: Water[float], rise: float, acid: float, kind: AcidKind
) -> None:
    dosed = with_hypochlorite(water, rise)
    before, after = ph_of(water), ph_of(dosed)
    assert after > before
    assert 2 < ph_of(with_acid(dosed, kind, acid)) < after < 13


@given(waters, st.floats(1, 300))
def test_all_chlorine_used_leaves_water_and_salt(water: Water[float], rise: float) -> None:
    # Conservation: what was brought is gone again but for the caustic, which is none here.
    spent = with_chlorine_used(with_hypochlorite(water, rise, 0.0), rise)
    assert spent.alkalinity_eq_l == pytest.approx(water.alkalinity_eq_l, abs=1e-12)
    assert spent.chlorine_mol_l == 0
    assert spent.salt_mol_l == pytest.approx(water.salt_mol_l + 2 * rise / CL2_MG_PER_MOL)


@given(waters, st.floats(6, 9))
def test_a_measured_ph_sets_the_alkalinity(water: Water[float], ph: float) -> None:
    assert ph_of(at_ph(water, ph)) == pytest.approx(ph, abs=1e-3)


def test_many_tanks_are_as_one_at_a_time() -> None:
    columns = [np.array(column) for column in zip(*GRID, strict=True)]
    salt = np.full(len(GRID), BACKGROUND_MG_L)
    fresh = source_water(columns[0], columns[1], columns[2], salt)
    together = ph_of(with_hypochlorite(fresh, columns[3]))
    alone = [
        ph_of(with_hypochlorite(source_water(alk, ph, celsius, BACKGROUND_MG_L), rise))
        for alk, ph, celsius, rise in GRID
    ]
    assert together == pytest.approx(np.array(alone), abs=1e-9)


@pytest.mark.parametrize(
    ("alk", "ph", "celsius", "sentence"),
    [
        (-1.0, 7.0, 20.0, "The alkalinity must be between 0 and 2000 mg/L"),
        (math.nan, 7.0, 20.0, "alkalinity"),
        (100.0, 15.0, 20.0, "pH of the source water"),
        (100.0, 7.0, 900.0, "temperature"),
    ],
)
def test_water_that_no_well_gives_is_refused(
    alk: float, ph: float, celsius: float, sentence: str
) -> None:
    with pytest.raises(ChemistryError, match=sentence):
        source_water(alk, ph, celsius, 0.0)


def test_more_chlorine_than_there_is_can_not_be_used_up() -> None:
    dosed = with_hypochlorite(source_water(100.0, 7.8, 20.0, 0.0), 50.0)
    with pytest.raises(ChemistryError, match="More chlorine"):
        with_chlorine_used(dosed, 50.1)
