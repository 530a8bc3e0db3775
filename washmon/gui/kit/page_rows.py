"""How a page stands on the screen: over others, in a column, with a row of buttons at its foot."""

from PySide6.QtCore import QSize
from PySide6.QtWidgets import QHBoxLayout, QStackedWidget, QVBoxLayout, QWidget


class FrontStack(QStackedWidget):
    """Pages over each other; those behind the one in front take no room."""

    def minimumSizeHint(self) -> QSize:
        """Return what the page in front needs."""
        front = self.currentWidget()
        return QSize(0, 0) if front is None else front.minimumSizeHint()

    def hasHeightForWidth(self) -> bool:
        """Tell whether the page in front grows higher where it is narrow."""
        front = self.currentWidget()
        return front is not None and front.hasHeightForWidth()

    def heightForWidth(self, width: int) -> int:
        """Return the height that the page in front needs."""
        front = self.currentWidget()
        return -1 if front is None else front.heightForWidth(width)


def page_column(page: QWidget) -> QVBoxLayout:
    """Return the column that a page is laid out in, from its heading to its foot."""
    column = QVBoxLayout(page)
    column.setContentsMargins(12, 8, 12, 10)
    column.setSpacing(8)
    return column


def foot_row(back: QWidget, said: QWidget, *buttons: QWidget) -> QHBoxLayout:
    """Return the foot: the way back, what is said in all the room there is, then the buttons."""
    row = QHBoxLayout()
    row.setSpacing(8)
    row.addWidget(back)
    row.addSpacing(8)
    row.addWidget(said, 1)
    for button in buttons:
        row.addWidget(button)
    return row
