"""One tank: a card that says how it is and what to do, and a card with how it got here."""

from PySide6.QtCore import QEvent, QRectF, Qt, Signal, Slot
from PySide6.QtGui import (
    QColor,
    QFocusEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
)
from PySide6.QtWidgets import QBoxLayout, QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from washmon.gui.board.caution_line import CautionLine
from washmon.gui.board.hairline import Hairline
from washmon.gui.board.value_strip import ValueStrip
from washmon.gui.board.views import LineView, PanelView
from washmon.gui.board.words import unbroken
from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.card import Card
from washmon.gui.kit.late_trend import LateTrend
from washmon.gui.kit.level_scale import LevelScale
from washmon.gui.kit.state_mark import StateBadge
from washmon.gui.kit.text import ShortText, Text, Tone, Weight, plain_tip
from washmon.gui.kit.theme import Size

NARROWEST_PX = 190
_NARROW_PX = 290
_WIDE_PX = 400
_LOWEST_TREND_PX = 104
_LOOSE_PX, _TIGHT_PX = 4, 2
_GAP_PX = 8


class StateCard(Card):
    """How a tank is and what to do; pressing it chooses the tank."""

    chosen = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.number = Text("", Size.LEAD, bold=True, tone=Tone.SOFT)
        self.name = ShortText("", Size.LEAD, bold=True)
        self.badge = StateBadge()
        self.facts = Text("", Size.SMALL, tone=Tone.SOFT, wrapped=True)
        self.level = Text("", Size.HUGE, bold=True, tabular=True)
        self.caption = ShortText("", Size.SMALL, tone=Tone.SOFT)
        self.measured = ShortText("", Size.SMALL, tone=Tone.SOFT)
        self.scale = LevelScale()
        self.values = ValueStrip()
        self.ahead = Text("", Size.SMALL, wrapped=True)
        self.step = Text("", Size.LEAD, bold=True, wrapped=True)
        self.caution = CautionLine()
        self.second = Text("", Size.SMALL, tone=Tone.SOFT, wrapped=True)
        self._framed = False
        self._heights: dict[int, int] = {}
        self._head = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self._lay_out()

    def _lay_out(self) -> None:
        title = QHBoxLayout()
        title.setSpacing(8)
        title.addWidget(self.number)
        title.addWidget(self.name, 1)
        self._head.setSpacing(4)
        self._head.addLayout(title, 1)
        self._head.addWidget(self.badge)
        words = QVBoxLayout()
        words.setSpacing(0)
        words.addStretch(1)
        words.addWidget(self.caption)
        words.addWidget(self.measured)
        words.addStretch(1)
        level = QHBoxLayout()
        level.setSpacing(8)
        level.addWidget(self.level)
        level.addLayout(words, 1)
        self.name.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        for line in (self.caption, self.measured):
            line.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        for label in (self.facts, self.ahead, self.step, self.caution, self.second):
            label.setMinimumWidth(1)  # wrapped text can be as narrow as the column
        self.body.addLayout(self._head)
        self.body.addWidget(self.facts)
        self.body.addLayout(level)
        self.body.addWidget(self.scale)
        self.body.addWidget(self.values)
        self.body.addSpacing(2)
        self.body.addWidget(Hairline())
        self.body.addSpacing(2)
        self.body.addWidget(self.ahead)
        self.body.addWidget(self.step)
        self.body.addWidget(self.caution)
        self.body.addWidget(self.second)
        self.body.addStretch(1)

    def show_view(self, view: PanelView) -> None:
        """Show a tank."""
        self._heights.clear()
        self.show_look(view.look)
        self.number.setText(str(view.number))
        self.name.setText(view.name)
        self.badge.show_look(view.look, view.state)
        _say(self.facts, view.facts, Tone.SOFT)
        _say(self.level, view.level, Tone.PLAIN)
        self.caption.setText(view.caption)
        _say(self.measured, view.measured, Tone.SOFT)
        self.scale.show_view(view.scale)
        self.scale.setToolTip(plain_tip(view.limits))
        self.values.show_values(view.values)
        self.ahead.setText(view.ahead)
        self.ahead.setVisible(bool(view.ahead))
        self.step.setText(unbroken(view.step.text))
        self.caution.show_caution(view.step.caution)
        self.second.setText(unbroken(view.second))
        self.second.setVisible(bool(view.second))
        self.setAccessibleName(
            tr(
                "Tank {tank}: {state}. {ahead}{step}{second}",
                tank=view.title,
                state=view.state or view.look.word,
                ahead=f"{view.ahead}. " if view.ahead else "",
                step=view.step.text,
                second=f". {view.second}" if view.second else "",
            )
        )

    def height_at(self, width_px: int) -> int:
        """Return how tall the card must be at a width; kept until something else is shown."""
        if width_px not in self._heights:
            self._fold(width_px)
            self._heights = {width_px: self.body.totalHeightForWidth(width_px)}
        return self._heights[width_px]

    def measure_anew(self) -> None:
        """Forget the height that was measured: the type has changed."""
        self._heights.clear()

    def _fold(self, width_px: int) -> None:
        """Put the state under the name, where the card is narrow; size the step."""
        narrow = width_px < _NARROW_PX
        way = QBoxLayout.Direction.TopToBottom if narrow else QBoxLayout.Direction.LeftToRight
        if self._head.direction() is not way:
            self._head.setDirection(way)
        self.body.setSpacing(_TIGHT_PX if narrow else _LOOSE_PX)
        size = Size.BODY if narrow else Size.LEAD if width_px < _WIDE_PX else Size.TITLE
        self.step.setFont(theme.font(size, Weight.DemiBold))

    def event(self, event: QEvent) -> bool:
        """Measure anew after what a part of the card has changed by itself."""
        if event.type() in (QEvent.Type.LayoutRequest, QEvent.Type.Polish):
            self.measure_anew()
        return super().event(event)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Choose the tank."""
        if self.rect().contains(event.position().toPoint()):
            self.chosen.emit()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take the press, so that the release comes here."""
        event.accept()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Choose the tank by Enter or Space."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            self.chosen.emit()
        else:
            super().keyPressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Show a frame where the keyboard led here, not where a window just opened."""
        super().focusInEvent(event)
        self._framed = event.reason() in (
            Qt.FocusReason.TabFocusReason,
            Qt.FocusReason.BacktabFocusReason,
            Qt.FocusReason.ShortcutFocusReason,
        )
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Take the frame away."""
        super().focusOutEvent(event)
        self._framed = False
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the card, and a frame while it has the focus from the keyboard."""
        super().paintEvent(event)
        if self._framed:
            painter = QPainter(self)
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.setPen(QPen(QColor(theme.current().hand), 2))
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(2, 2, -2, -2), 5, 5)


class TankPanel(QWidget):
    """The column of one tank; ``chosen`` tells its number."""

    chosen = Signal(int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._view: PanelView | None = None
        self.state = StateCard(self)
        self.trend_card = Card(self, margin_px=7)
        self.trend = LateTrend(self.trend_card)
        self.trend.setMinimumHeight(_LOWEST_TREND_PX - 14)
        self.trend_card.body.addWidget(self.trend)
        self.trend_card.setMinimumHeight(_LOWEST_TREND_PX)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(_GAP_PX)
        column.addWidget(self.state)
        column.addWidget(self.trend_card, 1)
        self.setMinimumWidth(NARROWEST_PX)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Expanding)
        self.state.chosen.connect(self._tell)

    @property
    def view(self) -> PanelView | None:
        """What is shown."""
        return self._view

    def show_view(self, view: PanelView) -> bool:
        """Show a tank; does nothing when it is the same. Return whether anything changed."""
        if view == self._view:
            return False
        self._view = view
        self.state.show_view(view)
        self.trend.show_view(view.trend)
        return True

    @Slot()
    def _tell(self) -> None:
        if self._view is not None:
            self.chosen.emit(self._view.number)


def _say(label: Text, line: LineView, calm: Tone) -> None:
    label.setText(line.text)
    tone = line.look.tone
    label.set_tone(calm if tone is Tone.PLAIN else tone)
