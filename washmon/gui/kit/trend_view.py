"""What a trend draws: plain frozen points, marks and limits, in the unit that is shown."""

from collections.abc import Iterator
from functools import cached_property

from msgspec import Struct


class DrawnPoint(Struct, frozen=True):
    """One reading.

    ``x`` is batches washed in this tank since the shift began; ``low`` and ``high`` bound what a
    strip can tell; ``text`` is what the hint says (values, method, who entered).
    """

    x: float
    y: float
    text: str = ""
    low: float | None = None
    high: float | None = None


Run = tuple[DrawnPoint, ...]
"""Readings joined by a line: from one dose or water change to the next."""


class TrendMark(Struct, frozen=True):
    """A dose or acid at a level, or a water change (``y`` is where its hint points)."""

    x: float
    text: str = ""
    y: float = 0.0


class DrawnFan(Struct, frozen=True):
    """The forecast at ``x``: the likely range and its middle."""

    x: float
    low: float
    middle: float
    high: float


class Bracket(Struct, frozen=True):
    """Between which levels the next reading is expected, with the words that say so."""

    x: float
    low: float
    high: float
    text: str = ""


class TrendLimits(Struct, frozen=True):
    """Operating band, target and critical low; ``None`` is not drawn."""

    low: float
    high: float
    target: float | None = None
    critical: float | None = None


class TrendView(Struct, frozen=True, dict=True):
    """A whole trend. ``x_to`` stretches the axis, so that several tanks can share one scale."""

    y_label: str
    limits: TrendLimits
    current: tuple[Run, ...] = ()
    earlier: tuple[Run, ...] = ()
    doses: tuple[TrendMark, ...] = ()
    changes: tuple[TrendMark, ...] = ()
    acids: tuple[TrendMark, ...] = ()
    fan: tuple[DrawnFan, ...] = ()
    supposed: tuple[DrawnFan, ...] = ()
    """What would come if something were done that somebody wonders about."""
    expected: Bracket | None = None
    draft: DrawnPoint | None = None
    """What is typed and not saved yet."""
    x_to: float = 0.0

    def points(self) -> Iterator[DrawnPoint]:
        """Yield every reading, earlier fills first."""
        for runs in (self.earlier, self.current):
            for run in runs:
                yield from run

    @cached_property
    def x_end(self) -> float:
        """The right end of the axis: a little after the last thing that happened or will."""
        last = max(
            [point.x for point in self.points()]
            + [mark.x for mark in (*self.doses, *self.acids, *self.changes)]
            + [step.x for step in (*self.fan, *self.supposed)]
            + [self.x_to]
            + ([] if self.expected is None else [self.expected.x])
            + ([] if self.draft is None else [self.draft.x]),
        )
        return max(last * 1.04, 10.0)

    @cached_property
    def y_end(self) -> float:
        """The upper end of the axis: above the band and above every reading."""
        levels = [point.high or point.y for point in self.points()]
        levels += [mark.y for mark in (*self.doses, *self.acids)]
        levels += [step.high for step in self.fan]
        # A slip in what is supposed shrinks no plot either.
        levels += [min(step.high, self.limits.high * 2) for step in self.supposed]
        if self.expected is not None:
            levels.append(self.expected.high * 1.06)  # its words stand over it
        if self.draft is not None:
            levels.append(min(self.draft.y, self.limits.high * 2))  # a slip shrinks no plot
        return max([self.limits.high * 1.18] + [level * 1.08 for level in levels]) or 1.0
