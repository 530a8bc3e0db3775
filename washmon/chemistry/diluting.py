"""A dilution made first: how an amount is measured that is too small for what is owned."""

import math
from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import lru_cache
from itertools import islice
from typing import NamedTuple

from washmon.chemistry.measures import FRACTIONS, Measure, measure
from washmon.chemistry.measuring import (
    Dilution,
    MeasuredAmount,
    MeasurePart,
    MeasuringCaution,
    in_measure,
)

# Each of the two measurements is off by half of what an amount may be off at most.
_GOOD_ERROR = 0.05
_THINNEST, _LARGEST_ML = 200.0, 10_000.0
_STRONGEST_LIQUID = 0.25
_LEAST_STEPS = 5  # of a cylinder: less is read too coarsely
_MOST_TRIED = 120
_USED = 0.8
"""Of what was stirred together, the most that is taken: the rest clings, or is never mixed."""
_STRONGEST_SOLID = 0.05
"""g to the mL: more may not dissolve while one waits, and takes up room of its own."""


class _Way(NamedTuple):
    part: MeasuredAmount
    water: MeasuredAmount
    take: MeasuredAmount
    strength: float

    @property
    def awkwardness(self) -> float:
        fillings = self.part.fillings + self.water.fillings
        return self.take.awkwardness() + 0.25 * fillings + math.log10(self.water.actual)


def with_dilution(
    amount: float,
    owned: Iterable[str],
    *,
    solid: bool = False,
    at_most: float | None = None,
    at_least: float | None = None,
) -> MeasuredAmount:
    """Return an amount as it can be measured, by way of a dilution where nothing owned is near.

    Both hypochlorite and acid go into the water, never the water into them.

    Args:
        amount: mL of a liquid, g of a solid.
        owned: the keys of the measures that are there.
        solid: whether it is weighed.
        at_most: what it may not pass, in the same unit.
        at_least: what it may not stay under, in the same unit.

    Raises:
        ChemistryError: the amount is not above 0, or absurd.
    """
    return _with_dilution(amount, tuple(owned), solid, at_most, at_least)


@lru_cache(maxsize=128)
def _with_dilution(
    amount: float,
    owned: tuple[str, ...],
    solid: bool,  # noqa: FBT001 - a cache tells no keywords apart
    at_most: float | None,
    at_least: float | None,
) -> MeasuredAmount:
    found = in_measure(amount, owned, solid=solid, at_most=at_most, at_least=at_least)
    if found.caution is not MeasuringCaution.NOT_NEAR:
        return found
    amount = found.asked
    ways = _ways(amount, owned, at_most, solid=solid)
    best = min(ways, key=lambda way: way.awkwardness, default=None)
    if best is None:
        return found
    actual = best.take.actual * best.strength
    digits = 10.0 ** (math.floor(math.log10(actual) + 1e-9) - 1)
    part = MeasurePart(actual, "g" if solid else "mL", digits, 1.0, 1)
    return replace(found, parts=(part,), dilution=Dilution(best.part, best.water, best.take))


def _ways(
    amount: float, owned: tuple[str, ...], at_most: float | None, *, solid: bool
) -> Iterator[_Way]:
    for part, water, strength in islice(_stocks(amount, owned, solid=solid), _MOST_TRIED):
        most = None if at_most is None else at_most / strength
        take = in_measure(amount / strength, owned, at_most=most)
        near = take.caution is None and abs(take.error_fraction) <= _GOOD_ERROR
        last = take.parts[-1]
        if near and (last.unit in FRACTIONS or last.count >= _LEAST_STEPS * last.step):
            yield _Way(part, water, take, strength)


def _stocks(
    amount: float, owned: tuple[str, ...], *, solid: bool
) -> Iterator[tuple[MeasuredAmount, MeasuredAmount, float]]:
    """Yield what may be stirred into what, with what it comes to: mL (g of a solid) in each mL."""
    vessels = [one for name in owned if (one := measure(name))]
    waters = [*_counts([one for one in vessels if not one.solid])]
    for part in _counts([one for one in vessels if one.solid == solid]):
        if not amount <= _USED * part.actual <= _THINNEST * amount:
            continue
        for water in waters:
            total = water.actual if solid else water.actual + part.actual
            strength = part.actual / total
            thin = strength <= (_STRONGEST_SOLID if solid else _STRONGEST_LIQUID)
            if thin and water.actual <= _LARGEST_ML:
                yield part, water, strength


def _counts(vessels: list[Measure]) -> Iterator[MeasuredAmount]:
    """Yield amounts that are easily measured: a few spoons, or a round number of a scale."""
    for one in vessels:
        counts: tuple[int, ...] = (1, 2, 3, 4)
        if not one.is_scoop:
            most = one.capacity / one.step
            counts = tuple(k for k in (10, 20, 25, 50, 100, 200, 250, 500) if k <= most)
        for count in counts:
            size = count * one.step
            fillings = math.ceil(size / one.capacity - 1e-9)
            part = MeasurePart(size, one.unit, one.step, one.unit_size, fillings)
            yield MeasuredAmount(part.actual, (part,))
