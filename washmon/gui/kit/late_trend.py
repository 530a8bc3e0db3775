"""A trend that is made just after the first frame: what to do is read before how it got there."""

from typing import TYPE_CHECKING

from PySide6.QtCore import QTimer, Slot
from PySide6.QtGui import QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from washmon.gui.kit.boxes import vbox
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
