"""One tank: a card that says how it is and what to do, and a card with how it got here.

A trend that is made just after the first frame: what to do is read before how it got there.
"""

from datetime import datetime
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, QTimer, Signal, Slot
from PySide6.QtGui import QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from washmon.gui.board.panel_views import PanelView
from washmon.gui.board.state_card import StateCard, say
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import add, hbox, vbox
from washmon.gui.kit.card import Card
from washmon.gui.kit.curtain import Curtain
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.kit.trend_view import TrendView

if TYPE_CHECKING:
    from washmon.gui.kit.trend import Trend


class LateTrend(QWidget):
    """Stands in for a :class:`~washmon.gui.kit.trend.Trend` until it was painted once.

    The library behind the plots takes longer to load than all the rest of the Board; the state,
    the number and the next step of each tank need not wait for it.
    """

    def __init__(self, parent: QWidget | None = None, *, titled: bool = True) -> None:
        """``titled``: the trend says itself what its axes are."""
        super().__init__(parent)
        self._titled = titled
        self._view: TrendView | None = None
        self._column = vbox(on=self)
        # It takes the height that is left, and asks for no more than its least.
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Ignored)
        self._soon = QTimer(self, singleShot=True, interval=0)
        self._soon.timeout.connect(self.make)
        self.trend: Trend | None = None

    def show_view(self, view: TrendView) -> None:
        """Draw a view, now or as soon as there is a trend to draw it."""
        self._view = view
        self._draw()

    @Slot()
    def make(self) -> None:
        """Make the trend, if it is not there yet."""
        if self.trend is not None:
            return
        from washmon.gui.kit.trend import Trend  # noqa: PLC0415 - the reason for this class

        self.trend = Trend(self, titled=self._titled)
        self._column.addWidget(self.trend)
        self._draw()

    def _draw(self) -> None:
        if self._view is not None and self.trend is not None:
            self.trend.show_view(self._view)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Ask for the trend once the card around it was painted."""
        super().paintEvent(event)
        if self.trend is None and not self._soon.isActive():
            self._soon.start()


NARROWEST_PX = 158
LOWEST_TREND_PX = 84
"""A lower trend says nothing: it is left out, and stands in the sheet of an entry."""
GAP_PX = 8


class TrendCard(Card):
    """What a tank holds and since when, over the plot of how it got here."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent, margin_px=7)
        self.facts = Text("", Size.TINY, tone=Tone.SOFT, wrapped=True)
        self.axis = Text(tr("ppm against batches"), Size.TINY, tone=Tone.SOFT)
        self.trend = LateTrend(self, titled=False)
        self.facts.setMinimumWidth(1)
        self.body.setSpacing(2)
        add(self.body, hbox((self.facts, 1), self.axis, gap_px=GAP_PX), (self.trend, 1))
        self.setMinimumHeight(LOWEST_TREND_PX)

    def show_view(self, view: PanelView) -> None:
        """Show the trend of a tank."""
        say(self.facts, view.facts, Tone.SOFT)
        self.trend.show_view(view.trend)

    def fit(self, width_px: int) -> None:
        """Say what the axes are where there is room beside the facts."""
        metrics = self.facts.fontMetrics()
        room = width_px - 14 - GAP_PX - self.axis.sizeHint().width()
        self.axis.setVisible(metrics.horizontalAdvance(self.facts.text()) <= room)


class TankPanel(QWidget):
    """The column of one tank; each signal tells its number.

    Signals:
        chosen(int): its card was pressed.
        answered(int): the step of its plan was done.
        why_asked(int): somebody wants to know what stands behind the plan.
    """

    chosen = Signal(int)
    answered = Signal(int)
    why_asked = Signal(int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._view: PanelView | None = None
        self.state = StateCard(self)
        self.trend_card = TrendCard(self)
        self.levelled: tuple[int, ...] = ()
        """How the row of columns laid it out."""
        self.curtain = Curtain(self, self._shown)
        vbox(
            (self.state, 0, Qt.AlignmentFlag.AlignTop), (self.trend_card, 1), on=self, gap_px=GAP_PX
        )
        self.setMinimumWidth(NARROWEST_PX)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Expanding)
        self.state.chosen.connect(self._choose)
        self.state.answered.connect(self._answer)
        self.state.why_asked.connect(self._ask_why)

    @property
    def view(self) -> PanelView | None:
        """What is shown."""
        return self._view

    def hasHeightForWidth(self) -> bool:
        """How tall the card is, is said by the row of columns, and the plot takes what is left."""
        return False

    def _shown(self) -> object:
        """Return all that it is drawn from."""
        return self._view, self.state.plan.count.text(), self.levelled

    @property
    def trend(self) -> LateTrend:
        """The plot."""
        return self.trend_card.trend

    def show_view(self, view: PanelView, now: datetime) -> bool:
        """Show a tank; does nothing when it is the same. Return whether anything changed."""
        if view == self._view:
            self.tick(now)
            return False
        self._view = view
        self.state.show_view(view)
        self.state.tick(now)
        self.trend_card.show_view(view)
        return True

    def tick(self, now: datetime) -> None:
        """Count the wait down."""
        if self._view is not None and self._view.step.wait is not None:
            self.state.tick(now)

    @Slot()
    def _choose(self) -> None:
        if self._view is not None:
            self.chosen.emit(self._view.number)

    @Slot()
    def _answer(self) -> None:
        if self._view is not None:
            self.answered.emit(self._view.number)

    @Slot()
    def _ask_why(self) -> None:
        if self._view is not None:
            self.why_asked.emit(self._view.number)
