"""A row that breaks into further lines where it is too narrow, instead of cutting words."""

from PySide6.QtCore import QMargins, QPoint, QRect, QSize, Qt
from PySide6.QtWidgets import QLayout, QLayoutItem, QWidget


class FlowLayout(QLayout):
    """Lays its widgets side by side at their own widths, in as many lines as they need.

    Of each line what is left over goes to the widgets that expand, or stays at its end.
    """

    def __init__(self, parent: QWidget | None = None, *, gap_px: int = 6) -> None:
        super().__init__(parent)
        self.setContentsMargins(QMargins(0, 0, 0, 0))
        self.setSpacing(gap_px)
        self._kept: list[QLayoutItem] = []

    def addItem(self, item: QLayoutItem) -> None:
        """Take one more."""
        self._kept.append(item)

    def count(self) -> int:
        """Return how many there are."""
        return len(self._kept)

    def itemAt(self, at: int) -> QLayoutItem:
        """Return one of them."""
        return self._kept[at] if 0 <= at < len(self._kept) else None  # type: ignore[return-value]

    def takeAt(self, at: int) -> QLayoutItem:
        """Give one away."""
        return self._kept.pop(at) if 0 <= at < len(self._kept) else None  # type: ignore[return-value]

    def expandingDirections(self) -> Qt.Orientation:
        """Ask for no more room than it needs."""
        return Qt.Orientation(0)

    def hasHeightForWidth(self) -> bool:
        """Say that a narrow row is taller."""
        return True

    def heightForWidth(self, width: int) -> int:
        """Return how tall it is with so much room across."""
        lines = self._lines(width)
        heights = (_tall(line, self._widths(line, width)) for line in lines)
        return sum(heights) + self.spacing() * max(len(lines) - 1, 0)

    def sizeHint(self) -> QSize:
        """Return the size of one line."""
        shown = self._shown()
        width = sum(item.sizeHint().width() for item in shown)
        return QSize(width + self.spacing() * max(len(shown) - 1, 0), _tall(shown))

    def minimumSize(self) -> QSize:
        """Return the size of its widest widget."""
        shown = self._shown()
        widest = max((item.minimumSize().width() for item in shown), default=0)
        return QSize(widest, _tall(shown))

    def setGeometry(self, room: QRect) -> None:
        """Put each in its place."""
        super().setGeometry(room)
        top = room.top()
        for line in self._lines(room.width()):
            widths = self._widths(line, room.width())
            left, tall = room.left(), _tall(line, widths)
            for item, width in zip(line, widths, strict=True):
                height = tall if item.hasHeightForWidth() else min(tall, item.sizeHint().height())
                item.setGeometry(QRect(QPoint(left, top), QSize(width, height)))
                left += width + self.spacing()
            top += tall + self.spacing()

    def _widths(self, line: list[QLayoutItem], room_px: int) -> list[int]:
        """Return how wide each of a line is: as it likes, or less where the line is tight."""
        spare = room_px - self.spacing() * (len(line) - 1)
        liked, least = [_wide(item) for item in line], [_least(item) for item in line]
        if len(line) == 1 and liked[0] > room_px:
            return [room_px]
        if sum(liked) > spare:
            extra = max(spare - sum(least), 0) / max(sum(liked) - sum(least), 1)
            return [
                min(round(low + (high - low) * extra), room_px)
                for low, high in zip(least, liked, strict=True)
            ]
        growing = [bool(item.expandingDirections() & Qt.Orientation.Horizontal) for item in line]
        each = (spare - sum(liked)) // max(sum(growing), 1)
        return [wide + each * grows for wide, grows in zip(liked, growing, strict=True)]

    def _shown(self) -> list[QLayoutItem]:
        return [item for item in self._kept if not item.isEmpty()]

    def _lines(self, width: int) -> list[list[QLayoutItem]]:
        lines: list[list[QLayoutItem]] = []
        left = 0
        for item in self._shown():
            if not lines or left + _least(item) > width:
                lines.append([])
                left = 0
            lines[-1].append(item)
            left += _least(item) + self.spacing()
        return lines


def _wide(item: QLayoutItem) -> int:
    return max(item.sizeHint().width(), item.minimumSize().width())


def _least(item: QLayoutItem) -> int:
    """Return how narrow it may be before the line breaks; what breaks itself keeps its width."""
    return _wide(item) if item.hasHeightForWidth() else item.minimumSize().width()


def _tall(line: list[QLayoutItem], widths: list[int] | None = None) -> int:
    heights = [max(one.sizeHint().height(), one.minimumSize().height()) for one in line]
    for at, item in enumerate(line):
        if widths is not None and item.hasHeightForWidth():
            heights[at] = item.heightForWidth(widths[at])
    return max(heights, default=0)
