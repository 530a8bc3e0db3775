"""Acid in careful steps."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from washmon.chemistry.acid import ACIDS, AcidKind, acid_mol_per_unit, is_solid, small_step
from washmon.chemistry.checks import ChemistryError

TUB_L, TEASPOON_ML = 5 * 3.785411784, 4.92892159375
MG_L_CACO3_PER_EQ = 50_043.5

# pK1, pK2 and pKw from 5 to 30 °C: Plummer & Busenberg (1982), Geochim. Cosmochim. Acta 46:1011,
# as PHREEQC's phreeqc.dat has them.
CARBONATE = {5: (6.516, 10.554, 14.73), 20: (6.382, 10.376, 14.17), 30: (6.328, 10.288, 13.83)}


def ph_after(alkalinity_mg_l: float, ph: float, acid_eq_l: float, celsius: int) -> float:
    """Closed-system pH of plain bicarbonate water after a strong acid: the worst case."""
    k1, k2, kw = (10**-pk for pk in CARBONATE[celsius])

    def alkalinity(ph: float, total: float) -> float:
        h: float = 10**-ph
        return total * (k1 * h + 2 * k1 * k2) / (h * h + k1 * h + k1 * k2) + kw / h - h

    start = alkalinity_mg_l / MG_L_CACO3_PER_EQ
    total = (start - alkalinity(ph, 0.0)) / (alkalinity(ph, 1.0) - alkalinity(ph, 0.0))
    return float(brentq(lambda x: alkalinity(x, total) - (start - acid_eq_l), 1, 13))


def test_a_tub_of_five_gallons_takes_half_a_teaspoon_of_vinegar() -> None:
    # Common practice, no published source.
    step = small_step(TUB_L, 7.8, AcidKind.VINEGAR)
    assert step / TEASPOON_ML == pytest.approx(0.5, rel=1e-9)
    assert small_step(10 * TUB_L, 7.8, AcidKind.VINEGAR) == pytest.approx(10 * step)
    assert small_step(TUB_L, 7.8, AcidKind.VINEGAR, 10.0) == pytest.approx(step / 2)


@pytest.mark.parametrize(
    ("kind", "mol_per_l_or_kg"),
    [
        # Worked by hand from molar masses, strengths and densities usually sold.
        (AcidKind.VINEGAR, 0.833),
        (AcidKind.HYDROCHLORIC, 10.0),
        (AcidKind.PHOSPHORIC, 12.08),
        (AcidKind.CITRIC, 5.2),
        (AcidKind.SODIUM_BISULFATE, 7.75),
    ],
)
def test_what_is_sold_holds_so_much_acid(kind: AcidKind, mol_per_l_or_kg: float) -> None:
    assert acid_mol_per_unit(kind) * 1000 == pytest.approx(mol_per_l_or_kg, rel=0.007)


@pytest.mark.parametrize("kind", AcidKind)
def test_every_acid_gives_the_same_equivalents_in_a_step(kind: AcidKind) -> None:
    equivalents = small_step(500.0, 8.0, kind) * acid_mol_per_unit(kind) * ACIDS[kind].protons
    assert equivalents / 500 == pytest.approx(0.1085e-3, rel=0.001)


@pytest.mark.parametrize("celsius", CARBONATE)
@pytest.mark.parametrize("ph", [7.0, 7.5, 8.0, 8.5])
def test_a_step_can_not_take_the_softest_plausible_water_under_ph_six(
    ph: float, celsius: int
) -> None:
    step_eq_l = small_step(500.0, ph, AcidKind.VINEGAR) * acid_mol_per_unit(AcidKind.VINEGAR) / 500
    assert 6.2 < ph_after(20.0, ph, step_eq_l, celsius) < ph


@given(st.floats(1, 50_000), st.floats(7, 10), st.sampled_from(AcidKind))
def test_a_step_grows_with_the_tank_and_is_always_an_amount(
    volume: float, ph: float, kind: AcidKind
) -> None:
    step = small_step(volume, ph, kind)
    assert 0 < step < math.inf
    assert small_step(volume * 2, ph, kind) == pytest.approx(step * 2)


@pytest.mark.parametrize(
    ("volume", "ph", "strength", "sentence"),
    [
        (500, 6.4, 5, r"The pH is 6\.4 already: add no acid\."),
        (0, 7.8, 5, "no water in this tank"),
        (500, 13, 5, "read it again, or drain"),
        (500, math.nan, 5, "The pH must be between"),
        (500, 7.8, 120, "An acid of 120 % is not possible"),
        (500, 7.8, 0, "An acid of 0 % is not possible"),
    ],
)
def test_acid_that_is_not_due_is_refused(
    volume: float, ph: float, strength: float, sentence: str
) -> None:
    with pytest.raises(ChemistryError, match=sentence):
        small_step(volume, ph, AcidKind.VINEGAR, strength)


def test_dry_acids_are_weighed() -> None:
    assert [kind for kind in AcidKind if is_solid(kind)] == [
        AcidKind.CITRIC,
        AcidKind.SODIUM_BISULFATE,
    ]
    assert [kind for kind in AcidKind if ACIDS[kind].uses_up_chlorine] == [AcidKind.CITRIC]


@pytest.mark.parametrize(
    ("kind", "pct", "density"),
    [
        # Phosphoric at 20 to 30 °C: handbooks listed in ECHA registration dossier 15531.
        (AcidKind.PHOSPHORIC, 10.0, 1.0517),
        (AcidKind.PHOSPHORIC, 30.0, 1.1794),
        (AcidKind.PHOSPHORIC, 50.0, 1.335),
        (AcidKind.PHOSPHORIC, 75.0, 1.575),
        (AcidKind.PHOSPHORIC, 85.0, 1.69),
        # Hydrochloric at 20 °C: a public copy of the handbook table (10, 20, 32, 34 %).
        (AcidKind.HYDROCHLORIC, 10.0, 1.048),
        (AcidKind.HYDROCHLORIC, 20.0, 1.098),
        (AcidKind.HYDROCHLORIC, 32.0, 1.159),
        (AcidKind.HYDROCHLORIC, 34.0, 1.169),
    ],
)
def test_the_density_goes_with_the_strength(kind: AcidKind, pct: float, density: float) -> None:
    """One density for every strength made phosphoric 85 % 7 % too weak, 10 % half too strong."""
    assert ACIDS[kind].density_at(pct) == pytest.approx(density, rel=4e-3)
    mol = acid_mol_per_unit(kind, pct)
    assert mol == pytest.approx(pct / 100 * density / ACIDS[kind].g_per_mol, rel=4e-3)
    assert acid_mol_per_unit(kind, pct, 1.3) == pytest.approx(
        pct / 100 * 1.3 / ACIDS[kind].g_per_mol
    )


def test_what_is_sold_has_a_density_where_its_strength_needs_one() -> None:
    told = {kind: ACIDS[kind].density_kg_l for kind in AcidKind}
    needed = {AcidKind.HYDROCHLORIC: 1.156, AcidKind.PHOSPHORIC: 1.579}
    assert told == pytest.approx(dict.fromkeys(AcidKind, 0.0) | needed, rel=1e-3)
