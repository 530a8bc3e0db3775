"""The strip under the head: who is first, and when; what is to be done stands in the tank."""

from datetime import datetime

from PySide6.QtCore import QEvent, QRectF, QSize, Qt, Signal, Slot
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QAbstractButton, QSizePolicy, QWidget

from washmon.gui.board.panel_views import TurnView
from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.boxes import STRETCH, hbox
from washmon.gui.kit.buttons import TOUCH_PX
from washmon.gui.kit.state_mark import draw_mark
from washmon.gui.kit.text import Text, Tone, Weight
from washmon.gui.kit.theme import Size
from washmon.gui.kit.wait_ring import draw_ring

_GAP_PX = 8
_MARGIN_PX = 12
_MARK_PX = 18


class TurnChip(QAbstractButton):
    """One tank: its state or its wait, what it needs in a word, and when."""

    def __init__(self, view: TurnView, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._view = view
        self._left = ""
        self._share = 0.0
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self._tell()

    @property
    def view(self) -> TurnView:
        """What is shown."""
        return self._view

    @property
    def words(self) -> str:
        """All that is written on it."""
        return " ".join(filter(None, (f"{self._what}", self.when)))

    @property
    def when(self) -> str:
        """When it is its turn."""
        return self._left or self._view.when

    @property
    def _what(self) -> str:
        return tr("{tank}: {what}", tank=self._view.title, what=self._view.what)

    def show_view(self, view: TurnView) -> None:
        """Show a turn; does nothing when it is the same."""
        if view != self._view:
            self._view = view
            self._left = self._left if view.wait is not None else ""
            self._tell()

    def tick(self, now: datetime) -> None:
        """Count the wait down."""
        wait = self._view.wait
        if wait is None:
            return
        left = tr("in {time}", time=wait.left(now))
        if left != self._left:
            self._left, self._share = left, wait.share(now)
            self._tell()

    def _tell(self) -> None:
        self.setAccessibleName(self.words)
        self.updateGeometry()
        self.update()

    def _fonts(self) -> tuple[QFont, QFont]:
        weight = Weight.DemiBold if self._view.pressing else Weight.Normal
        return theme.font(Size.BODY, weight), theme.font(Size.SMALL, tabular=True)

    def sizeHint(self) -> QSize:
        """Return room for mark, words and time."""
        what, when = self._fonts()
        width = 2 * _MARGIN_PX + theme.px(_MARK_PX) + _GAP_PX
        width += round(QFontMetricsF(what).horizontalAdvance(self._what)) + 2
        if self.when:
            digits = "".join("0" if sign.isdigit() else sign for sign in self.when)
            width += _GAP_PX + round(QFontMetricsF(when).horizontalAdvance(digits)) + 2
        return QSize(width, max(TOUCH_PX, round(QFontMetricsF(what).height()) + 20))

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw the pill and what stands on it."""
        shades = theme.current()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        edge = shades.ink if self.hasFocus() else shades.hairline
        painter.setPen(
            QPen(QColor(edge), shades.line_px + 1 if self.hasFocus() else shades.line_px)
        )
        held = self.isDown() or self.underMouse()
        painter.setBrush(QColor(shades.hand_soft if held else shades.card))
        box = QRectF(self.rect()).adjusted(1, 3, -1, -3)
        painter.drawRoundedRect(box, box.height() / 2, box.height() / 2)
        mark = QRectF(_MARGIN_PX, 0, theme.px(_MARK_PX), self.height())
        if self._view.wait is not None:
            draw_ring(painter, mark, self._share)
        else:
            draw_mark(painter, mark, self._view.look)
        left = mark.right() + _GAP_PX
        for text, font, ink in zip(
            (self._what, self.when), self._fonts(), (shades.ink, shades.soft_ink), strict=True
        ):
            painter.setFont(font)
            painter.setPen(QColor(ink))
            row = QRectF(left, 0, self.width() - left, self.height())
            painter.drawText(row, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft, text)
            left += QFontMetricsF(font).horizontalAdvance(text) + _GAP_PX


class AgendaStrip(QWidget):
    """The tanks in the order in which they need somebody; ``chosen`` tells which was pressed."""

    chosen = Signal(int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.chips: list[TurnChip] = []
        self._turns: tuple[TurnView, ...] | None = None
        self._first = Text(tr("First"), Size.BODY, tone=Tone.SOFT)
        self._then = Text(tr("then"), Size.BODY, tone=Tone.SOFT)
        self._rest = Text("", Size.BODY, tone=Tone.SOFT)
        self._row = hbox(self._first, self._then, self._rest, STRETCH, on=self, gap_px=_GAP_PX)
        self.setMinimumWidth(1)
        self.setMinimumHeight(TOUCH_PX)
        self.setAccessibleName(tr("Who is first"))

    @property
    def shown(self) -> list[str]:
        """The words on the chips that have room."""
        return [chip.words for chip in self.chips if not chip.isHidden()]

    def show_turns(self, turns: tuple[TurnView, ...], now: datetime) -> None:
        """Show who is first; chips that stay the same are left alone."""
        before, self._turns = self._turns, turns
        while len(self.chips) > len(turns):
            chip = self.chips.pop()
            self._row.removeWidget(chip)
            chip.hide()
            chip.deleteLater()
        while len(self.chips) < len(turns):
            chip = TurnChip(turns[len(self.chips)], self)
            chip.clicked.connect(self._tell)
            self.chips.append(chip)
        for chip, turn in zip(self.chips, turns, strict=True):
            chip.show_view(turn)
            chip.tick(now)
        if turns != before:
            self._arrange()
        elif any(turn.wait is not None for turn in turns):  # what is left of it is as long as it is
            self._fit()

    def tick(self, now: datetime) -> None:
        """Count the waits down."""
        for chip in self.chips:
            chip.tick(now)

    def _arrange(self) -> None:
        """Put "then" after those who press; leave out the last ones where there is no room."""
        pressing = sum(chip.view.pressing for chip in self.chips)
        self._first.setVisible(pressing > 0)
        for chip in self.chips:
            self._row.removeWidget(chip)
        self._row.removeWidget(self._then)
        for at, chip in enumerate(self.chips):
            self._row.insertWidget(at + 1, chip)
        self._row.insertWidget(pressing + 1, self._then)
        self._fit()

    def _fit(self) -> None:
        words = (self._first, self._then)
        used = sum(one.sizeHint().width() + _GAP_PX for one in words)
        widths = [chip.sizeHint().width() + _GAP_PX for chip in self.chips]
        spare = self._rest.fontMetrics().horizontalAdvance(tr("and {count} more", count=8)) + 10
        fits = 0
        while fits < len(widths):
            after = spare if fits + 1 < len(widths) else 0
            if fits and used + sum(widths[: fits + 1]) + after > self.width():
                break
            fits += 1
        for at, chip in enumerate(self.chips):
            chip.setVisible(at < fits)
        pressing = sum(chip.view.pressing for chip in self.chips)
        self._then.setVisible(0 < pressing < fits)
        hidden = len(self.chips) - fits
        self._rest.setText(tr("and {count} more", count=hidden) if hidden else "")
        self._rest.setVisible(hidden > 0)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Show as many as there is room for."""
        super().resizeEvent(event)
        self._fit()

    def changeEvent(self, event: QEvent) -> None:
        """Show as many as there is room for in larger type."""
        super().changeEvent(event)
        if event.type() is QEvent.Type.FontChange:
            self._fit()

    @Slot()
    def _tell(self) -> None:
        chip = self.sender()
        if isinstance(chip, TurnChip):
            self.chosen.emit(chip.view.tank)
