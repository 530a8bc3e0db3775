"""What is kept of a person, a lot or a kind of produce: one more row of traits for each.

A row goes with the particles through every reading, as the traits of the fill do, so what is
learned of one person also tells of the pack that all use, and of a lot of the same produce.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from typing import NamedTuple

import numpy as np

from washmon.forecast.kinetics import Floats


class Subject(StrEnum):
    """What a row is about."""

    PERSON = "person"
    """How high somebody reads strips, beyond what the pack does (log)."""
    LOT = "lot"
    """Chlorine that a kilogram of a lot uses up in the end, g as Cl2 per kg (log)."""
    PRODUCE = "produce"
    """The same of the newest lot of a kind of produce."""


class Row(NamedTuple):
    """Whose row it is."""

    about: Subject
    name: str

    def __str__(self) -> str:
        return f"{self.about} {self.name}"


MOST = {Subject.PERSON: 5, Subject.LOT: 8, Subject.PRODUCE: 4}
"""So many of each are kept, those that came last."""
USUAL_SPREAD = {Subject.PERSON: 0.06, Subject.LOT: 0.6, Subject.PRODUCE: 0.6}
BETWEEN_SHIFTS = {Subject.PERSON: 0.015, Subject.LOT: 0.1, Subject.PRODUCE: 0.15}
"""How far a row strays from shift to shift. Both: common practice, no published source."""
_STEP, _FURTHEST = 0.001, 32_000
"""Digits of what the journal keeps: logarithms in thousandths, two bytes each."""


@dataclass(frozen=True, eq=False)
class Belief:
    """Particles of equal weight: a row for each trait, then one for whatever is kept.

    So what readings told of two rows at once (much demand that reacts slowly, or little that
    reacts fast) is not lost, whatever its shape.
    """

    kept: tuple[Row, ...]
    particles: Floats

    @cached_property
    def middle(self) -> Floats:
        """The mean of each row."""
        mean: Floats = self.particles.mean(axis=1)
        return mean

    @cached_property
    def spread(self) -> Floats:
        """The standard deviation of each row."""
        deviation: Floats = self.particles.std(axis=1)
        return deviation

    def draw(self, rng: np.random.Generator, count: int) -> Floats:
        """Return rows for so many particles, each of these taken as often as any other."""
        size = self.particles.shape[1]
        found: Floats = self.particles[:, rng.permutation(count) % size]
        return found

    def packed(self) -> bytes:
        """Return the particles as the journal keeps them; :func:`believed` takes them up."""
        steps = np.clip(np.round(self.particles / _STEP), -_FURTHEST, _FURTHEST)
        return steps.astype("<i2").tobytes()


def believed(kept: tuple[Row, ...], rows: int, packed: bytes) -> Belief:
    """Return a belief of so many rows from what the journal keeps of it."""
    return Belief(kept, _STEP * np.frombuffer(packed, "<i2").reshape(rows, -1))


def rounded(kept: tuple[Row, ...], particles: Floats) -> Belief:
    """Return a belief of particles just as the journal will give it again."""
    return believed(kept, particles.shape[0], Belief(kept, particles).packed())


def row_named(name: str) -> Row:
    """Return the row whose name stands in a journal."""
    about, _, whose = name.partition(" ")
    return Row(Subject(about), whose)


def place_of(kept: Sequence[Row], row: Row, first: int) -> int | None:
    """Return the place of a row among all rows, of which the traits' are the ``first``."""
    return first + kept.index(row) if row in kept else None


def keeping(
    traits: Floats, kept: tuple[Row, ...], row: Row, values: Floats, first: int
) -> tuple[Floats, tuple[Row, ...]]:
    """Return all rows with new values of one, then the newest; too many lose the oldest."""
    names = [one for one in kept if one != row]
    alike = [one for one in names if one.about is row.about]
    if len(alike) >= MOST[row.about]:
        names.remove(alike[0])
    places = [*range(first), *(first + kept.index(one) for one in names)]
    return np.concatenate((traits[places], values[None, :])), (*names, row)
