"""How things stand on the screen: side by side, in rows that break, as wide as their type asks."""

from typing import NamedTuple, TypeVar

from PySide6.QtCore import QEvent, QMargins, QObject, QPoint, QRect, QSize, Qt, Signal
from PySide6.QtWidgets import (
    QBoxLayout,
    QHBoxLayout,
    QLayout,
    QLayoutItem,
    QStackedLayout,
    QVBoxLayout,
    QWidget,
)

from washmon.gui.kit import theme


class Stretch(NamedTuple):
    """Room that takes its share of what is left over."""

    share: int = 1


STRETCH = Stretch()
BoxPart = (
    QWidget
    | QLayout
    | int
    | Stretch
    | tuple[QWidget | QLayout, int]
    | tuple[QWidget, int, Qt.AlignmentFlag]
)
"""A widget or a box, with its share of the room left over and its alignment where it needs any;
a number is so many free pixels."""
Margins = int | tuple[int, int, int, int]
"""In pixels: on all sides, or left, top, right and bottom."""
BoxT = TypeVar("BoxT", bound=QBoxLayout)


def hbox(
    *parts: BoxPart, on: QWidget | None = None, gap_px: int | None = None, margins_px: Margins = 0
) -> QHBoxLayout:
    """Return a box of parts side by side, which is all that is ``on`` a widget.

    Without a gap the parts keep the distance of the box around, or the style's.
    """
    return _filled(QHBoxLayout(on) if on else QHBoxLayout(), parts, gap_px, margins_px)


def vbox(
    *parts: BoxPart, on: QWidget | None = None, gap_px: int | None = None, margins_px: Margins = 0
) -> QVBoxLayout:
    """Return a box of parts below each other (see :func:`hbox`)."""
    return _filled(QVBoxLayout(on) if on else QVBoxLayout(), parts, gap_px, margins_px)


def add(box: BoxT, *parts: BoxPart) -> BoxT:
    """Put parts at the end of a box, and return it."""
    for part in parts:
        match part:
            case Stretch(share):
                box.addStretch(share)
            case int(px):
                box.addSpacing(px)
            case QLayout():
                box.addLayout(part)
            case QWidget():
                box.addWidget(part)
            case (QLayout() as inner, share):
                box.addLayout(inner, share)
            case (QWidget() as widget, share):
                box.addWidget(widget, share)
            case (QWidget() as widget, share, where):
                box.addWidget(widget, share, where)
    return box


def _filled(box: BoxT, parts: tuple[BoxPart, ...], gap_px: int | None, margins_px: Margins) -> BoxT:
    around = (margins_px,) * 4 if isinstance(margins_px, int) else margins_px
    box.setContentsMargins(QMargins(*around))
    if gap_px is not None:
        box.setSpacing(gap_px)
    return add(box, *parts)


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


class _Keeper(QObject):
    """Lets the width of its parent follow the size of type."""

    def __init__(self, widget: QWidget, width_px: int, *, most: bool) -> None:
        super().__init__(widget)
        self._widget, self._width_px, self._most = widget, width_px, most
        widget.installEventFilter(self)
        self._fit()

    def _fit(self) -> None:
        width = theme.px(self._width_px)
        if self._most:
            self._widget.setMaximumWidth(width)
        else:
            self._widget.setFixedWidth(width)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Follow a change of type."""
        if watched is self._widget and event.type() is QEvent.Type.FontChange:
            self._fit()
        return False


def keep_width(widget: QWidget, width_px: int, *, most: bool = False) -> None:
    """Give a widget this width in type of the usual size, or at ``most`` this."""
    _Keeper(widget, width_px, most=most)


class Scrolled(QWidget):
    """What scrolls: as high as it needs at its width, not at the narrowest it may be."""

    def minimumSizeHint(self) -> QSize:
        """Leave the height to the width, where lines of it may break."""
        least = super().minimumSizeHint()
        return QSize(least.width(), 1) if self.hasHeightForWidth() else least


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
