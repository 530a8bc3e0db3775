"""What a chart over time draws: plain frozen points, levels and bars, in the unit shown."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ControlPoint:
    """One value: ``day`` stands under it, ``text`` is its hint, ``rules`` the keys it breaks.

    Where ``y`` is None nothing was measured: its place on the axis stays, and the line has a gap.
    """

    y: float | None
    day: str
    text: str = ""
    rules: tuple[str, ...] = ()
    hollow: bool = False
    """Of a shift that was imported."""


@dataclass(frozen=True, slots=True)
class ControlLevel:
    """A level with its words; the mean is dashed, limits are solid."""

    y: float
    words: str
    dashed: bool = False


@dataclass(frozen=True, slots=True)
class ControlPanel:
    """One plot: points in order, and the levels they are held against."""

    title: str
    points: tuple[ControlPoint, ...]
    levels: tuple[ControlLevel, ...] = ()
    y_from: float | None = None
    y_to: float | None = None

    @property
    def days(self) -> tuple[str, ...]:
        """What stands under the points."""
        return tuple(point.day for point in self.points)

    def span(self) -> tuple[float, float]:
        """Return the lower and upper end of the axis, with room above and below."""
        values = [point.y for point in self.points if point.y is not None]
        values += [level.y for level in self.levels]
        low, high = min(values, default=0.0), max(values, default=1.0)
        room = (high - low) * 0.12 or abs(high) * 0.1 or 1.0
        bottom = low - room if self.y_from is None else self.y_from
        return bottom, high + room if self.y_to is None else self.y_to


@dataclass(frozen=True, slots=True)
class Bar:
    """A stack of ``parts``, from the bottom up, in the order of the panel's names.

    ``mark`` stands over it where something is missing from it.
    """

    parts: tuple[float, ...]
    day: str
    text: str = ""
    mark: str = ""


@dataclass(frozen=True, slots=True)
class BarPanel:
    """One plot of stacked bars from 0 up; ``names`` are those of the parts."""

    title: str
    names: tuple[str, ...]
    bars: tuple[Bar, ...]

    @property
    def days(self) -> tuple[str, ...]:
        """What stands under the bars."""
        return tuple(bar.day for bar in self.bars)

    def span(self) -> tuple[float, float]:
        """Return 0 and the upper end of the axis, with room above the highest bar."""
        highest = max((sum(bar.parts) for bar in self.bars), default=0.0)
        return 0.0, highest * 1.15 or 1.0


Panel = ControlPanel | BarPanel


@dataclass(frozen=True, slots=True)
class ControlView:
    """A chart of a few plots under each other; ``nothing`` stands where there is none."""

    panels: tuple[Panel, ...] = ()
    nothing: str = ""
    caption: str = ""
    """Under the plots: what they are of, for a saved picture that stands alone."""
