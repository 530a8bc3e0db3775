"""Whether a said chance of bad water is true as often as it says, on 300 simulated shifts.

The seeds are others than those that anything was tried on. With ``-s`` the table is written out.
"""

import sys
from itertools import chain

import numpy as np
import pytest

from tests.forecast.judging_holds import Asked, asked_in, reliability
from tests.some import some

SEEDS = range(3000, 3300)
EDGES = (0.0, 0.02, 0.1, 0.2, 0.4, 0.6, 0.8, 0.9, 0.98, 1.0)

pytestmark = pytest.mark.xdist_group("hold chance")


@pytest.fixture(scope="module")
def asked() -> list[Asked]:
    per_shift = [asked_in(seed) for seed in SEEDS]
    found = list(chain.from_iterable(per_shift))
    sys.stdout.write(
        f"\nseeds {SEEDS.start} to {SEEDS.stop - 1}: {len(found)} batches in question in "
        f"{sum(map(bool, per_shift))} shifts, {np.mean([one.bad for one in found]):.3f} of them "
        "washed under the critical low\n"
    )
    return found


def brier(said: list[float], true: list[bool]) -> float:
    """Return the mean squared error of chances (Brier, Monthly Weather Review 78(1):1, 1950)."""
    return float(np.mean((np.array(said) - np.array(true)) ** 2))


@pytest.mark.parametrize("when", ["smoothed", "later"])
def test_a_said_chance_is_true_about_as_often_as_it_says(asked: list[Asked], when: str) -> None:
    said = np.array([getattr(one, when) for one in asked])
    true = np.array([one.bad for one in asked])
    assert len(asked) > 1000
    table = reliability(said, true, EDGES)
    sys.stdout.write(f"\n{when}: batches, said, true\n")
    for row in table:
        sys.stdout.write(f"{row.batches:6} {row.said:6.3f} {row.true:6.3f}\n")
    off = sum(row.batches * abs(row.said - row.true) for row in table) / len(asked)
    sys.stdout.write(f"mean distance of said and true: {off:.3f}\n")
    assert off < 0.03
    well_known = some(row for row in table if row.batches >= 30)
    assert max(abs(row.said - row.true) for row in well_known) < 0.15


def test_it_is_nearer_to_the_truth_than_a_bridge_between_readings(asked: list[Asked]) -> None:
    both = [one for one in asked if one.bridge is not None]
    true = [one.bad for one in both]
    ours = brier([one.smoothed for one in both], true)
    bridge = brier([one.bridge or 0.0 for one in both], true)
    share = float(np.mean(true))
    sys.stdout.write(
        f"\nBrier score of {len(both)}: {ours:.4f}, by a bridge {bridge:.4f}, by the mean alone "
        f"{share * (1 - share):.4f}\n"
    )
    assert len(both) > 1000
    assert ours < 0.75 * bridge
