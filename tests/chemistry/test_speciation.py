"""Hypochlorous acid against pH and temperature."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.chemistry.geochemistry import hocl_share as phreeqc_share
from washmon.chemistry.checks import ChemistryError
from washmon.chemistry.speciation import hocl_share, hocl_share_in_salt, pka


@pytest.mark.parametrize(
    ("celsius", "expected"),
    [(0, 7.825), (5, 7.754), (10, 7.690), (15, 7.633), (20, 7.582), (25, 7.537), (30, 7.497)],
)
def test_the_pka_is_that_of_morris(celsius: float, expected: float) -> None:
    # Morris (1966), J. Phys. Chem. 70:3798, worked out by hand from the published fit.
    assert pka(celsius) == pytest.approx(expected, abs=0.001)


def test_the_constant_at_twenty_degrees_is_the_one_in_handbooks() -> None:
    # 2.6e-8 to 2.7e-8 mol/L at 20 °C: White, Handbook of Chlorination, value from memory.
    assert 10 ** -pka(20.0) == pytest.approx(2.65e-8, rel=0.03)


@pytest.mark.parametrize(
    ("ph", "shares"),
    [
        (5.0, (99.9, 99.8, 99.7, 99.7)),
        (6.0, (98.5, 98.0, 97.4, 97.2)),
        (6.5, (95.5, 93.9, 92.3, 91.6)),
        (7.0, (87.0, 83.1, 79.2, 77.5)),
        (7.5, (67.9, 60.8, 54.7, 52.1)),
        (8.0, (40.1, 32.9, 27.6, 25.6)),
        (8.5, (17.4, 13.4, 10.8, 9.8)),
        (9.0, (6.3, 4.7, 3.7, 3.3)),
    ],
)
def test_the_share_is_within_a_point_of_the_handbook_table(
    ph: float, shares: tuple[float, ...]
) -> None:
    # White's handbook tables follow Morris (1966); rows at 0, 10, 20 and 25 °C.
    for celsius, share in zip((0.0, 10.0, 20.0, 25.0), shares, strict=True):
        assert hocl_share(ph, celsius) * 100 == pytest.approx(share, abs=1.0)


def test_at_ph_seven_about_four_fifths_are_active() -> None:
    # Food Safety Resource Clearinghouse, node 1119 (extension text): "about 80 % at pH 7".
    assert hocl_share(7.0, 20.0) == pytest.approx(0.80, abs=0.02)


def test_the_other_published_constant_changes_the_share_by_seven_points_at_most() -> None:
    # ECHA registration dossier 16137: Ka 3.5e-8 at 20 °C.
    theirs = [1 / (1 + 10 ** (ph + math.log10(3.5e-8))) for ph in np.arange(6, 9, 0.1)]
    ours = hocl_share(np.arange(6, 9, 0.1), np.full(30, 20.0))
    gap = np.abs(ours - np.array(theirs))
    assert 0.06 < gap.max() < 0.075


@pytest.mark.parametrize("salt", [0.001, 0.01, 0.04])
@pytest.mark.parametrize("celsius", [5.0, 15.0, 30.0])
@pytest.mark.parametrize("ph", [6.0, 7.0, 7.5, 8.0, 9.5])
def test_salt_lowers_the_share_as_in_phreeqc(ph: float, celsius: float, salt: float) -> None:
    # PHREEQC with the pKa of Morris (1966) and its own activities.
    share = hocl_share_in_salt(ph, celsius, salt)
    assert share == pytest.approx(phreeqc_share(ph, celsius, salt), abs=0.003)
    assert share < hocl_share(ph, celsius)


@given(st.floats(0, 13.9), st.floats(0, 40))
def test_a_higher_ph_and_warmer_water_both_leave_less(ph: float, celsius: float) -> None:
    share = hocl_share(ph, celsius)
    assert 0 <= share <= 1
    assert hocl_share(ph + 0.1, celsius) < share
    assert hocl_share(ph, celsius + 1) <= share


@pytest.mark.parametrize(("ph", "celsius"), [(-0.1, 20), (14.1, 20), (math.nan, 20), (7, 900)])
def test_water_that_does_not_exist_is_refused(ph: float, celsius: float) -> None:
    with pytest.raises(ChemistryError):
        hocl_share(ph, celsius)
