"""What to do, most urgent first; on a small window folded to a count."""

from itertools import pairwise

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QKeyEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import (
    QAbstractButton,
    QHBoxLayout,
    QScrollArea,
    QScroller,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from washmon.gui.board.flag_card import FlagCard
from washmon.gui.board.shelved_list import ShelvedList
from washmon.gui.board.views import FlagView
from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.state_mark import Look, StateMark, draw_mark
from washmon.gui.kit.text import Text, Tone, Weight
from washmon.gui.kit.theme import Size

LIST_PX = 324
RAIL_PX = 64
_FRAME_PX = 12


class FlagList(QWidget):
    """The cards of all flags; passes on what they tell."""

    answered = Signal(object)
    acknowledged = Signal(int, str)
    shelve_asked = Signal(object)
    left = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._cards: dict[tuple[int, str], FlagCard] = {}
        self.head = Text(tr("To do, most urgent first"), Size.SMALL, bold=True, tone=Tone.SOFT)
        self.calm = Text("", Size.BODY, tone=Tone.SOFT, wrapped=True)
        self._calm_row = QWidget()
        calm = QHBoxLayout(self._calm_row)
        calm.setContentsMargins(2, 4, 0, 0)
        calm.setSpacing(10)
        self._calm_mark = StateMark(Look.IN_LIMITS, 20)
        calm.addWidget(self._calm_mark, 0, Qt.AlignmentFlag.AlignTop)
        calm.addWidget(self.calm, 1)
        scrolled = QWidget()
        scrolled.setObjectName("scrolled")
        self._stack = QVBoxLayout(scrolled)
        self._stack.setContentsMargins(0, 0, 0, 0)
        self._stack.setSpacing(8)
        self._stack.addStretch(1)
        self.area = QScrollArea()
        self.area.setWidgetResizable(True)
        self.area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.area.setWidget(scrolled)
        self.area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        QScroller.grabGesture(self.area.viewport(), QScroller.ScrollerGestureType.TouchGesture)
        self._over = False
        self._column = QVBoxLayout(self)
        self._column.setSpacing(6)
        self._column.addWidget(self.head)
        self._column.addWidget(self._calm_row)
        self._column.addWidget(self.area, 1)
        self.shelved = ShelvedList(self)
        self._column.addWidget(self.shelved)
        self.lie_over(False)

    def lie_over(self, over: bool) -> None:  # noqa: FBT001 (as Qt's setters)
        """Take a frame and a margin where the list lies over the columns."""
        margin = _FRAME_PX if over else 0
        self._over = over
        self._column.setContentsMargins(margin, margin, margin, margin)
        self.setFixedWidth(LIST_PX + 2 * margin)
        self.update()

    @property
    def cards(self) -> list[FlagCard]:
        """The cards from the most urgent down."""
        return list(self._cards.values())

    def show_flags(self, flags: tuple[FlagView, ...], calm: str, *, in_limits: bool) -> None:
        """Show flags in this order, or the calm sentence where there are none."""
        wanted = {view.key: view for view in flags}
        before = list(self._cards)
        for key in [key for key in self._cards if key not in wanted]:
            card = self._cards.pop(key)
            self._stack.removeWidget(card)
            card.hide()
            card.deleteLater()
        ordered: dict[tuple[int, str], FlagCard] = {}
        for place, (key, view) in enumerate(wanted.items()):
            card = self._cards.get(key) or self._make(view)
            card.show_view(view)
            if self._stack.indexOf(card) != place:
                self._stack.removeWidget(card)
                self._stack.insertWidget(place, card)
            ordered[key] = card
        moved = list(ordered) != before
        self._cards = ordered
        self.calm.setText(calm)
        self._calm_mark.setVisible(in_limits)
        self._calm_row.setVisible(not flags)
        if moved:
            self._chain_focus()

    def _make(self, view: FlagView) -> FlagCard:
        card = FlagCard(view, self.area.widget())
        card.answered.connect(self.answered)
        card.acknowledged.connect(self.acknowledged)
        card.shelve_asked.connect(self.shelve_asked)
        card.show()
        return card

    def _chain_focus(self) -> None:
        """Let Tab go through the cards in the order in which they are seen."""
        buttons = [
            button
            for card in self._cards.values()
            for button in (card.answer, card.ask_why, card.see, card.shelve)
        ]
        for before, after in pairwise(buttons):
            QWidget.setTabOrder(before, after)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Tell that Esc was pressed: a list that lies over the columns goes away then."""
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Cover what lies behind when the list lies over the columns."""
        del event
        shades = theme.current()
        painter = QPainter(self)
        painter.fillRect(self.rect(), QColor(shades.paper))
        if self._over:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.setPen(QPen(QColor(shades.hand), 2))
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(1, 1, -1, -1), 6, 6)


class FlagRail(QAbstractButton):
    """The folded list: the worst state, how many flags there are; pressed, it opens the list."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._look = Look.IN_LIMITS
        self._count = 0
        self.setCheckable(True)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.setFont(theme.font(Size.LARGE, Weight.DemiBold))
        self._tell()

    @property
    def count(self) -> int:
        """How many flags there are."""
        return self._count

    def show_flags(self, flags: tuple[FlagView, ...]) -> None:
        """Show how many flags there are and the worst of them."""
        look = flags[0].look if flags else Look.IN_LIMITS
        if (look, len(flags)) != (self._look, self._count):
            self._look, self._count = look, len(flags)
            self._tell()
            self.update()

    def _tell(self) -> None:
        words = tr("To do: {count}", count=self._count)
        self.setAccessibleName(words)
        self.setToolTip(words)

    def sizeHint(self) -> QSize:
        """Return room for mark, count and word."""
        return QSize(RAIL_PX, 118)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw them one under the other."""
        del event
        shades = theme.current()
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        pressed = self.isChecked() or self.isDown()
        edge = shades.ink if self.hasFocus() else shades.hand
        painter.setPen(QPen(QColor(edge), 2))
        painter.setBrush(QColor(shades.hand_soft if pressed else shades.card))
        painter.drawRoundedRect(QRectF(self.rect()).adjusted(1, 1, -1, -1), 6, 6)
        draw_mark(painter, QRectF(0, 12, self.width(), 26), self._look)
        painter.setPen(QColor(shades.ink))
        painter.setFont(self.font())
        middle = Qt.AlignmentFlag.AlignCenter
        painter.drawText(QRectF(0, 42, self.width(), 34), middle, str(self._count))
        painter.setFont(theme.font(Size.SMALL, Weight.DemiBold))
        painter.setPen(QColor(shades.hand))
        painter.drawText(QRectF(0, 80, self.width(), 24), middle, tr("to do"))
