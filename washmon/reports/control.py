"""Control charts of individuals and moving ranges, and the published run rules.

A chart supposes that its points do not follow from one another. The readings of one fill do: the
level falls batch by batch until somebody doses it up again, a sawtooth whose neighbours are alike
and whose moving ranges are therefore far too small; limits from them would cry wolf on every dose
(common practice, no published source, is to chart the lows before each dose, or what is lost per
kilogram, instead). So what is charted here is one value for each re-dose or for each shift; and
where the points still follow one another, :attr:`Chart.follows` says so. Limits are given all the
same: a process that shifted for good makes its points alike, too, and that is what a chart is to
find.

Limits: mean plus or minus three sigma with sigma = mean moving range / 1.128, and 3.267 times the
mean moving range for the ranges themselves: NIST/SEMATECH e-Handbook of Statistical Methods,
section 6.3.2.2 (d2 and D4 for ranges of two).
"""

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from statistics import fmean

D2 = 1.128
"""Mean range of two values from a normal distribution, in sigma."""
D4 = 3.267
FEWEST = 8
"""Points that limits are worked out from; with fewer they say nothing (common practice)."""


class RuleSet(StrEnum):
    """Which run rules a chart is looked at with."""

    LIMITS = "limits"
    """Only points beyond three sigma."""
    WESTERN_ELECTRIC = "western electric"
    """The four rules of the Western Electric Statistical Quality Control Handbook (1956)."""
    NELSON = "nelson"
    """The eight tests of L. S. Nelson, Journal of Quality Technology 16 (1984) 237-239."""


@dataclass(frozen=True, slots=True)
class RunRule:
    """One rule: ``window`` points in which ``says`` finds what it looks for, in sigma."""

    key: str
    words: str
    window: int
    says: Callable[[Sequence[float]], bool]


def _beyond(count: int, sigma: float) -> Callable[[Sequence[float]], bool]:
    """So many points of the window beyond so many sigma on one side, the last one among them."""

    def says(points: Sequence[float]) -> bool:
        for side in (1, -1):
            over = [side * point > sigma for point in points]
            if over[-1] and sum(over) >= count:
                return True
        return False

    return says


def _steady(points: Sequence[float]) -> bool:
    steps = [after - before for before, after in pairwise(points)]
    return all(step > 0 for step in steps) or all(step < 0 for step in steps)


def _alternating(points: Sequence[float]) -> bool:
    steps = [after - before for before, after in pairwise(points)]
    return all(before * after < 0 for before, after in pairwise(steps))


def _within(points: Sequence[float]) -> bool:
    return all(abs(point) < 1 for point in points)


def _without(points: Sequence[float]) -> bool:
    sides = {math.copysign(1, point) for point in points}
    return all(abs(point) > 1 for point in points) and len(sides) > 1


_THREE = RunRule("1", "beyond three sigma", 1, _beyond(1, 3))
_TWO_OF_THREE = RunRule("2 of 3", "two of three beyond two sigma on one side", 3, _beyond(2, 2))
_FOUR_OF_FIVE = RunRule("4 of 5", "four of five beyond one sigma on one side", 5, _beyond(4, 1))

RULES: dict[RuleSet, tuple[RunRule, ...]] = {
    RuleSet.LIMITS: (_THREE,),
    RuleSet.WESTERN_ELECTRIC: (
        _THREE,
        _TWO_OF_THREE,
        _FOUR_OF_FIVE,
        RunRule("8", "eight in a row on one side of the mean", 8, _beyond(8, 0)),
    ),
    RuleSet.NELSON: (
        _THREE,
        RunRule("9", "nine in a row on one side of the mean", 9, _beyond(9, 0)),
        RunRule("6", "six in a row rising, or falling", 6, _steady),
        RunRule("14", "fourteen in a row up and down in turn", 14, _alternating),
        _TWO_OF_THREE,
        _FOUR_OF_FIVE,
        RunRule("15", "fifteen in a row within one sigma", 15, _within),
        RunRule("8", "eight in a row beyond one sigma, on both sides", 8, _without),
    ),
}


@dataclass(frozen=True, slots=True)
class Broken:
    """A rule that the points up to ``at`` (counted from 0) break."""

    at: int
    rule: RunRule


@dataclass(frozen=True, slots=True)
class ControlLimits:
    """Limits of individuals (``low``, ``centre``, ``high``) and of their moving ranges."""

    centre: float
    sigma: float
    low: float
    high: float
    ranges: tuple[float, ...]
    mean_range: float
    range_high: float
    broken: tuple[Broken, ...]
    broken_ranges: tuple[int, ...]
    """Places of points whose step from the one before is beyond the limit of ranges."""
    lag: float | None
    """How much each point follows the one before (lag-1 autocorrelation, -1 to 1); None where they
    are all the same."""
    chance: float
    """How far from 0 that comes by chance in 19 of 20 charts of independent points: 1.96 / √n
    (NIST/SEMATECH e-Handbook, section 1.3.3.1)."""

    @property
    def follows(self) -> float | None:
        """How much each point follows the one before, where that is more than chance."""
        return self.lag if self.lag is not None and abs(self.lag) > self.chance else None


def chart(
    values: Sequence[float], rules: RuleSet = RuleSet.WESTERN_ELECTRIC
) -> ControlLimits | None:
    """Return the chart of values in order of time; None where there are too few for limits."""
    if len(values) < FEWEST:
        return None
    ranges = tuple(abs(after - before) for before, after in pairwise(values))
    centre, mean_range = fmean(values), fmean(ranges)
    sigma = mean_range / D2
    return ControlLimits(
        centre=centre,
        sigma=sigma,
        low=centre - 3 * sigma,
        high=centre + 3 * sigma,
        ranges=ranges,
        mean_range=mean_range,
        range_high=D4 * mean_range,
        broken=tuple(broken([(value - centre) / sigma for value in values], RULES[rules]))
        if sigma
        else (),
        broken_ranges=tuple(at for at, one in enumerate(ranges, 1) if one > D4 * mean_range),
        lag=_lag(values),
        chance=1.96 / math.sqrt(len(values)),
    )


def broken(points: Sequence[float], rules: Iterable[RunRule]) -> Iterator[Broken]:
    """Yield what is broken by points in sigma from the mean, each where the rule is complete."""
    for rule in rules:
        for end in range(rule.window, len(points) + 1):
            if rule.says(points[end - rule.window : end]):
                yield Broken(end - 1, rule)


def _lag(values: Sequence[float]) -> float | None:
    mean = fmean(values)
    spread = sum((value - mean) ** 2 for value in values)
    if not spread:
        return None
    shared = sum((after - mean) * (before - mean) for before, after in pairwise(values))
    return shared / spread
