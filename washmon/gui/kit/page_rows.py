"""How a page stands on the screen: over others, in a column, with a row of buttons at its foot."""

from PySide6.QtCore import QSize, Signal
from PySide6.QtWidgets import QHBoxLayout, QStackedLayout, QVBoxLayout, QWidget

from washmon.gui.kit.boxes import BoxPart, hbox, vbox


class _FrontLayout(QStackedLayout):
    """As high as the page in front must be: Qt's own would ask those behind it, too."""

    def hasHeightForWidth(self) -> bool:
        """Tell whether the page in front grows higher where it is narrow."""
        front = self.currentWidget()
        return front is not None and front.hasHeightForWidth()

    def heightForWidth(self, width: int) -> int:
        """Return the height that the page in front needs."""
        front = self.currentWidget()
        return -1 if front is None else front.heightForWidth(width)

    def minimumHeightForWidth(self, width: int) -> int:
        """Return the least height of the page in front: what scrolls in it needs little."""
        front = self.currentWidget()
        inside = None if front is None else front.layout()
        if front is None or inside is None or not front.hasHeightForWidth():
            return 0 if front is None else front.minimumSizeHint().height()
        return inside.totalMinimumHeightForWidth(width)


class FrontStack(QWidget):
    """Pages over each other; those behind the one in front take no room.

    Signals:
        currentChanged(int): another page is in front.
    """

    currentChanged = Signal(int)  # noqa: N815 - as Qt names it

    def __init__(self, *pages: QWidget, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._pages = _FrontLayout(self)
        self.addWidget = self._pages.addWidget
        self.removeWidget = self._pages.removeWidget
        self.currentWidget = self._pages.currentWidget
        self.currentIndex = self._pages.currentIndex
        self.setCurrentWidget = self._pages.setCurrentWidget
        self._pages.currentChanged.connect(self.updateGeometry)
        self._pages.currentChanged.connect(self.currentChanged)
        for page in pages:
            self.addWidget(page)

    def minimumSizeHint(self) -> QSize:
        """Return what the page in front needs."""
        front = self.currentWidget()
        return QSize(0, 0) if front is None else front.minimumSizeHint()


def page_column(page: QWidget, *parts: BoxPart) -> QVBoxLayout:
    """Return the column that a page is laid out in, from its heading to its foot."""
    return vbox(*parts, on=page, gap_px=8, margins_px=(12, 8, 12, 10))


def foot_row(back: QWidget, said: QWidget, *buttons: QWidget) -> QHBoxLayout:
    """Return the foot: the way back, what is said in all the room there is, then the buttons."""
    return hbox(back, 8, (said, 1), *buttons, gap_px=8)
