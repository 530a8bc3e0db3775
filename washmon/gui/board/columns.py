"""The tanks side by side in line order, every state card as tall as the tallest."""

from PySide6.QtCore import QEvent, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QScrollArea, QScroller, QWidget

from washmon.gui.board.panel import NARROWEST_PX, TankPanel
from washmon.gui.board.views import PanelView

GAP_PX = 8


class Columns(QScrollArea):
    """Two to eight panels: they narrow first, then the row scrolls."""

    chosen = Signal(int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._panels: list[TankPanel] = []
        self._row_widget = QWidget()
        self._row_widget.setObjectName("scrolled")
        self._row = QHBoxLayout(self._row_widget)
        self._row.setContentsMargins(0, 0, 0, 0)
        self._row.setSpacing(GAP_PX)
        self.setWidgetResizable(True)
        self.setWidget(self._row_widget)
        self.setCornerWidget(QWidget())  # the style's own draws a stray line
        QScroller.grabGesture(self.viewport(), QScroller.ScrollerGestureType.TouchGesture)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)

    @property
    def panels(self) -> list[TankPanel]:
        """The panels in line order."""
        return list(self._panels)

    def show_panels(self, views: tuple[PanelView, ...]) -> None:
        """Show tanks; only those that changed are touched."""
        while len(self._panels) > len(views):
            panel = self._panels.pop()
            self._row.removeWidget(panel)
            panel.hide()
            panel.deleteLater()
        while len(self._panels) < len(views):
            panel = TankPanel(self._row_widget)
            panel.chosen.connect(self.chosen)
            self._row.addWidget(panel, 1)
            panel.show()
            self._panels.append(panel)
        changed = [p.show_view(view) for p, view in zip(self._panels, views, strict=True)]
        if any(changed):
            self.level()

    def level(self) -> None:
        """Give all state cards the height of the tallest, so that the trends stand in line."""
        if not self._panels:
            return
        count = len(self._panels)
        room = self.viewport().width() - GAP_PX * (count - 1)
        width = max(NARROWEST_PX, room // count)
        height = max(panel.state.height_at(width) for panel in self._panels)
        for panel in self._panels:
            panel.state.setFixedHeight(height)

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
