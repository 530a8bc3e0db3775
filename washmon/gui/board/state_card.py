"""The card of one tank: how it is, in one glance, and its plan."""

from datetime import datetime

from PySide6.QtCore import QEvent, QRectF, Qt, Signal
from PySide6.QtGui import QColor, QFocusEvent, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QBoxLayout, QHBoxLayout, QLayout, QWidget

from washmon.gui.board.panel_views import LineView, PanelView
from washmon.gui.board.plan_box import FOLDS, PlanBox
from washmon.gui.board.value_strip import ValueStrip
from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.boxes import STRETCH, add, hbox, vbox
from washmon.gui.kit.card import Card
from washmon.gui.kit.level_scale import LevelScale
from washmon.gui.kit.spoken import SpokenRole, speak_as
from washmon.gui.kit.state_mark import StateBadge
from washmon.gui.kit.text import Digits, Text, Tone, plain_tip
from washmon.gui.kit.theme import Size

_NARROW_PX = 280
_WIDE_PX = 420
_LOOSE_PX, _TIGHT_PX = 4, 2
_MARGINS = (12, 7, 12, 7)
_NARROW_MARGINS = (8, 8, 8, 8)
_GAP_PX = 8


class StateCard(Card):
    """How a tank is and what to do; pressing it chooses the tank.

    Signals:
        chosen(): the card was pressed.
        answered(): the step of its plan was done.
        why_asked(): somebody wants to know what stands behind the plan.
    """

    chosen = Signal()
    answered = Signal()
    why_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)  # a press leaves the Board at rest
        speak_as(self, SpokenRole.Button)
        self.number = Text("", Size.LEAD, bold=True, tone=Tone.SOFT)
        self.name = Text("", Size.LEAD, bold=True, wrapped=True)
        self.badge = StateBadge()
        self.level = Digits("", Size.HUGE, bold=True, tabular=True)
        self.caption = Text("", Size.SMALL, tone=Tone.SOFT, wrapped=True)
        self.measured = Text("", Size.SMALL, tone=Tone.SOFT, wrapped=True)
        self.scale = LevelScale()
        self.values = ValueStrip()
        self.plan = PlanBox()
        self._framed = False
        self._heights: dict[tuple[int, bool], tuple[int, ...]] = {}
        self._changed = True
        self._head = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self._level = QHBoxLayout()
        self._beside: bool | None = None
        self._lay_out()
        self.plan.answered.connect(self.answered)
        self.plan.why_asked.connect(self.why_asked)

    def _lay_out(self) -> None:
        self._head.setSpacing(4)
        add(
            self._head,
            (hbox((self.number, 0, Qt.AlignmentFlag.AlignTop), (self.name, 1), gap_px=8), 1),
            self.badge,
        )
        words = vbox(STRETCH, gap_px=0)
        for line in (self.caption, self.measured):
            line.setMinimumWidth(1)
            words.addWidget(line)
        words.addStretch(1)
        self._level.setSpacing(_GAP_PX)
        add(self._level, self.level, (words, 1))
        self.name.setMinimumWidth(1)
        self.body.setContentsMargins(*_MARGINS)
        add(self.body, self._head, self._level, self.scale, (self.plan, 1))
        self.place_values(beside=False)

    def show_view(self, view: PanelView) -> None:
        """Show a tank."""
        self.measure_anew()
        self.show_look(view.look)
        self.number.setText(str(view.number))
        self.name.setText(view.name)
        self.badge.show_look(view.look, view.state)
        say(self.level, view.level, Tone.PLAIN)
        self.caption.setText(view.caption)
        say(self.measured, view.measured, Tone.SOFT)
        self.scale.show_view(view.scale)
        self.scale.setToolTip(plain_tip(view.limits))
        self.values.show_values(view.values)
        self.plan.show_view(view)
        self.setAccessibleName(
            tr(
                "Tank {tank}: {state}. {step} {quiet} {second}",
                tank=view.title,
                state=view.state or view.look.word,
                step=view.step.text,
                quiet=view.step.quiet,
                second=view.second,
            ).strip()
        )

    def tick(self, now: datetime) -> None:
        """Count the wait down."""
        if self.plan.tick(now):
            self.measure_anew()

    def inner_px(self, width_px: int) -> int:
        """Return how much of a width the text has."""
        left, _, right, _ = _NARROW_MARGINS if width_px < theme.px(_NARROW_PX) else _MARGINS
        return width_px - left - right

    def has_room_beside(self, width_px: int) -> bool:
        """Tell whether the small values fit beside the number, in one row."""
        words = max(
            one.fontMetrics().horizontalAdvance(one.text()) for one in (self.caption, self.measured)
        )
        used = self.level.sizeHint().width() + words + 2 * _GAP_PX + 2
        return used + self.values.one_row_px() <= self.inner_px(width_px)

    def has_room_in_head(self, width_px: int) -> bool:
        """Tell whether number, name and state fit side by side."""
        name = self.name.fontMetrics().horizontalAdvance(self.name.text())
        used = self.number.sizeHint().width() + name + self.badge.sizeHint().width()
        return used + 2 * _GAP_PX + 6 <= self.inner_px(width_px)

    def place_state(self, *, beside: bool) -> None:
        """Put the state beside the name or under it."""
        across, down = QBoxLayout.Direction.LeftToRight, QBoxLayout.Direction.TopToBottom
        if self._head.direction() is not (across if beside else down):
            self._head.setDirection(across if beside else down)
            self.measure_anew()

    def place_values(self, *, beside: bool) -> None:
        """Put the small values beside the number or under the scale."""
        if beside is self._beside:
            return
        self._beside = beside
        self.measure_anew()
        if beside:
            self.body.removeWidget(self.values)
            self._level.addWidget(self.values, 0, Qt.AlignmentFlag.AlignVCenter)
        else:
            self._level.removeWidget(self.values)
            self.body.insertWidget(self.body.indexOf(self.scale) + 1, self.values)
        self.values.keep_one_row(beside)

    def heights_at(self, width_px: int) -> tuple[int, ...]:
        """Return how tall the card must be at each fold; kept until something else is shown."""
        key = (width_px, bool(self._beside))
        if key not in self._heights:
            self._fit(width_px)
            if self._changed or self._heights:
                self.plan.updateGeometry()  # what changed within it is told outside it later
                for layout in self.findChildren(QLayout):  # each keeps what it was while hidden
                    layout.invalidate()
                self._changed = False
            whole, inner_px = self.body.totalHeightForWidth(width_px), self.inner_px(width_px)
            self._heights = {
                key: tuple(whole - self.plan.spared(inner_px, fold) for fold in range(FOLDS))
            }
        return self._heights[key]

    def fold(self, fold: int) -> None:
        """Leave out the lightest lines of the plan."""
        if fold != self.plan.folded:
            self.measure_anew()
            self.plan.fold(fold)

    def measure_anew(self) -> None:
        """Forget the heights that were measured: words, their places or the type have changed."""
        self._heights.clear()
        self._changed = True

    def _fit(self, width_px: int) -> None:
        """Draw closer together where the card is narrow; size the step."""
        narrow = width_px < theme.px(_NARROW_PX)
        spacing = _TIGHT_PX if narrow else _LOOSE_PX
        if self.body.spacing() != spacing:  # the same again would ask for a new lay-out
            self.body.setSpacing(spacing)
        self.body.setContentsMargins(*(_NARROW_MARGINS if narrow else _MARGINS))
        size = Size.BODY if narrow else Size.LEAD if width_px < theme.px(_WIDE_PX) else Size.TITLE
        self.plan.fit(self.inner_px(width_px), size)

    def event(self, event: QEvent) -> bool:
        """Measure anew in the style that the card is shown in."""
        if event.type() is QEvent.Type.Polish:
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


def say(label: Text, line: LineView, calm: Tone) -> None:
    """Write a line, in the tone of the state that it causes."""
    label.setText(line.text)
    tone = line.look.tone
    label.set_tone(calm if tone is Tone.PLAIN else tone)
