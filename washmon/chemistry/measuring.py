"""An amount in the measure that a person owns: the nearest, never over what is allowed."""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import permutations

from washmon.chemistry.checks import ChemistryError, within
from washmon.chemistry.measures import FRACTIONS, Measure, measure

NEAR = 0.10
"""An amount is near that is off by no more: a label is off by as much, so that a finer measure
would not make the water surer (common practice, no published source)."""
MOST_FILLINGS = 20
_GLYPHS = {0.125: "⅛", 0.25: "¼", 0.375: "⅜", 0.5: "½", 0.625: "⅝", 0.75: "¾", 0.875: "⅞"}
_SPACE = "\N{NO-BREAK SPACE}"
_WHOLE = 1e-6

# What makes a way to measure awkward, in the same coin: 5 % off, four more fillings, or two
# different spoons. More than three of the small spoon after the large one are miscounted.
_OFF, _FILLING, _MIXED = 0.05, 0.25, 0.5
_MOST_AFTER = 3


class MeasuringCaution(StrEnum):
    """Why a measured amount should make a person stop and think."""

    NOT_NEAR = "not_near"
    TOO_LARGE = "too_large"
    NOT_OWNED = "not_owned"


@dataclass(frozen=True, slots=True)
class MeasurePart:
    """So many of one unit, measured with what is owned."""

    count: float
    unit: str
    step: float
    unit_size: float
    fillings: int

    @property
    def actual(self) -> float:
        """What it holds, mL or g."""
        return self.count * self.unit_size

    def number(self, decimal_point: str = ".") -> str:
        """Return the count as a person reads it from the measure: ``2¼``, ``92``, ``0.4``."""
        whole = math.floor(self.count + 1e-9)
        part = _GLYPHS.get(round(self.count - whole, 6), "")
        if self.unit in FRACTIONS and (part or abs(self.count - whole) < _WHOLE):
            return f"{whole}{part}" if whole or not part else part
        decimals = max(0, -math.floor(math.log10(self.step) + 1e-9))
        if self.unit in FRACTIONS:  # a jug of odd marks
            decimals = max(2, decimals)
        return f"{self.count:.{decimals}f}".replace(".", decimal_point)

    def describe(self, decimal_point: str = ".") -> str:
        """Return it in English: ``2¼ tsp``, ``1½ cups``, ``92 mL``."""
        unit = "cups" if self.unit == "cup" and self.count > 1 else self.unit
        return f"{self.number(decimal_point)}{_SPACE}{unit}"


@dataclass(frozen=True, slots=True)
class Dilution:
    """How a small amount is measured: so much into so much clean water, then so much of that."""

    part: "MeasuredAmount"
    water: "MeasuredAmount"
    take: "MeasuredAmount"


@dataclass(frozen=True, slots=True)
class MeasuredAmount:
    """An amount of ``asked`` mL or g as it can be measured; it really is ``actual`` mL or g.

    Where no owned measure is near (NOT_NEAR, NOT_OWNED) it is told in mL or g; ``dilution`` then
    says how it can be measured all the same, if it can.
    """

    asked: float
    parts: tuple[MeasurePart, ...]
    caution: MeasuringCaution | None = None
    dilution: Dilution | None = None

    @property
    def actual(self) -> float:
        """What is really added, mL or g."""
        return sum(part.actual for part in self.parts)

    @property
    def error_fraction(self) -> float:
        """How far it is off: (actual - asked) / asked."""
        return self.actual / self.asked - 1

    @property
    def is_under(self) -> bool:
        """Whether it is less than was asked for."""
        return self.actual <= self.asked

    @property
    def fillings(self) -> int:
        """How often something is filled."""
        return sum(part.fillings for part in self.parts)

    @property
    def unit(self) -> str:
        """The unit of the amount; empty where it takes two."""
        return self.parts[0].unit if len(self.parts) == 1 else ""

    def number(self, decimal_point: str = ".") -> str:
        """Return the count as a person reads it: ``2¼``; with its units where it takes two."""
        if len(self.parts) == 1:
            return self.parts[0].number(decimal_point)
        return self.describe(decimal_point)

    def describe(self, decimal_point: str = ".") -> str:
        """Return the amount in English: ``2¼ tsp``, ``1½ cups``, ``92 mL``, ``1 cup + 2 tbsp``."""
        return " + ".join(part.describe(decimal_point) for part in self.parts)

    def awkwardness(self) -> float:
        """Return how awkward it is to measure, 0 for one exact filling."""
        mixed = _MIXED * (len(self.parts) - 1)
        return abs(self.error_fraction) / _OFF + _FILLING * (self.fillings - 1) + mixed


def in_measure(
    amount: float,
    owned: Iterable[str],
    *,
    solid: bool = False,
    at_most: float | None = None,
    at_least: float | None = None,
) -> MeasuredAmount:
    """Return an amount (mL, or g of a solid) in the handiest of the measures owned.

    What is really added is never over ``at_most``, and within 10 % of the amount, or not under
    ``at_least``, where that will do; where nothing owned comes so near, the amount is told in mL or
    g with a caution.

    Args:
        amount: mL of a liquid, g of a solid.
        owned: the keys of the measures that are there.
        solid: whether it is weighed.
        at_most: what is really added never passes this, in the same unit.
        at_least: where it can be held, it is not less than this, in the same unit.

    Raises:
        ChemistryError: the amount is not above 0, or absurd.
    """
    if not within(amount, 1e-9, 1e9) or (at_most is not None and not within(at_most, 1e-9)):
        raise ChemistryError("There is no amount to measure here: check the numbers entered.")
    amount = amount if at_most is None else min(amount, at_most)
    usable = [one for name in owned if (one := measure(name)) and one.solid == solid]
    if not usable:
        return replace(bare(amount, at_most, solid=solid), caution=MeasuringCaution.NOT_OWNED)
    allowed = [
        one
        for one in _ways(amount, usable)
        if at_most is None or one.actual <= at_most * (1 + 1e-9)
    ]
    near = [one for one in allowed if abs(one.error_fraction) <= NEAR + 1e-9]
    if not near and at_least is not None:
        near = [one for one in allowed if one.actual >= at_least and (at_most or one.is_under)]
    few = [one for one in near if one.fillings <= MOST_FILLINGS]
    if few:
        return min(few, key=MeasuredAmount.awkwardness)
    if near:
        return replace(min(near, key=lambda one: one.fillings), caution=MeasuringCaution.TOO_LARGE)
    return replace(bare(amount, at_most, solid=solid), caution=MeasuringCaution.NOT_NEAR)


def bare(amount: float, at_most: float | None = None, *, solid: bool = False) -> MeasuredAmount:
    """Return two significant figures of mL or g."""
    step = 10.0 ** (math.floor(math.log10(amount) + 1e-9) - 1)
    steps = math.floor(amount / step + 0.5)
    if at_most is not None and steps * step > at_most * (1 + 1e-9):
        steps = math.floor(amount / step + 1e-9)
    part = MeasurePart(steps * step, "g" if solid else "mL", step, 1.0, 1)
    return MeasuredAmount(amount, (part,))


def _ways(amount: float, usable: list[Measure]) -> Iterator[MeasuredAmount]:
    """Yield the ways to measure an amount: with one measure, or with two kinds of spoon."""
    sets = _sets(usable)
    scoops = [kit for kit in sets.values() if kit[0].is_scoop]
    for kit in sets.values():
        for steps in _steps(amount, kit):
            yield MeasuredAmount(amount, (_part(steps, kit),))
    for large, small in permutations(scoops, 2):
        if large[0].unit_size <= small[0].unit_size:
            continue
        first = _part(_whole_steps(amount, large), large)
        rest = amount - first.actual
        if first.count <= 0 or rest <= 0:
            continue
        for steps in _steps(rest, small):
            second = _part(steps, small)
            if second.fillings <= _MOST_AFTER:
                yield MeasuredAmount(amount, (first, second))


def _sets(usable: list[Measure]) -> dict[tuple[str, float], list[Measure]]:
    """Return spoons (or cups) of one unit together, the largest first; each other one alone."""
    sets: dict[tuple[str, float], list[Measure]] = {}
    for one in usable:
        key = (one.unit, 0.0 if one.is_scoop else one.step * 1e6 + one.capacity)
        sets.setdefault(key, []).append(one)
    return {key: sorted(kit, key=lambda one: -one.capacity) for key, kit in sets.items()}


def _steps(amount: float, kit: list[Measure]) -> Iterator[int]:
    """Yield the whole steps next to an amount, under it and over it; at least one."""
    size = kit[-1].step * kit[-1].unit_size
    exact = amount / size
    for steps in {math.floor(exact + 1e-6), math.ceil(exact - 1e-6)}:
        if steps >= 1:
            yield steps


def _whole_steps(amount: float, kit: list[Measure]) -> int:
    return math.floor(amount / (kit[-1].step * kit[-1].unit_size) + 1e-6)


def _part(steps: int, kit: list[Measure]) -> MeasurePart:
    finest = kit[-1]
    count = steps * finest.step
    if not finest.is_scoop:
        fillings = math.ceil(count / finest.capacity - 1e-9)
        return MeasurePart(count, finest.unit, finest.step, finest.unit_size, fillings)
    fillings, left = 0, count
    for one in kit:
        times = math.floor(left / one.capacity + 1e-6)
        fillings, left = fillings + times, left - times * one.capacity
    return MeasurePart(count, finest.unit, finest.step, finest.unit_size, fillings)
