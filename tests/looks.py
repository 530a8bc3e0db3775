"""What an eye would find wrong in a window: words that are cut, covered, or out of reach."""

from collections.abc import Iterator

from PySide6.QtCore import QPoint, QRect, QSize, Qt
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractScrollArea,
    QCheckBox,
    QLabel,
    QLineEdit,
    QScrollArea,
    QWidget,
)

from washmon.gui.kit.buttons import PressButton
from washmon.gui.kit.text import ShortText, Text

SLACK_PX = 1
"""Sizes are rounded."""
TOUCH_PX = 44
_BUTTON_PX, _FIELD_PX = 20, 18
"""Of a button's room that it can spare; what the edges of a field take."""


def faults(window: QWidget) -> list[str]:
    """Return what is cut, off the window, or lies over other words, one sentence each."""
    shown = [one for one in window.findChildren(QWidget) if one.isVisibleTo(window)]
    found = [
        *(fault for one in shown if (fault := _cut(one))),
        *(fault for one in shown if (fault := _outside(one, window))),
        *(fault for one in shown if (fault := _small(one))),
        *_overlaps(shown),
    ]
    return sorted(set(found))


def name(widget: QWidget) -> str:
    """Return a widget as a person would point at it."""
    words = getattr(widget, "label", None) or getattr(widget, "text", str)
    said = (words() if callable(words) else words) or widget.accessibleName()
    parents = [widget]
    while (parent := parents[-1].parentWidget()) is not None and len(parents) < 4:
        parents.append(parent)
    path = " in ".join(type(one).__name__ for one in parents)
    return f"{path} {said!r} ({widget.width()}x{widget.height()})"


def _cut(widget: QWidget) -> str:
    """Tell by how much the words of a widget are larger than their room."""
    over = QSize(0, 0)
    match widget:
        case ShortText():
            pass  # shortens itself, and its tip has the whole
        case QLabel() if widget.text() and widget.pixmap().isNull():
            over = _needs(widget) - widget.size()
        case PressButton() if widget.label and not widget._key_first:
            over.setWidth(widget.sizeHint().width() - _BUTTON_PX - widget.width())
        case QCheckBox():
            over.setWidth(widget.sizeHint().width() - widget.width())
        case QLineEdit() if not widget.text():
            words = widget.fontMetrics().horizontalAdvance(widget.placeholderText())
            margins = widget.textMargins()
            over.setWidth(words + _FIELD_PX + margins.left() + margins.right() - widget.width())
    if over.width() > SLACK_PX:
        return f"too narrow by {over.width()} px: {name(widget)}"
    if over.height() > SLACK_PX:
        return f"too low by {over.height()} px: {name(widget)}"
    return ""


def _needs(label: QLabel) -> QSize:
    """Return how much room the words of a label take at the width that it has."""
    metrics = label.fontMetrics()
    if label.textFormat() is not Qt.TextFormat.PlainText:
        return QSize(0, label.heightForWidth(label.width()))
    if not label.wordWrap():
        lines = label.text().split("\n")
        width = max(metrics.horizontalAdvance(line) for line in lines)
        return QSize(width, metrics.height() * len(lines) - 2 * metrics.descent())
    longest = max((metrics.horizontalAdvance(word) for word in label.text().split()), default=0)
    box = QRect(0, 0, max(label.contentsRect().width(), 1), 100_000)
    lines_px = metrics.boundingRect(box, 0x1000, label.text()).height()
    return QSize(longest, lines_px - metrics.descent())


def _outside(widget: QWidget, window: QWidget) -> str:
    """Tell what lies beyond the window or the page that it scrolls on."""
    off = Qt.ScrollBarPolicy.ScrollBarAlwaysOff
    if isinstance(widget, QScrollArea) and widget.horizontalScrollBarPolicy() is off:
        inside = widget.widget()
        over = inside.width() - widget.viewport().width() if inside is not None else 0
        return f"wider by {over} px than it shows: {name(widget)}" if over > SLACK_PX else ""
    if not isinstance(widget, QLabel | QAbstractButton | QLineEdit):
        return ""
    ground = _ground(widget, window)
    place = QRect(widget.mapTo(ground, QPoint(0, 0)), widget.size())
    room = ground.rect().adjusted(-SLACK_PX, -SLACK_PX, SLACK_PX, SLACK_PX)
    if place.isEmpty() or room.contains(place):
        return ""
    return f"off by {place.getCoords()} in {ground.size().toTuple()}: {name(widget)}"


def _ground(widget: QWidget, window: QWidget) -> QWidget:
    """Return the page that scrolls with a widget, or the window."""
    parent = widget.parentWidget()
    while parent is not None and parent is not window:
        above = parent.parentWidget()
        area = above.parentWidget() if above is not None else None
        if isinstance(area, QScrollArea) and area.widget() is parent:
            return parent
        if isinstance(area, QAbstractScrollArea) and area.viewport() is above:
            return parent
        parent = above
    return window


def _small(widget: QWidget) -> str:
    """Tell what a wet finger would miss."""
    if isinstance(widget, PressButton) and widget.isEnabled():
        side = min(widget.width(), widget.height())
        if side < TOUCH_PX:
            return f"smaller than a finger: {name(widget)}"
    return ""


def _overlaps(shown: list[QWidget]) -> Iterator[str]:
    """Tell of words over words, among those that share a parent."""
    by_parent: dict[QWidget | None, list[QWidget]] = {}
    for one in shown:
        if isinstance(one, Text | PressButton) and not one.size().isEmpty():
            by_parent.setdefault(one.parentWidget(), []).append(one)
    for same in by_parent.values():
        for at, one in enumerate(same):
            for other in same[at + 1 :]:
                across = one.geometry().intersected(other.geometry())
                if across.width() > 2 and across.height() > 4:
                    yield f"over each other: {name(one)} and {name(other)}"
