"""How a page of records stands on the screen: its column, and the row of buttons at its foot."""

from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget


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
