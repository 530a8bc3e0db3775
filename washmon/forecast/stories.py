"""What else may lie behind a reading that the particles did not expect."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from washmon.forecast.chances import Chances
from washmon.forecast.estimate import Estimate, spread_out
from washmon.forecast.kinetics import Chlorine, Floats
from washmon.forecast.particles import loads, systematic
from washmon.forecast.prior import Trait
from washmon.forecast.readings import Accuracy, Seen

_PRODUCE = slice(Trait.DEMAND, Trait.STRENGTH)
"""The traits of the water and what is washed in it; those of product and instruments stay."""
_ANEW_BATCHES = 2.0
"""Demand that waits in a water of which nothing is believed any more, in batches."""


@dataclass(frozen=True)
class Stories:
    """Five stories behind a reading, mixed by how likely each is.

    A dose was given, or water let out, that nobody wrote down; all that was believed of the water
    is wrong (other produce, another kinetics); the reading is of no use; or it is only rare. Each
    of the first three puts the level where it was read, so none can go on doubting reading after
    reading.
    """

    chances: Chances
    accuracy: Accuracy
    highest_mg_l: float
    """That a reading of no use may show."""

    def told(
        self,
        estimate: Estimate,
        likelihood: Floats,
        *,
        seen: Seen,
        bias: Floats,
        new_traits: Callable[[np.random.Generator, int], Floats],
        kg: float,
    ) -> Estimate | None:
        """Split the particles among the stories; nothing where the reading is one of the usual.

        ``bias`` is the instrument's in each particle, as a share; ``new_traits`` draws from the
        prior.
        """
        count, rng = likelihood.size, estimate.chance(2)
        before, after = estimate.weights, estimate.weights * likelihood
        expected = float(after.sum())
        rare = seen.likelihood_at_random(self.highest_mg_l, self.accuracy)
        odd = self._odd
        if rare * odd * count <= rare * odd + (1 - odd) * expected:
            return None  # all of them together would get less than one particle
        suggested = seen.draw(rng, count, self.accuracy) / bias
        by_rise = before * (suggested > estimate.water.level)
        by_fall = before - by_rise
        shares = self._shares(rare, float(by_rise.sum()), float(by_fall.sum()), expected)
        ends = np.round(np.cumsum(shares / shares.sum()) * count).astype(int)
        sizes = np.diff(ends, prepend=0)
        chosen = _drawn((by_rise, by_fall, before, before, after), sizes, rng)
        traits = spread_out(estimate.traits, before, chosen, rng)
        level, fast, slow = (part[chosen] for part in estimate.water)
        read = suggested[chosen]
        let_out, anew = slice(ends[0], ends[1]), slice(ends[1], ends[2])
        stays = np.minimum(read[let_out] / np.maximum(level[let_out], 1e-9), 1.0)
        fast[let_out] *= stays
        slow[let_out] *= stays
        traits[_PRODUCE, anew] = new_traits(rng, int(sizes[2]))[_PRODUCE]
        fast[anew], slow[anew] = loads(traits[:, anew], _ANEW_BATCHES * kg, estimate.volume_l)
        level[: ends[2]] = read[: ends[2]]
        found = estimate.resampled(chosen, traits)
        return replace(found, water=Chlorine(level, fast, slow))

    @property
    def _odd(self) -> float:
        """How likely one of the stories is that are not only rare."""
        chances = self.chances
        return chances.unlogged_rise + chances.unlogged_fall + chances.anew + chances.misread

    def _shares(self, rare: float, rises: float, falls: float, expected: float) -> Floats:
        """Return how much speaks for each story, in their order.

        Args:
            rare: how likely the reading is where it may be anything.
            rises: the weight of the particles that lie under it.
            falls: the weight of those that do not.
            expected: how likely the reading is where nothing odd happened.
        """
        chances = self.chances
        return np.array(
            [
                chances.unlogged_rise * rare * rises,
                chances.unlogged_fall * rare * falls,
                chances.anew * rare,
                chances.misread * rare,
                (1 - self._odd) * expected,
            ]
        )


def _drawn(
    weights: tuple[Floats, ...], sizes: NDArray[np.intp], rng: np.random.Generator
) -> NDArray[np.intp]:
    """Return the particles of all stories one after the other, so many by the weights of each."""
    return np.concatenate(
        [
            systematic(each / each.sum(), rng, int(size))
            for each, size in zip(weights, sizes, strict=True)
            if size
        ]
    )
