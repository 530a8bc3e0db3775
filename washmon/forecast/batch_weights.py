"""What a batch weighs, taken from weights of which one in a while is a slip of the pen."""

import math
from dataclasses import dataclass
from statistics import median
from typing import NamedTuple

LEAST_KG = 0.01
"""A batch that weighs less is no batch; as such it would make every other a mountain."""
MOST_KG_PER_L = 3.0
_KEPT = 8
_SETTLED = 3
"""From so many weights on their median is what a batch usually weighs."""
_FIRST_WITHIN = 6.0
"""A first weight further than this from the usual for the tank waits for a second to confirm it."""
_AGREE_WITHIN = 2.5
_WITHIN = 4.0
_SLIP_SPREAD = 0.6
USUAL_SPREAD = 0.15
_USUAL_COUNTS = 3.0


class Weighed(NamedTuple):
    """The weight that a batch is taken to have: its median and spread (log)."""

    kg: float
    spread: float


@dataclass(frozen=True, slots=True)
class BatchWeights:
    """The newest weights of batches; ``prior_kg`` is what one is taken to weigh before any."""

    prior_kg: float
    given: tuple[float, ...] = ()

    @property
    def usual_kg(self) -> float:
        """What a batch usually weighs: of three or more the median, of fewer what fits best."""
        if not self.given:
            return self.prior_kg
        if len(self.given) >= _SETTLED:
            return median(self.given)
        first, last = self.given[0], self.given[-1]
        if len(self.given) == 1:
            odd = abs(math.log(first / self.prior_kg)) > math.log(_FIRST_WITHIN)
            return self.prior_kg if odd else first
        if abs(math.log(first / last)) <= math.log(_AGREE_WITHIN):
            return math.sqrt(first * last)
        return median((first, last, self.prior_kg))

    @property
    def settled(self) -> bool:
        """Whether enough were weighed to know what a batch usually weighs."""
        return len(self.given) > _SETTLED

    @property
    def spread(self) -> float:
        """From one batch to the next (log), learned from the weights; slips are cut off."""
        return spread_of(self.given)

    def after(self, given_kg: float | None, volume_l: float) -> tuple[Weighed, "BatchWeights"]:
        """Return what a batch is taken to weigh, and what is known of weights after it."""
        if given_kg is None or not math.isfinite(given_kg) or given_kg <= 0:
            return Weighed(self.usual_kg, self.spread if self.given else 0.0), self
        kg = min(max(given_kg, LEAST_KG), MOST_KG_PER_L * volume_l)
        known = BatchWeights(self.prior_kg, (*self.given, kg)[-_KEPT:])
        most = max(math.log(_WITHIN), 3 * known.spread)
        if abs(math.log(kg / known.usual_kg)) > most:
            return Weighed(known.usual_kg, _SLIP_SPREAD), known
        return Weighed(kg, 0.0), known


def spread_of(weights_kg: tuple[float, ...]) -> float:
    """Return the spread (log) of weights about their median; of few, near the usual one."""
    if not weights_kg:
        return USUAL_SPREAD
    middle = median(weights_kg)
    off = [min(abs(math.log(kg / middle)), math.log(_WITHIN)) for kg in weights_kg]
    counted = _USUAL_COUNTS * USUAL_SPREAD**2 + sum(one**2 for one in off)
    return math.sqrt(counted / (_USUAL_COUNTS + len(off) - 1))
