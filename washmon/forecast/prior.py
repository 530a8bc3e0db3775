"""What is believed of a tank's water before anything was seen of it.

Each trait is believed as a normal spread of its logarithm (of its log-odds for a share). The values
are brackets, wide on purpose; a few readings outweigh them.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from enum import IntEnum
from functools import lru_cache

import numpy as np

from washmon.chemistry.checks import ChemistryError
from washmon.chemistry.uncertainty import VOLUME_ERROR
from washmon.forecast.kinetics import Floats
from washmon.forecast.memory import (
    BETWEEN_SHIFTS,
    USUAL_SPREAD,
    Belief,
    Row,
    Subject,
    believed,
    row_named,
)
from washmon.line.learned import LearnedTank
from washmon.line.setup import LineSetup, Sanitizer
from washmon.line.strength import strength_on


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
    """Of the product in this volume of water, against what its age, a test or else its label says
    in the set-up's volume (log)."""
    STRIP = 6
    """How high strips of this pack are read, against the truth (log); what one person does beyond
    it stands in a row of their own (:mod:`washmon.forecast.memory`)."""
    KIT = 7
    """How high this kit or meter reads, against the truth (log)."""


_ODD_DAYS = 0.02
"""So often a shift is unlike those before it, and no better known than the first; common practice,
no published source."""
BETWEEN = (0.13, 0.12, 0.1, 0.1, 0.15, 0.03, 0.03, 0.01)
"""No two days are alike: how far each trait strays from shift to shift; product and strips are
those of one container and one pack. Common practice, no published source."""
KG_PER_L = 0.025
"""Produce in a batch per litre of water, where no batch was weighed: common practice."""


@dataclass(frozen=True)
class Prior:
    """Middle and spread of each trait, on its logarithmic scale; rows as in :class:`Trait`.

    ``per_batch`` tells how far the demand is believed to be a batch's rather than a kilogram's:
    with 1, a batch half as heavy as usual is taken to be twice as dirty per kilogram; with 0, a
    kilogram is a kilogram, as it is where the Logbook has told it.
    """

    middle: tuple[float, ...]
    spread: tuple[float, ...]
    per_batch: float = 0.85
    learned: Belief | None = field(default=None, compare=False, repr=False)
    """What past shifts left, of traits and of people, lots and produce together."""
    usual: "Prior | None" = field(default=None, compare=False, repr=False)
    """What was believed before any shift: what is not learned anew returns to it (an autoregression
    of first order whose lasting spread is this prior's)."""
    usual_kg: float | None = None
    """What a batch weighed in past shifts, where it was weighed."""
    container: str = ""
    """Of which product and container the strength was learned; see :func:`container_of`."""
    pack: str = ""
    """Of which strips the bias was learned; see :func:`pack_of`."""

    def with_trait(self, trait: Trait, middle: float, spread: float) -> "Prior":
        """Return the prior with another belief of one trait, on its logarithmic scale."""
        middles, spreads = list(self.middle), list(self.spread)
        middles[trait], spreads[trait] = middle, spread
        return replace(self, middle=tuple(middles), spread=tuple(spreads))

    def with_product(self, product: Sanitizer | None, on: date) -> "Prior":
        """Return the prior for a container whose age or a test tells how strong it is on a day.

        Its errors are such that 95 % lie within them, so half of one is a standard deviation. A
        container of which only the label is known is believed as before, and so is one of which
        past shifts told.
        """
        if self.container:
            if self.container == container_of(product):
                return self
            return _unlearned(self, Trait.STRENGTH).with_product(product, on)
        try:
            strength = None if product is None else strength_on(product, on)
        except ChemistryError:
            strength = None
        if strength is None or (strength.days is None and not strength.tested):
            return self
        spread = float(np.hypot(strength.error, VOLUME_ERROR)) / 2
        return self.with_trait(Trait.STRENGTH, 0.0, spread)

    def with_pack(self, setup: LineSetup) -> "Prior":
        """Return the prior for the strips in use: what others told of their bias is let go."""
        known = not self.pack or self.pack == pack_of(setup)
        return self if known else _unlearned(self, Trait.STRIP)

    @property
    def kept(self) -> tuple[Row, ...]:
        """Whose rows are known beside the traits."""
        return () if self.learned is None else self.learned.kept

    def told_by(self, belief: Belief, usual_kg: float | None, container: str, pack: str) -> "Prior":
        """Return the prior for a next shift, after one that left such a belief."""
        traits = slice(len(Trait))
        spread = np.hypot(belief.spread[traits], BETWEEN)
        return replace(
            self,
            middle=tuple(float(one) for one in belief.middle[traits]),
            spread=tuple(float(one) for one in spread),
            per_batch=0.0,
            learned=belief,
            usual=self.usual or self,
            usual_kg=self.usual_kg if usual_kg is None else usual_kg,
            container=container,
            pack=pack,
        )

    def draw(self, rng: np.random.Generator, count: int) -> Floats:
        """Return traits for so many particles, a row for each; rows of people and lots follow."""
        rows = len(Trait) + len(self.kept)
        noise = rng.standard_normal((rows, count))
        own_middle, own_spread = _of(self.middle), _of(self.spread)
        if self.learned is None or self.usual is None:
            return own_middle + own_spread * noise
        usual = self.usual.with_trait(
            Trait.DEMAND, self.middle[Trait.DEMAND], self.usual.spread[Trait.DEMAND]
        )
        beyond = self.learned.middle[len(Trait) :]
        people = [row.about is Subject.PERSON for row in self.kept]
        middle = _of((*usual.middle, *np.where(people, 0.0, beyond)))
        spread = _of((*usual.spread, *(USUAL_SPREAD[row.about] for row in self.kept)))
        between = _of((*BETWEEN, *(BETWEEN_SHIFTS[row.about] for row in self.kept)))
        stray = np.minimum(between, spread)
        holds = np.sqrt(1 - (stray / spread) ** 2)
        found = middle + holds * (self.learned.draw(rng, count) - middle) + stray * noise
        own = [trait for trait in Trait if self._is_own(trait)]
        found[own] = (own_middle + own_spread * noise[: len(Trait)])[own]
        return np.where(rng.random(count) < _ODD_DAYS, middle + spread * noise, found)

    def _is_own(self, trait: Trait) -> bool:
        """Tell whether a trait is not what was learned: another container, other strips."""
        return (trait is Trait.STRENGTH and not self.container) or (
            trait is Trait.STRIP and not self.pack
        )


def _of(row: Sequence[float]) -> Floats:
    return np.array(row)[:, None]


def as_learned(prior: Prior, tank: int) -> LearnedTank | None:
    """Return what the journal keeps of a prior; nothing where no shift taught anything."""
    belief = prior.learned
    if belief is None:
        return None
    return LearnedTank(
        tank=tank,
        rows=(*(trait.name.lower() for trait in Trait), *map(str, belief.kept)),
        particles=belief.packed(),
        usual_kg=prior.usual_kg,
        container=prior.container,
        pack=prior.pack,
    )


@lru_cache(maxsize=32)
def prior_told(told: LearnedTank, commodity: str, place: int) -> Prior:
    """Return the prior that a journal keeps; the very one of which :func:`as_learned` made it."""
    kept = tuple(row_named(name) for name in told.rows[len(Trait) :])
    belief = believed(kept, len(told.rows), told.particles)
    usual = prior_for(commodity, place)
    return usual.told_by(belief, told.usual_kg, told.container, told.pack)


def container_of(product: Sanitizer | None) -> str:
    """Return what tells one container of a product from another."""
    if product is None:
        return ""
    dates = (product.made_on, product.opened_on, product.tested_on)
    parts = (product.key, product.lot, product.strength, product.basis, *dates, product.tested_g_l)
    return "|".join(str(part) for part in parts)


def pack_of(setup: LineSetup) -> str:
    """Return what tells one pack of strips from another."""
    return f"{setup.strips_use_by}|{setup.strip_pads_mg_l}"


def _unlearned(prior: Prior, trait: Trait) -> Prior:
    """Return a prior that has let go what was learned of a product or of strips."""
    known = prior.with_trait(trait, _USUAL.middle[trait], _USUAL.spread[trait])
    if trait is Trait.STRENGTH:
        return replace(known, container="")
    return replace(known, pack="")


# Rates: 0.0133 L/(mg min) at room temperature (Abnavi et al. 2021), a little less in cold water
# (common practice); half of the demand within minutes (Weng et al.). The others: common practice,
# no published source.
_USUAL = Prior(
    middle=(
        float(np.log(0.1)),
        0.6,
        float(np.log(0.012)),
        float(np.log(0.00042)),
        float(np.log(0.0006)),
        float(np.log(0.95)),
        0.02,
        0.01,
    ),
    # Of strips and one person's eye together 0.09: 0.067 by the pack, 0.06 by the person.
    spread=(1.0, 0.8, 0.8, 0.5, 0.6, 0.2, 0.067, 0.03),
)

# Chlorine that a batch uses up in the end, mg/L of the tank's water, and how far that may be off
# (log): from 0.05 g/kg for whole baby leaves to 1.9 g/kg for shredded ones (juice set free per kg,
# Weng et al., times the demand of homogenised leaf), where a shed washes the less at a time the
# dirtier it is. Common practice, no published source.
_BATCH_MG_L = (
    (("cut", "shred", "chop"), 3.5, 0.7),
    (("root", "carrot", "beet", "potato", "radish", "turnip"), 4.0, 0.8),
    (("leaf", "green", "lettuce", "spinach", "chard", "kale", "herb"), 2.2, 0.7),
    (("fruit", "apple", "pear", "citrus"), 1.8, 0.7),
    (("pepper", "melon", "tomato", "cucumber", "squash"), 2.0, 0.7),
)
_MIXED = ("mixed", 2.5, 0.8)
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
            for names, value, spread in _BATCH_MG_L
            if any(name in words for name in names)
        ),
        _MIXED[1:],
    )
    value, spread = _MIXED[1:] if _MIXED[0] in words else found
    return _USUAL.with_trait(
        Trait.DEMAND,
        float(np.log(value / (1000 * KG_PER_L))) + place * float(np.log(_CARRIED)),
        float(np.hypot(spread, _CARRIED_SPREAD if place else 0.0)),
    )
