"""What the pH of a tank is, what it will be, and how sure that is, from all that moved it.

Alkalinity and pH of the source, excess caustic of the product, the bias of the instrument and the
drift with each batch are estimated together, from every response of every fill of the shift; what
the set-up tells is where they start.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property, lru_cache
from typing import NamedTuple

import numpy as np

from washmon.chemistry.checks import ChemistryError
from washmon.chemistry.uncertainty import ErrorRange as Bounds
from washmon.forecast.kinetics import Floats
from washmon.forecast.outlook import Range
from washmon.forecast.ph_belief import PhBelief
from washmon.forecast.ph_following import belief_of, washed_in
from washmon.forecast.ph_particles import PhParticles, PhRange, particles_of
from washmon.line.events import Method, ReadingTaken
from washmon.line.flags import Amount
from washmon.line.product import acid_mol
from washmon.line.reading import PH_ERROR
from washmon.line.same import Same
from washmon.line.setup import LineSetup, Tank
from washmon.line.state import Fill, Placed, ShiftState, TankState, order

_OTHER_FILL = 0.7
"""How much another fill's responses count: its source may have been a little different."""
_OTHER_MOST = 8.0
"""So far (logarithm) the other fills speak against a hypothesis at most: this fill may know."""
_NARROW = 2.0
_FEWEST_BATCHES = 3


class Done(NamedTuple):
    """What is done to a water, in this order: batches, an exchange, a dose, acid."""

    rise_mg_l: float = 0.0
    """By how much hypochlorite raises free chlorine."""
    acid: Amount | None = None
    """Of the tank's acid."""
    batches: int = 0
    exchanged: float = 0.0
    """The share (0 to 1) of the water that fresh water takes the place of."""


@dataclass(frozen=True, eq=False)
class PhForecast:
    """The pH of one fill as of a moment, and what it becomes by what is done."""

    setup: LineSetup
    spec: Tank
    fill: Fill
    read: Placed[ReadingTaken] | None
    """The newest pH reading of the fill; ``None``: never read, all is by what is usual."""
    particles: PhParticles
    used_per_batch_mg_l: float
    """Chlorine that a batch of this fill used up on average."""
    answered: bool
    """Whether acid moved a pH of this shift beyond the errors of its readings."""

    @cached_property
    def now(self) -> PhRange:
        """The pH now: doses, acid and batches since the last reading are counted."""
        return self.particles.range()

    @cached_property
    def alkalinity(self) -> Bounds:
        """Alkalinity of the source, mg/L as CaCO3: 2.5, 50 and 97.5 %."""
        ends = np.quantile(self.particles.alkalinity_mg_l, (0.025, 0.5, 0.975))
        return Bounds(*(float(each) for each in ends))

    @cached_property
    def narrow(self) -> bool:
        """Whether the water has told, within a factor of two, how much acid goes the whole way.

        What the set-up says of the source is never enough for that.
        """
        acid = self.setup.acid(self.spec.acid)
        if acid is None or self.read is None or not self.answered:
            return False
        whole = self.particles.acid_to(self.spec.ph.low, acid.kind)
        low, high = np.quantile(whole, (0.1, 0.9))
        return bool(high <= _NARROW * low)

    def then(self, done: Done) -> PhParticles:
        """Return the particles after what is done.

        Raises:
            ChemistryError: acid of which nothing is known.
        """
        particles = self.particles
        if done.batches:
            particles = particles.washed(done.batches, done.batches * self.used_per_batch_mg_l)
        if done.exchanged:
            particles = particles.exchanged(done.exchanged)
        if done.rise_mg_l:
            particles = particles.dosed(done.rise_mg_l)
        if done.acid is None:
            return particles
        product = self.setup.acid(self.spec.acid)
        if product is None:
            raise ChemistryError("This acid is not in the set-up.")
        return particles.acidified(product.kind, acid_mol(product, done.acid) / self.fill.volume_l)

    def after(
        self,
        rise_mg_l: float = 0.0,
        acid: Amount | None = None,
        batches: int = 0,
        exchanged: float = 0.0,
    ) -> PhRange:
        """Return the pH after batches, an exchange, a dose and acid: see :class:`Done`."""
        return self.then(Done(rise_mg_l, acid, batches, exchanged)).range()

    def will_read(
        self, method: Method, rise_mg_l: float = 0.0, acid: Amount | None = None
    ) -> Range:
        """Return what an instrument would read after a dose or acid: 10, 50 and 90 %."""
        read = self.then(Done(rise_mg_l, acid)).read_by(method)
        return Range(*(float(each) for each in np.quantile(read, (0.1, 0.5, 0.9))))

    def chance_under(self, ph: float, batches: int = 0) -> float:
        """Return how likely the pH is under a limit after so many batches."""
        return float(np.mean(self.then(Done(batches=batches)).ph < ph))

    def batches_until_high(self, limit: float) -> Range:
        """Return how many batches take the pH over a limit by their drift: 10, 50 and 90 %."""
        found = np.sort(self.particles.batches_until_over(limit))
        places = (np.array((0.1, 0.5, 0.9)) * (found.size - 1)).astype(int)
        return Range(*(float(found[place]) for place in places))


def ph_forecast(
    shift: ShiftState, tank: TankState, now: datetime, fill: Fill | None = None
) -> PhForecast | None:
    """Return what is known of a fill's pH at a moment; of the tank's water where none is named.

    ``None`` for peracetic acid and for a tank without water. The same within a minute.
    """
    fill = fill or tank.fill
    if fill is None or tank.spec.peracetic is not None:
        return None
    minute = now.replace(second=0, microsecond=0)
    return _forecast(Same(shift), Same(tank), Same(fill), minute)


@lru_cache(maxsize=32)
def _forecast(
    shift: Same[ShiftState], tank: Same[TankState], fill: Same[Fill], now: datetime
) -> PhForecast:
    setup, spec, water = shift.part.setup, tank.part.spec, fill.part
    belief = belief_of(setup, spec, water)
    others = tuple(_others(shift.part, spec, water))
    log_chance = belief.among.log_chance + _of_others(setup, others, belief)
    if belief.log_likelihood is not None:
        log_chance = log_chance + belief.log_likelihood
    washed = belief.batches
    per_batch = belief.used_mg_l / washed if washed >= _FEWEST_BATCHES else 0.0
    belief = belief.until(now, washed_in(water, tank.part.batches))
    return PhForecast(
        setup=setup,
        spec=spec,
        fill=water,
        read=water.latest("ph"),
        particles=particles_of(belief, log_chance),
        used_per_batch_mg_l=per_batch,
        answered=any(_answered(one) for _, one in (*others, (spec, water))),
    )


def _answered(fill: Fill) -> bool:
    """Tell whether acid moved the pH of a fill by more than both readings may be off."""
    if not fill.acids:
        return False
    read = [one for one in fill.readings if one.event.ph is not None]
    first = order(fill.acids[0])
    before = next((one for one in reversed(read) if order(one) <= first), None)
    return before is not None and any(
        _fell(before.event, one.event) for one in read if order(one) > first
    )


def _fell(before: ReadingTaken, after: ReadingTaken) -> bool:
    error = PH_ERROR[before.ph_method] + PH_ERROR[after.ph_method]
    return (before.ph or 0.0) - (after.ph or 0.0) > error - 1e-9


def _of_others(setup: LineSetup, others: tuple[tuple[Tank, Fill], ...], belief: PhBelief) -> Floats:
    """Return how the other fills of the shift speak of each hypothesis (logarithm)."""
    said: Floats = np.zeros_like(belief.base)
    for spec, fill in others:
        known = belief_of(setup, spec, fill).log_likelihood
        if known is not None:
            said = said + _OTHER_FILL * (known - known.max())
    held: Floats = np.maximum(said - said.max(), -_OTHER_MOST)
    return held


def _others(shift: ShiftState, spec: Tank, fill: Fill) -> Iterator[tuple[Tank, Fill]]:
    """Yield the other fills of the shift that hold the same source and product, with their tank."""
    for tank in shift.tanks:
        if tank.spec.peracetic is None and tank.spec.sanitizer == spec.sanitizer:
            yield from ((tank.spec, one) for one in tank.every_fill if one is not fill)
