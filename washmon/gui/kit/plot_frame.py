"""The frame of a plot: title, axes with their numbers, and the days under it."""

from collections.abc import Iterator, Sequence
from itertools import count
from typing import Generic, TypeVar

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPen

from washmon.gui.context import decimal_point
from washmon.gui.kit import theme
from washmon.gui.kit.control_view import BarPanel, ControlPanel, Panel
from washmon.gui.kit.text import Weight
from washmon.gui.kit.theme import Size
from washmon.units import MINUS

_DAY_PX = 84.0
"""Room for a day under the points."""
_TICK_PX = 30
"""Least height from one number of the axis to the next."""
_TIMES = (1, 2, 5)
P = TypeVar("P", BarPanel, ControlPanel)


def x_of(panel: Panel, box: QRectF, at: int) -> float:
    """Return where the value with this number stands, from left to right."""
    return box.left() + (at + 0.5) / max(len(panel.days), 1) * box.width()


def y_of(panel: Panel, box: QRectF, value: float) -> float:
    """Return how high a value stands."""
    low, high = panel.span()
    return box.bottom() - (value - low) / (high - low) * box.height()


class PlotFrame(Generic[P]):
    """What all plots have around them; a plot draws it, then what stands in it."""

    def __init__(self, painter: QPainter, panel: P, box: QRectF) -> None:
        self.painter, self.box = painter, box
        self.panel: P = panel
        self.shades = theme.current()
        self.metrics = QFontMetricsF(theme.font(Size.SMALL, tabular=True))

    def draw_frame(self) -> None:
        """Draw the title, the axes and the days."""
        self._title()
        self._axes()
        self._days(self.panel.days)

    def y(self, value: float) -> float:
        """Return how high a value stands."""
        return y_of(self.panel, self.box, value)

    def _title(self) -> None:
        self.painter.setFont(theme.font(Size.SMALL, Weight.DemiBold))
        self.painter.setPen(QColor(self.shades.ink))
        self.painter.drawText(QPointF(12, self.box.top() - 10), self.panel.title)
        self.painter.setFont(theme.font(Size.SMALL, tabular=True))

    def _axes(self) -> None:
        painter, box = self.painter, self.box
        painter.setPen(QPen(QColor(self.shades.border), 1))
        painter.drawLine(box.topLeft(), box.bottomLeft())
        painter.drawLine(box.bottomLeft(), box.bottomRight())
        painter.setPen(QColor(self.shades.soft_ink))
        for at, words in axis_numbers(*self.panel.span(), box.height()):
            self._right(words, box.left() - 6, self.y(at))

    def _days(self, days: Sequence[str]) -> None:
        last = self.box.left() - _DAY_PX
        before = ""
        for at, day in enumerate(days):
            x = x_of(self.panel, self.box, at)
            width = self.metrics.horizontalAdvance(day)
            fits = x - last >= _DAY_PX and x + width / 2 < self.box.right() + 60
            if fits and day != before:
                self.painter.drawText(QPointF(x - width / 2, self.box.bottom() + 16), day)
                last, before = x, day

    def _right(self, words: str, x: float, y: float) -> None:
        width = self.metrics.horizontalAdvance(words)
        self.painter.drawText(QPointF(x - width, y + 4), words)


def axis_numbers(low: float, high: float, height_px: float) -> Iterator[tuple[float, str]]:
    """Yield the values that an axis of this height names, from the lowest up, with their words."""
    step = _step((high - low) / max(1.0, height_px // _TICK_PX))
    if low <= 0 and step > high:  # or the axis would name nothing but 0
        step = _step_within(high)
    at = -(-low // step) * step
    while at <= high + step * 1e-9:
        yield at, _number(at, step)
        at += step


def _step(least: float) -> float:
    """Return the least of 1, 2 or 5 times a power of ten that is not under this."""
    steps = (times * 10.0**power for power in count(-6) for times in _TIMES)
    return next(step for step in steps if step >= least)


def _step_within(most: float) -> float:
    """Return the greatest of 1, 2 or 5 times a power of ten that is not over this."""
    return 1 / _step(1 / most)


def _number(value: float, step: float) -> str:
    decimals = 0 if step >= 1 else len(f"{step:.6f}".rstrip("0").partition(".")[2])
    text = f"{value:.{decimals}f}"
    if text.startswith("-"):
        text = MINUS + text[1:] if text.strip("-0.") else text[1:]
    return text.replace(".", decimal_point())
