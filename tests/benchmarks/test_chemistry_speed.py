"""How fast the chemistry is, as ratios to PHREEQC in the same run."""

import sys
import time
from collections.abc import Callable

import numpy as np
import pytest

from tests.chemistry.geochemistry import BACKGROUND_MG_L, bleach, ph_after
from washmon.chemistry.acid import AcidKind
from washmon.chemistry.titration import acid_needed_mol_l
from washmon.chemistry.water import ph_of, source_water, with_acid, with_hypochlorite

TANKS = 10_000

pytestmark = pytest.mark.benchmark_ratio


def best_s(job: Callable[[], object], times: int) -> float:
    """Return the shortest time of a job, s: the turn that was disturbed least."""
    found = []
    for _ in range(times):
        started = time.perf_counter()
        job()
        found.append(time.perf_counter() - started)
    return min(found)


def phreeqc_solve() -> float:
    return ph_after(100.0, 7.8, 20.0, bleach(100.0) | {"HCl": 1.5e-3})


def single_solve() -> float:
    water = with_hypochlorite(source_water(100.0, 7.8, 20.0, BACKGROUND_MG_L), 100.0)
    return ph_of(with_acid(water, AcidKind.HYDROCHLORIC, 1.5e-3))


def test_ten_thousand_tanks_go_a_hundred_times_as_fast_as_in_phreeqc() -> None:
    rng = np.random.default_rng(7)
    alkalinity, ph = rng.uniform(20, 400, TANKS), rng.uniform(7, 9.5, TANKS)
    celsius, rise = rng.uniform(5, 30, TANKS), rng.uniform(0, 200, TANKS)
    salt, target = np.full(TANKS, BACKGROUND_MG_L), np.full(TANKS, 6.8)

    def solve_all() -> object:
        water = with_hypochlorite(source_water(alkalinity, ph, celsius, salt), rise)
        acid = acid_needed_mol_l(water, target, AcidKind.PHOSPHORIC)
        return ph_of(with_acid(water, AcidKind.PHOSPHORIC, acid))

    phreeqc_solve()  # loads its database
    ratio = best_s(phreeqc_solve, 50) / (best_s(solve_all, 5) / TANKS)
    sys.stdout.write(f"PHREEQC takes {ratio:.0f} times as long as one of {TANKS} tanks\n")
    assert ratio >= 100


def test_a_single_solve_is_no_slower_than_in_phreeqc() -> None:
    assert single_solve() == pytest.approx(phreeqc_solve(), abs=0.01)
    ratio = best_s(single_solve, 50) / best_s(phreeqc_solve, 50)
    sys.stdout.write(f"A single solve takes {ratio:.3f} of PHREEQC's time\n")
    assert ratio <= 1
