"""Lowering by a change of water, neutralising before discharge, and exposure of a batch."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from washmon.chemistry.checks import ChemistryError
from washmon.chemistry.dilution import drained_share, overflow_l
from washmon.chemistry.exposure import (
    LevelAt,
    ct_mg_min_l,
    ct_over_mg_min_l,
    hocl_ct_mg_min_l,
)
from washmon.chemistry.neutralising import FIELD_DOSE_G_PER_G, Neutraliser, neutraliser_g


def test_half_the_water_halves_the_level() -> None:
    assert drained_share(200.0, 100.0) == pytest.approx(0.5)
    # A steady overflow of ln 2 volumes does the same: stirred-tank dilution.
    assert overflow_l(1000.0, 200.0, 100.0) == pytest.approx(693.1, abs=0.1)


@given(st.floats(50, 1000), st.floats(0.02, 0.98), st.floats(0, 5))
def test_what_was_drained_brings_the_level_to_its_target(
    level: float, share: float, fresh: float
) -> None:
    target = (1.0 - share) * level + share * fresh  # a mass balance of what stays and what comes
    assert drained_share(level, target, fresh) == pytest.approx(share)
    assert overflow_l(500.0, level, target, fresh) > share * 500.0  # refilling wastes less


@pytest.mark.parametrize(
    ("level", "target", "fresh", "sentence"),
    [
        (50, 100, 0, "not above its target"),
        (100, 3, 4, "fresh water is itself above"),
        (100, 0.01, 0, "empty the tank"),
        (-1, 5, 0, "present level"),
        (math.nan, 5, 0, "present level"),
    ],
)
def test_a_change_of_water_that_can_not_help_is_refused(
    level: float, target: float, fresh: float, sentence: str
) -> None:
    with pytest.raises(ChemistryError, match=sentence):
        drained_share(level, target, fresh)
    with pytest.raises(ChemistryError, match=sentence):
        overflow_l(500.0, level, target, fresh)


# Reactions with Cl2, mol of agent to the mol of Cl2, and molar mass: the least that can do.
STOICHIOMETRY = {
    Neutraliser.SODIUM_THIOSULFATE: (0.25, 158.11),  # to sulfate, the most thrifty way
    Neutraliser.SODIUM_THIOSULFATE_PENTAHYDRATE: (0.25, 248.18),
    Neutraliser.SODIUM_BISULFITE: (1.0, 104.06),
    Neutraliser.SODIUM_METABISULFITE: (0.5, 190.11),
    Neutraliser.SODIUM_SULFITE: (1.0, 126.04),
    Neutraliser.ASCORBIC_ACID: (1.0, 176.12),
}


@pytest.mark.parametrize("agent", Neutraliser)
def test_the_field_dose_is_no_less_than_the_reaction_needs(agent: Neutraliser) -> None:
    moles, g_per_mol = STOICHIOMETRY[agent]
    least = moles * g_per_mol / 70.906
    assert least <= FIELD_DOSE_G_PER_G[agent] * 1.01
    if "thiosulfate" not in agent:  # its reaction depends on pH; the others are known to 10 %
        assert FIELD_DOSE_G_PER_G[agent] == pytest.approx(least, rel=0.12)


@pytest.mark.parametrize(
    ("agent", "grams"),
    [
        (Neutraliser.SODIUM_BISULFITE, 161),
        (Neutraliser.SODIUM_METABISULFITE, 147),
        (Neutraliser.SODIUM_SULFITE, 196),
        (Neutraliser.SODIUM_THIOSULFATE, 190),
        (Neutraliser.SODIUM_THIOSULFATE_PENTAHYDRATE, 298),
        (Neutraliser.ASCORBIC_ACID, 250),
    ],
)
def test_a_thousand_litres_at_a_hundred_ppm_take(agent: Neutraliser, grams: float) -> None:
    # AWWA field guide on pipeline disinfection, table 7-2 (doses at pH 7).
    assert neutraliser_g(1000.0, 100.0, agent) == pytest.approx(grams, rel=0.005)


def test_nothing_is_neutralised_in_an_empty_tank() -> None:
    with pytest.raises(ChemistryError, match="no water"):
        neutraliser_g(0.0, 100.0, Neutraliser.SODIUM_BISULFITE)


def test_exposure_is_level_times_minutes() -> None:
    assert ct_mg_min_l(50.0, 90.0) == pytest.approx(75)
    # Morris (1966): 79.2 % is HOCl at pH 7.0 and 20 °C.
    assert hocl_ct_mg_min_l(50.0, 90.0, 7.0, 20.0) == pytest.approx(75 * 0.792, rel=0.005)
    falling = [LevelAt(0, 60), LevelAt(60, 40), LevelAt(120, 30)]
    assert ct_over_mg_min_l(falling) == pytest.approx(50 + 35)


@given(st.floats(0, 400), st.floats(0, 600), st.integers(1, 9))
def test_a_steady_level_in_pieces_is_the_same_exposure(
    level: float, seconds: float, pieces: int
) -> None:
    moments = [LevelAt(seconds * n / pieces, level) for n in range(pieces + 1)]
    assert ct_over_mg_min_l(moments) == pytest.approx(ct_mg_min_l(level, seconds))


def test_an_exposure_out_of_order_or_without_a_level_is_refused() -> None:
    with pytest.raises(ChemistryError, match="before the one"):
        ct_over_mg_min_l([LevelAt(10, 50), LevelAt(5, 50)])
    with pytest.raises(ChemistryError, match="at the start and at the end"):
        ct_over_mg_min_l([])
    with pytest.raises(ChemistryError, match="free chlorine"):
        ct_mg_min_l(-1.0, 60.0)
