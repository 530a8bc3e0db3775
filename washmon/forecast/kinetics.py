"""Free chlorine against a fast and a slow demand and the air, for many cases at once.

With C free chlorine and D the demand still waiting in the water (both mg/L as Cl2):

    dC/dt = -sum(k D C) - loss C        dD/dt = -k D C

second order, as Abnavi et al. (bioRxiv 2021.02.12.430939) found it in wash water, with the two
reactants of Clark (J. Environ. Eng. 124(1):16, 1998). Each part alone has a closed solution, so a
step goes through them in turn and back (Strang's splitting, second order in the step): it stays
good however fast the fast demand reacts, and no level can fall below nothing.
"""

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

LONGEST_STEP_MIN = 5.0
MOST_STEPS = 24
_LONGEST_TRICKLE_MIN = 15.0
_TINY = 1e-5
"""mg/L: so little that it is nothing, and enough for 1 - exp to keep its digits."""


class Rates(NamedTuple):
    """How fast chlorine goes: ``fast`` and ``slow`` in L/(mg min), ``loss`` in 1/min."""

    fast: Floats
    slow: Floats
    loss: Floats


class Chlorine(NamedTuple):
    """Free chlorine, and the fast and slow demand that waits in the water, in mg/L as Cl2."""

    level: Floats
    fast: Floats
    slow: Floats


def rest(
    water: Chlorine,
    rates: Rates,
    minutes: float | Floats,
    longest_step_min: float = LONGEST_STEP_MIN,
) -> Chlorine:
    """Return the water after it stood for some minutes, one number for all cases or one for each.

    Levels never go negative; no time, or time that runs backwards, changes nothing.
    """
    longest = float(np.max(minutes))
    if longest <= 0:
        return water
    steps = max(1, min(MOST_STEPS, math.ceil(longest / longest_step_min)))
    step = np.maximum(minutes, 0.0) / steps
    by_slow = trickled if longest / steps <= _LONGEST_TRICKLE_MIN else reacted
    kept, slow_half, fast_step = (
        np.exp(-rates.loss * step / 2),
        rates.slow * step / 2,
        rates.fast * step,
    )
    level, fast, slow = water
    for _ in range(steps):
        used = by_slow(level, slow, slow_half)
        level, slow = (level - used) * kept, slow - used
        used = reacted(level, fast, fast_step)
        level, fast = (level - used) * kept, fast - used
        used = by_slow(level, slow, slow_half)
        level, slow = level - used, slow - used
    return Chlorine(np.maximum(level, 0.0), np.maximum(fast, 0.0), np.maximum(slow, 0.0))


def trickled(level: Floats, demand: Floats, k_minutes: Floats) -> Floats:
    """Return the same as :func:`reacted` for a slow demand, without an exponential.

    The first Padé approximant of the closed solution in the time: its error is of third order.
    """
    gone: Floats = k_minutes * level * demand / (1 + 0.5 * k_minutes * (level + demand))
    return np.minimum(gone, np.minimum(level, demand))


def reacted(level: Floats, demand: Floats, k_minutes: Floats) -> Floats:
    """Return how much of each of two reactants is gone, mg/L: the closed second-order solution.

    ``k_minutes`` is the rate times the time, L/mg. Written with the scarcer and the richer of the
    two, so that it neither overflows nor divides by nothing.
    """
    rich, scarce = np.maximum(level, demand), np.minimum(level, demand)
    excess = rich - scarce + _TINY
    share = (1 - np.exp(-k_minutes * excess)) / excess
    gone: Floats = np.minimum(scarce, rich * scarce * share / (1 + scarce * share))
    return gone
