"""How the level of a tank goes on: by the forecast's particles, or by mass balance without them."""

from dataclasses import dataclass, replace
from statistics import NormalDist
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from washmon.forecast.outlook import Pace
from washmon.forecast.particles import Particles
from washmon.forecast.predict import after_dose, after_rest, levels_ahead
from washmon.forecast.predict import will_read as instrument_reads
from washmon.line.events import Method
from washmon.line.plan import Span
from washmon.line.reading import Pads, usable_pads
from washmon.planning.balance import STRENGTH_SPREAD, LevelBelief, balance, spread_of
from washmon.planning.objective import SETTLED_MIN
from washmon.rules.base import RuleContext

Floats = NDArray[np.float64]


def _normal(count: int) -> Floats:
    """Return so many equally likely values of a normal distribution, in sigma."""
    one = NormalDist()
    return np.array([one.inv_cdf((place + 0.5) / count) for place in range(count)])


_LEVELS, _USES = _normal(61), _normal(9)


class Outlook(Protocol):
    """A tank's level, mg/L, as equally likely ways it may be now, and how each goes on."""

    @property
    def level(self) -> Floats:
        """The level now, one value for each way."""

    @property
    def strength(self) -> Floats:
        """How strong the product is against what is said of it, one value for each way."""

    def dosed(self, rise_mg_l: float, minutes: float) -> "Outlook":
        """Return the ways after a dose and so many minutes of mixing and settling."""

    def ahead(self, batches: int) -> Floats:
        """Return what each of the next batches meets: a row for each, a column for each way."""

    def reads(self, method: Method) -> Span:
        """Return between which values the person's instrument will read in 8 of 10 cases."""


@dataclass(frozen=True, slots=True)
class ForecastOutlook:
    """By the particles of a forecast."""

    particles: Particles
    pace: Pace
    pads: Pads | None = None
    """Of the strips in use, mg/L."""

    @property
    def level(self) -> Floats:
        """The level now, mg/L."""
        return self.particles.level

    @property
    def strength(self) -> Floats:
        """Of the product, against what is said of it."""
        return self.particles.strength

    def dosed(self, rise_mg_l: float, minutes: float) -> "ForecastOutlook":
        """Return the ways after a dose and so many minutes."""
        mixed = after_rest(after_dose(self.particles, rise_mg_l), minutes)
        return ForecastOutlook(mixed, self.pace, self.pads)

    def ahead(self, batches: int) -> Floats:
        """Return what each of the next batches meets."""
        return levels_ahead(self.particles, self.pace, batches)[:batches]

    def reads(self, method: Method) -> Span:
        """Return what the instrument will read, its bias included so far as it is known."""
        found = instrument_reads(self.particles, method, self.pads)
        return Span(found.low, found.high)


@dataclass(frozen=True, slots=True)
class BalanceOutlook:
    """By mass balance: the last reading, what went in since, and what a batch has used up so far.

    Both are taken as normally distributed.
    """

    level: Floats
    use_mg_l: Floats
    strength: Floats

    @staticmethod
    def of(belief: LevelBelief, target_mg_l: float) -> "BalanceOutlook":
        """Return the ways that a belief of level and use stands for."""
        numbers = np.array([np.repeat(_LEVELS, _USES.size), np.tile(_USES, _LEVELS.size)])
        ways = belief.mean[:, None] + spread_of(belief, target_mg_l) @ numbers
        shifted = np.roll(numbers[0], _USES.size * _LEVELS.size // 3)
        return BalanceOutlook(
            np.maximum(ways[0], 0.0), np.maximum(ways[1], 0.0), np.exp(STRENGTH_SPREAD * shifted)
        )

    def dosed(self, rise_mg_l: float, minutes: float) -> "BalanceOutlook":  # noqa: ARG002 - as the other
        """Return the ways after a dose; nothing is known of what time does."""
        return replace(self, level=self.level + rise_mg_l * self.strength)

    def ahead(self, batches: int) -> Floats:
        """Return what each of the next batches meets."""
        count = np.arange(batches)[:, None]
        return np.maximum(self.level - count * self.use_mg_l, 0.0)

    def reads(self, method: Method) -> Span:  # noqa: ARG002 - as the other
        """Return what the instrument will read: as the level is unsure."""
        low, high = np.quantile(self.level, [0.1, 0.9])
        return Span(float(low), float(high))


def outlook_of(rule_context: RuleContext) -> Outlook:
    """Return how the level of a tank goes on."""
    ahead = rule_context.forecast
    if ahead is not None and ahead.particles is not None:
        pads = usable_pads(rule_context.setup.strip_pads_mg_l)
        return ForecastOutlook(ahead.particles, ahead.pace, pads)
    return BalanceOutlook.of(balance(rule_context), rule_context.spec.limits.target_mg_l)


@dataclass(frozen=True, slots=True)
class ChanceCourse:
    """How likely each of the next batches meets too little, one chance for each batch."""

    under_critical: tuple[float, ...]
    under_low: tuple[float, ...]

    def good(self, risk: float, low_risk: float) -> int:
        """Return how many batches can be washed before either chance is passed."""
        for batch, (critical, low) in enumerate(
            zip(self.under_critical, self.under_low, strict=True)
        ):
            if critical > risk or low > low_risk:
                return batch
        return len(self.under_critical)


def course(outlook: Outlook, critical_mg_l: float, low_mg_l: float, batches: int) -> ChanceCourse:
    """Return how likely each of so many batches ahead meets too little."""
    levels = outlook.ahead(batches)
    return ChanceCourse(
        tuple(float(one) for one in np.mean(levels < critical_mg_l, axis=1)),
        tuple(float(one) for one in np.mean(levels < low_mg_l, axis=1)),
    )


def quantile(values: Floats, share: float) -> float:
    """Return a quantile of equally likely values."""
    return float(np.quantile(values, share))


def rise_to(outlook: Outlook, level_mg_l: float, share: float, mix_minutes: float) -> float:
    """Return the rise, mg/L in clean water, that brings a quantile of the level to a value.

    By then the dose has mixed in and the fast demand has had its share; 0 where it is there
    already. A secant needs few steps, since what the water takes up hardly depends on the dose.
    """
    minutes = max(mix_minutes, 0.0) + SETTLED_MIN
    rise = 0.0
    for _ in range(_ROUNDS):
        reached = quantile(outlook.dosed(rise, minutes).level, share)
        rise = max(0.0, rise + (level_mg_l - reached) / max(quantile(outlook.strength, share), 0.2))
    return rise


_ROUNDS = 4
