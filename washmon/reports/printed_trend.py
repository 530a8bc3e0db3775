"""The trend of a tank on paper: its sanitizer against batches washed, in black and white."""

from collections.abc import Iterator, Sequence
from itertools import groupby, pairwise
from typing import NamedTuple

from washmon.line.events import DoseAdded, ReadingTaken, WaterExchanged
from washmon.line.judging import under_critical
from washmon.line.reading import range_of
from washmon.line.setup import LineSetup, Tank
from washmon.line.state import Fill, Placed, TankState
from washmon.reports.paper import Sheet
from washmon.units import Kind, UnitSystem, show

HEIGHT_MM = 64.0
_LEFT_MM, _RIGHT_MM, _TOP_MM, _BOTTOM_MM = 12.0, 22.0, 4.0, 14.5
_TICK_PT = 6.5
_STEPS = (1, 2, 5)
Point = tuple[float, float]


class Frame(NamedTuple):
    """Where the plot stands on the page, and how far its axes go."""

    left: float
    top: float
    width: float
    height: float
    x_end: float
    y_end: float

    def at(self, x: float, y: float) -> Point:
        """Return the place of a value on the page, mm."""
        across = self.left + x / self.x_end * self.width
        return across, self.top + self.height - min(y / self.y_end, 1.0) * self.height


def draw_trend(sheet: Sheet, setup: LineSetup, tank: TankState, taste: UnitSystem) -> None:
    """Draw the trend of a tank below what stands on the page; there must be room for it."""
    field = tank.spec.level_field
    readings = [one for fill in tank.fills for one in fill.course(field) if _level(tank.spec, one)]
    frame = _frame(sheet, tank, readings)
    _limits(sheet, frame, tank.spec, taste)
    _axes(sheet, frame)
    for fill in tank.fills:
        if fill.number > 1:
            _water_change(sheet, frame, fill.begun.batches)
        for run in _runs(tank.spec, fill):
            _run(sheet, frame, run)
        for reading in fill.course(field):
            if (level := _level(tank.spec, reading)) is not None:
                reach = range_of(setup, tank.spec, reading.event)
                critical = under_critical(level, tank.spec)
                _reading(sheet, frame, frame.at(reading.batches, level), reach, filled=not critical)
        for dose in fill.doses:
            if not dose.event.second:
                _dose(sheet, frame, dose.batches)
    _legend(sheet, frame)
    sheet.set_y(frame.top + frame.height + _BOTTOM_MM)


def _level(spec: Tank, reading: Placed[ReadingTaken]) -> float | None:
    value: float | None = getattr(reading.event, spec.level_field)
    return value


def _frame(sheet: Sheet, tank: TankState, readings: Sequence[Placed[ReadingTaken]]) -> Frame:
    levels = [_level(tank.spec, one) or 0.0 for one in readings]
    return Frame(
        left=sheet.l_margin + _LEFT_MM,
        top=sheet.y + _TOP_MM,
        width=sheet.epw - _LEFT_MM - _RIGHT_MM,
        height=HEIGHT_MM - _TOP_MM - _BOTTOM_MM,
        x_end=max(tank.batches * 1.03, 10.0),
        y_end=max([tank.spec.limits.high_mg_l * 1.15, *(level * 1.08 for level in levels)]),
    )


def _limits(sheet: Sheet, frame: Frame, spec: Tank, taste: UnitSystem) -> None:
    limits = spec.limits
    left, top = frame.at(0, limits.high_mg_l)
    bottom = frame.at(0, limits.low_mg_l)[1]
    sheet.set_fill_color(232)
    sheet.rect(left, top, frame.width, bottom - top, style="F")
    levels = (
        ("high", limits.high_mg_l, 0.1, 0.0),
        ("target", limits.target_mg_l, 0.2, 1.6),
        ("low", limits.low_mg_l, 0.1, 0.0),
        ("critical", limits.critical_low_mg_l, 0.5, 0.0),
    )
    for _, level, width_mm, dash_mm in levels:
        y = frame.at(0, level)[1]
        sheet.set_line_width(width_mm)
        sheet.set_dash_pattern(dash=dash_mm, gap=dash_mm)
        sheet.line(left, y, left + frame.width, y)
    sheet.set_dash_pattern()
    _names(
        sheet, frame, [(level, f"{name} {_shown(level, taste)}") for name, level, _, _ in levels]
    )


def _names(sheet: Sheet, frame: Frame, names: Sequence[tuple[float, str]]) -> None:
    """Write the names of limits at the right, moved apart where they would stand on each other."""
    lowest = frame.top + frame.height
    for level, words in sorted(names):
        y = min(frame.at(0, level)[1], lowest - 2.6)
        _text(sheet, frame.left + frame.width + 1.2, y + 0.8, words)
        lowest = y


def _shown(level: float, taste: UnitSystem) -> str:
    return show(level, Kind.CONCENTRATION, taste, with_unit=False)


def _axes(sheet: Sheet, frame: Frame) -> None:
    left, bottom = frame.at(0, 0)
    sheet.set_line_width(0.2)
    sheet.line(left, frame.top, left, bottom)
    sheet.line(left, bottom, left + frame.width, bottom)
    for value in _ticks(frame.y_end, 6):
        x, y = frame.at(0, value)
        sheet.line(x - 1, y, x, y)
        _text(sheet, x - 1.6, y + 0.8, f"{value:g}", align="R")
    for value in _ticks(frame.x_end, 12):
        x, y = frame.at(value, 0)
        sheet.line(x, y, x, y + 1)
        _text(sheet, x, y + 3.4, f"{value:g}", align="C")
    _text(sheet, left + frame.width, bottom + 6.2, "batches washed in the tank", align="R")


def _ticks(end: float, most: int) -> Iterator[float]:
    steps = (step * 10.0**power for power in range(-1, 7) for step in _STEPS)
    step = next(step for step in steps if end / step <= most)
    return (at * step for at in range(int(end / step) + 1))


def _runs(spec: Tank, fill: Fill) -> Iterator[list[Point]]:
    """Yield readings that a line joins: nothing was put into the water between them."""
    everything: list[Placed[ReadingTaken] | Placed[DoseAdded] | Placed[WaterExchanged]] = [
        *fill.course(spec.level_field),
        *fill.doses,
        *fill.exchanges,
    ]
    everything.sort(key=lambda one: (one.event.at, one.seq))
    for is_reading, group in groupby(everything, lambda one: isinstance(one.event, ReadingTaken)):
        if is_reading:
            levels = [(one.batches, getattr(one.event, spec.level_field)) for one in group]
            yield [(x, y) for x, y in levels if y is not None]


def _run(sheet: Sheet, frame: Frame, run: Sequence[Point]) -> None:
    sheet.set_line_width(0.3)
    places = [frame.at(*point) for point in run]
    for (x1, y1), (x2, y2) in pairwise(places):
        sheet.line(x1, y1, x2, y2)


def _reading(
    sheet: Sheet, frame: Frame, place: Point, reach: tuple[float, float], *, filled: bool
) -> None:
    x, y = place
    low, high = (frame.at(0, level)[1] for level in reach)
    sheet.set_line_width(0.12)
    sheet.line(x, low, x, high)
    _dot(sheet, x, y, filled=filled)


def _dot(sheet: Sheet, x: float, y: float, *, filled: bool) -> None:
    """A reading: a dot, or a square with a white middle where it is under the critical low."""
    if filled:
        sheet.set_fill_color(0)
        sheet.circle(x, y, 0.75, style="F")
        return
    sheet.set_fill_color(255)
    sheet.set_line_width(0.4)
    sheet.rect(x - 0.9, y - 0.9, 1.8, 1.8, style="DF")


def _dose(sheet: Sheet, frame: Frame, batches: float) -> None:
    x, y = frame.at(batches, 0)
    sheet.set_fill_color(0)
    sheet.polygon(((x, y - 2.2), (x - 1.1, y - 0.2), (x + 1.1, y - 0.2)), style="F")


def _water_change(sheet: Sheet, frame: Frame, batches: float) -> None:
    x, bottom = frame.at(batches, 0)
    sheet.set_line_width(0.3)
    sheet.set_dash_pattern(dash=0.4, gap=0.9)
    sheet.line(x, frame.top, x, bottom)
    sheet.set_dash_pattern()


def _legend(sheet: Sheet, frame: Frame) -> None:
    x, y = frame.left, frame.top + frame.height + 10.6
    _dot(sheet, x + 1, y - 0.8, filled=True)
    _text(sheet, x + 3, y, "reading, with what it may really be")
    _dot(sheet, x + 47, y - 0.8, filled=False)
    _text(sheet, x + 49, y, "reading under the critical low")
    sheet.set_fill_color(0)
    sheet.polygon(((x + 87, y - 1.8), (x + 86, y + 0.1), (x + 88, y + 0.1)), style="F")
    _text(sheet, x + 89, y, "dose")
    sheet.set_line_width(0.3)
    sheet.set_dash_pattern(dash=0.4, gap=0.9)
    sheet.line(x + 99, y - 2.2, x + 99, y + 0.4)
    sheet.set_dash_pattern()
    _text(sheet, x + 100.5, y, "water change")
    sheet.set_fill_color(232)
    sheet.rect(x + 119, y - 1.9, 4, 2, style="F")
    _text(sheet, x + 124, y, "operating limits")


def _text(sheet: Sheet, x: float, y: float, words: str, *, align: str = "L") -> None:
    sheet.small(x, y, words, size_pt=_TICK_PT, align=align)
