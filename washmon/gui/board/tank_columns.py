"""The tanks side by side in line order, every state card as tall as the tallest."""

import math
from datetime import datetime

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QScrollArea, QScroller, QWidget

from washmon.gui.board.panel import GAP_PX, LOWEST_TREND_PX, NARROWEST_PX, TankPanel
from washmon.gui.board.panel_views import PanelView
from washmon.gui.kit import theme
from washmon.gui.kit.boxes import hbox

PLOT_SHARE = 0.43
"""Of the window's height that the plots get, where the line has no more tanks than:"""
_FEW = 4
_CARD_PX = 276
"""How tall a card is that says all that is usual, in type of the usual size."""


class Columns(QScrollArea):
    """One to eight panels: they narrow first, then the row scrolls.

    Signals: as those of :class:`~washmon.gui.board.panel.TankPanel`.
    """

    chosen = Signal(int)
    answered = Signal(int)
    why_asked = Signal(int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._panels: list[TankPanel] = []
        self._row_widget = QWidget()
        self._row_widget.setObjectName("scrolled")
        self._row = hbox(on=self._row_widget, gap_px=GAP_PX)
        self.setWidgetResizable(True)
        self.setWidget(self._row_widget)
        self.setCornerWidget(QWidget())  # the style's own draws a stray line
        QScroller.grabGesture(self.viewport(), QScroller.ScrollerGestureType.TouchGesture)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)

    @property
    def panels(self) -> list[TankPanel]:
        """The panels in line order."""
        return list(self._panels)

    def show_panels(self, views: tuple[PanelView, ...], now: datetime) -> None:
        """Show tanks; only those that changed are touched."""
        while len(self._panels) > len(views):
            panel = self._panels.pop()
            self._row.removeWidget(panel)
            panel.hide()
            panel.deleteLater()
        while len(self._panels) < len(views):
            panel = TankPanel(self._row_widget)
            panel.chosen.connect(self.chosen)
            panel.answered.connect(self.answered)
            panel.why_asked.connect(self.why_asked)
            self._row.addWidget(panel, 1)
            panel.show()
            self._panels.append(panel)
        changed = [p.show_view(view, now) for p, view in zip(self._panels, views, strict=True)]
        if any(changed):
            self.level()

    def tick(self, now: datetime) -> None:
        """Count the waits down."""
        for panel in self._panels:
            panel.tick(now)

    def level(self) -> None:
        """Give all state cards one height, so that the trends stand in line.

        That height stays where it is while what is written has room, so that no button moves;
        what is lightest is folded before it grows.
        """
        if not self._panels:
            return
        count = len(self._panels)
        width = max(NARROWEST_PX, (self.viewport().width() - GAP_PX * (count - 1)) // count)
        cards = [panel.state for panel in self._panels]
        across = all(card.has_room_in_head(width) for card in cards)
        beside = all(card.has_room_beside(width) for card in cards)
        for card in cards:
            card.place_state(beside=across)
            card.place_values(beside=beside)
        room = self._room_of_cards()
        heights = [card.heights_at(width) for card in cards]
        least = [next((one for one in each if one <= room), each[-1]) for each in heights]
        tallest = max(*least, min(room, theme.px(_CARD_PX)) if count <= _FEW else 0)
        left = self.viewport().height() - tallest - GAP_PX
        for panel, each in zip(self._panels, heights, strict=True):
            fold = next(fold for fold, height in enumerate(each) if height <= tallest)
            panel.levelled = (width, across, beside, tallest, left, fold)
            panel.state.fold(fold)
            panel.state.setFixedHeight(tallest)
            panel.trend_card.setVisible(left >= LOWEST_TREND_PX)
            panel.trend_card.fit(width)

    def _room_of_cards(self) -> int:
        """Return how tall the cards may be without taking from what belongs to the plots."""
        height = self.viewport().height()
        few = len(self._panels) <= _FEW
        plots = math.ceil(PLOT_SHARE * self.window().height()) if few else LOWEST_TREND_PX
        return max(height - GAP_PX - max(plots, LOWEST_TREND_PX), 0)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Narrower columns are taller."""
        super().resizeEvent(event)
        self.level()

    def changeEvent(self, event: QEvent) -> None:
        """A change of type changes heights."""
        super().changeEvent(event)
        if event.type() in (QEvent.Type.StyleChange, QEvent.Type.FontChange):
            for panel in self._panels:
                panel.state.measure_anew()
            self.level()
