"""What is believed of a tank's water before anything was seen of it.

Each trait is believed as a normal spread of its logarithm (of its log-odds for a share). The values
are brackets, wide on purpose; a few readings outweigh them.
"""

from dataclasses import dataclass, replace
from enum import IntEnum

import numpy as np

from washmon.forecast.kinetics import Floats


class Trait(IntEnum):
    """What is peculiar to a fill, in the order of the rows it is kept in."""

    DEMAND = 0
    """Chlorine that a kilogram uses up in the end, g as Cl2 per kg (log)."""
    FAST_SHARE = 1
    """Of the demand, how much reacts fast (log-odds)."""
    FAST_RATE = 2
    """Of the fast demand, L/(mg min) (log)."""
    SLOW_RATE = 3
    """Of the slow demand, L/(mg min) (log)."""
    LOSS = 4
    """To air and light, 1/min (log)."""
    STRENGTH = 5
    """Of the product in this volume of water, against its label in the set-up's volume (log)."""
    STRIP = 6
    """How high this person reads this lot of strips, against the truth (log)."""


@dataclass(frozen=True)
class Prior:
    """Middle and spread of each trait, on its logarithmic scale; rows as in :class:`Trait`."""

    middle: tuple[float, ...]
    spread: tuple[float, ...]

    def with_trait(self, trait: Trait, middle: float, spread: float) -> "Prior":
        """Return the prior with another belief of one trait, on its logarithmic scale."""
        middles, spreads = list(self.middle), list(self.spread)
        middles[trait], spreads[trait] = middle, spread
        return replace(self, middle=tuple(middles), spread=tuple(spreads))

    def draw(self, rng: np.random.Generator, count: int) -> Floats:
        """Return traits for so many particles, a row for each trait."""
        shape = (len(Trait), count)
        middle, spread = np.array(self.middle)[:, None], np.array(self.spread)[:, None]
        traits: Floats = middle + spread * rng.standard_normal(shape)
        return traits


# Rates: 0.0133 L/(mg min) at room temperature (Abnavi et al. 2021), about half of it in cold water
# (common practice); half of the demand within minutes (Weng et al.). The others: common practice,
# no published source.
_USUAL = Prior(
    middle=(
        float(np.log(0.1)),
        0.0,
        float(np.log(0.009)),
        float(np.log(0.0005)),
        float(np.log(0.001)),
        float(np.log(0.95)),
        0.02,
    ),
    spread=(1.1, 0.4, 0.5, 0.5, 0.5, 0.09, 0.11),
)

# g of chlorine per kg, and how far it may be off (log). Cut leaves: juice set free per kg (Weng et
# al.) times the demand of homogenised leaf; whole leaves, fruit and roots: common practice.
_DEMAND_G_KG = (
    (("cut", "shred", "chop"), 1.5, 0.8),
    (("root", "carrot", "beet", "potato", "radish", "turnip"), 0.25, 0.9),
    (("leaf", "green", "lettuce", "spinach", "chard", "kale", "herb"), 0.12, 0.9),
    (("fruit", "apple", "pear", "citrus"), 0.04, 0.8),
    (("pepper", "melon", "tomato", "cucumber", "squash"), 0.06, 0.9),
)
_MIXED = ("mixed", 0.08, 1.0)
_CARRIED = 0.25
"""Of a tank's load, how much goes on into the next one: common practice, no published source."""
_CARRIED_SPREAD = 0.7


def prior_for(commodity: str, place: int = 0) -> Prior:
    """Return the prior for a commodity, by its words, in the tank at a place of the line (0 first).

    A word that is not known, or "mixed", gets the widest.
    """
    words = commodity.lower()
    found = next(
        (
            (value, spread)
            for names, value, spread in _DEMAND_G_KG
            if any(name in words for name in names)
        ),
        _MIXED[1:],
    )
    value, spread = _MIXED[1:] if _MIXED[0] in words else found
    return _USUAL.with_trait(
        Trait.DEMAND,
        float(np.log(value)) + place * float(np.log(_CARRIED)),
        float(np.hypot(spread, _CARRIED_SPREAD if place else 0.0)),
    )
