"""The small values of a panel side by side, in as many rows as the width asks for."""

import math
from typing import NamedTuple

from PySide6.QtCore import QEvent, QPointF, QRect, QRectF, QSize
from PySide6.QtGui import QColor, QFontMetricsF, QHelpEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from washmon.gui.board.panel_views import ValueView
from washmon.gui.kit import theme
from washmon.gui.kit.state_mark import MarkState, draw_mark
from washmon.gui.kit.text import Tone, Weight
from washmon.gui.kit.theme import Size, Theme

_GAP_PX = 12.0
_ROW_GAP_PX = 4.0
_MARK_PX = 10.0


class _Cell(NamedTuple):
    box: QRectF
    value: ValueView


class ValueStrip(QWidget):
    """Draws each value under its name; one that causes a state has its colour and its shape."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._values: tuple[ValueView, ...] = ()
        self._widths: list[float] = []
        self._laid: dict[float, list[_Cell]] = {}
        self._one_row = False
        self._name_font = theme.font(Size.TINY)
        self._font = theme.font(Size.BODY, Weight.DemiBold, tabular=True)
        self.setFont(self._font)
        policy = QSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Minimum)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    @property
    def values(self) -> tuple[ValueView, ...]:
        """What is shown."""
        return self._values

    def show_values(self, values: tuple[ValueView, ...]) -> None:
        """Show values; does nothing when they are the same."""
        if values == self._values:
            return
        self._values = values
        self._measure()
        self.setAccessibleName(", ".join(f"{value.name} {value.text}" for value in values))
        self.updateGeometry()
        self.update()

    def changeEvent(self, event: QEvent) -> None:
        """Take the size that the type has now."""
        super().changeEvent(event)
        if event.type() is QEvent.Type.FontChange:
            self._font = self.font()
            self._name_font = theme.font(Size.TINY)
            self._measure()
            self.updateGeometry()

    def _measure(self) -> None:
        """Find out how wide each value is, and forget where they stood."""
        self._widths = [self._width(value) for value in self._values]
        self._laid.clear()

    def one_row_px(self) -> int:
        """Return how wide all values are side by side."""
        return math.ceil(sum(self._widths) + theme.px(_GAP_PX) * max(0, len(self._widths) - 1)) + 1

    def keep_one_row(self, one_row: bool) -> None:  # noqa: FBT001 (as Qt's setters)
        """Take as much room as one row needs, or as many rows as there is room for."""
        self._one_row = one_row
        across = QSizePolicy.Policy.Fixed if one_row else QSizePolicy.Policy.Ignored
        policy = QSizePolicy(across, QSizePolicy.Policy.Minimum)
        policy.setHeightForWidth(not one_row)
        self.setSizePolicy(policy)
        self.updateGeometry()

    def hasHeightForWidth(self) -> bool:
        """Narrower is taller."""
        return not self._one_row

    def heightForWidth(self, width: int) -> int:
        """Return the height of all rows at a width."""
        return round(max((cell.box.bottom() for cell in self._cells(width)), default=0.0))

    def sizeHint(self) -> QSize:
        """Return the room of one row, of four where there may be more rows."""
        if self._one_row:
            return QSize(self.one_row_px(), round(self._row_height()))
        return QSize(280, self.heightForWidth(280))

    def _row_height(self) -> float:
        return QFontMetricsF(self._name_font).height() + QFontMetricsF(self._font).height()

    def _cells(self, width: float) -> list[_Cell]:
        """Return where each value stands at a width; asked for more often than they change."""
        if width not in self._laid:
            self._laid[width] = self._lay(width)
        return self._laid[width]

    def _lay(self, width: float) -> list[_Cell]:
        cells = []
        x, y, row = 0.0, 0.0, self._row_height()
        for value, wide in zip(self._values, self._widths, strict=True):
            if x > 0 and x + wide > width:
                x, y = 0.0, y + row + _ROW_GAP_PX
            cells.append(_Cell(QRectF(x, y, wide, row), value))
            x += wide + theme.px(_GAP_PX)
        return cells

    def _width(self, value: ValueView) -> float:
        mark = 0.0 if value.look is MarkState.IN_LIMITS else theme.px(_MARK_PX) + 4
        return max(
            QFontMetricsF(self._name_font).horizontalAdvance(value.name) + mark,
            QFontMetricsF(self._font).horizontalAdvance(value.text),
        )

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw names and values."""
        painter = QPainter(self)
        shades = theme.current()
        small, large = QFontMetricsF(self._name_font), QFontMetricsF(self._font)
        for box, value in self._cells(self.width()):
            painter.setFont(self._name_font)
            painter.setPen(QColor(shades.soft_ink))
            painter.drawText(QPointF(box.left(), box.top() + small.ascent()), value.name)
            painter.setFont(self._font)
            painter.setPen(QColor(_ink(value, shades)))
            base = box.top() + small.height() + large.ascent()
            painter.drawText(QPointF(box.left(), base), value.text)
            if value.look is not MarkState.IN_LIMITS:
                left = box.left() + small.horizontalAdvance(value.name) + 4
                middle = box.top() + small.ascent() - small.capHeight() / 2
                side = theme.px(_MARK_PX)
                place = QRectF(left, middle - side / 2, side, side)
                draw_mark(painter, place, value.look)

    def event(self, event: QEvent) -> bool:
        """Show a value's hint where the pointer rests on it."""
        if isinstance(event, QHelpEvent):
            here = QPointF(event.pos())
            found = next((c for c in self._cells(self.width()) if c.box.contains(here)), None)
            if found is None:
                QToolTip.hideText()
            else:
                area: QRect = found.box.toAlignedRect()
                QToolTip.showText(event.globalPos(), found.value.hint, self, area)
            return True
        return super().event(event)


def _ink(value: ValueView, shades: Theme) -> str:
    causes = {
        Tone.WATCH: shades.watch_ink,
        Tone.ACT: shades.act_ink,
        Tone.STOP: shades.stop_ink,
    }
    return causes.get(value.look.tone, shades.soft_ink if value.old else shades.ink)
