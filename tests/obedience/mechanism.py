"""How the hidden water of a world uses up its sanitizer: kinds of kinetics that differ by world.

A demand pool D (mg/L as Cl2) is exerted at a rate r(C) per minute, with C the level in mg/L::

    dD/dt = -r D      r(C) = k (C / 50)^n C / (C + 1)

With n = 1 that is second order, with n = 0 first order in the demand for as long as there is any
sanitizer, anything between or above is of n-th order. Besides, a part may go at once, ammonia may
bind chlorine and be burnt later (break-point), and sun and air take their share.
"""

import math
from enum import StrEnum

import numpy as np
from msgspec import Struct


class Family(StrEnum):
    """The kinds of kinetics that a world may have."""

    SECOND_ORDER = "second order, fast and slow"
    AT_ONCE = "at once, then first order"
    NTH_ORDER = "n-th order, one pool"
    BREAKPOINT = "ammonia and break-point"
    SUN = "second order, in the sun"


class Pool(Struct, frozen=True, kw_only=True):
    """One part of what produce brings in: its share, its rate at 50 mg/L (1/min), its order."""

    share: float
    rate: float
    order: float
    binds: float = 0.0
    """What part of the chlorine that it takes stays as combined chlorine."""


class Mechanism(Struct, frozen=True, kw_only=True):
    """All rates of a world."""

    family: Family
    pools: tuple[Pool, ...]
    at_once: float = 0.0
    """The share of a load that is gone before the next look."""
    burn: float = 0.0
    """How fast free chlorine burns combined chlorine (1/min at 50 mg/L), one for two."""
    loss: float = 0.0005
    """To light and air, 1/min."""
    degassing: float = 0.003
    """Of carbon dioxide in excess, 1/min."""


def draw_mechanism(random: np.random.Generator) -> Mechanism:
    """Draw one."""
    family = list(Family)[int(random.choice(len(Family), p=(0.3, 0.2, 0.2, 0.15, 0.15)))]
    fast = _between(random, 0.15, 2.0)
    slow = _between(random, 0.01, 0.06)
    part = float(random.uniform(0.3, 0.75))
    loss = _between(random, 0.0002, 0.0015)
    two = (
        Pool(share=part, rate=fast, order=1.0),
        Pool(share=1.0 - part, rate=slow, order=1.0),
    )
    degassing = _between(random, 0.0005, 0.006)
    at_once, burn = 0.0, 0.0
    pools: tuple[Pool, ...] = two
    match family:
        case Family.AT_ONCE:
            at_once = 0.8 * part
            pools = (Pool(share=1.0, rate=_between(random, 0.01, 0.08), order=0.0),)
        case Family.NTH_ORDER:
            order = float(random.uniform(0.4, 1.6))
            pools = (Pool(share=1.0, rate=_between(random, 0.03, 0.4), order=order),)
        case Family.BREAKPOINT:
            bound = float(random.uniform(0.2, 0.6))
            pools = (
                Pool(share=bound, rate=2.0, order=1.0, binds=1.0),
                Pool(share=1.0 - bound, rate=slow, order=1.0),
            )
            burn = _between(random, 0.01, 0.05)
        case Family.SUN:
            loss *= 3.0
    return Mechanism(
        family=family, pools=pools, at_once=at_once, burn=burn, loss=loss, degassing=degassing
    )


def _between(random: np.random.Generator, low: float, high: float) -> float:
    """Draw from a range, evenly on a logarithmic scale."""
    return math.exp(float(random.uniform(math.log(low), math.log(high))))
