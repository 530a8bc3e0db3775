"""Tab follows the eye: the order of fields is that of the layouts, however they were made."""

from collections.abc import Iterator
from typing import cast

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QApplication,
    QGridLayout,
    QLayout,
    QScrollArea,
    QStackedWidget,
    QWidget,
)

from washmon.gui.kit.boxes import FrontStack


class EyeOrdered:
    """A page in which Tab follows the eye, and in the window around it, too."""


def in_order(root: QWidget) -> list[QWidget]:
    """Return what Tab stops at within a widget, as one reads it: by rows, from the left."""
    return [
        one
        for one in _within(root)
        if one.focusPolicy() & Qt.FocusPolicy.TabFocus
        and one.isEnabled()
        and one.isVisible()
        and one.focusProxy() is None
    ]


def _within(root: QWidget) -> Iterator[QWidget]:
    """Yield a widget and all within it; of pages over each other the one that is shown."""
    yield root
    if isinstance(root, QStackedWidget | FrontStack):
        shown = root.currentWidget()
        if shown is not None:
            yield from _within(shown)
        return
    if isinstance(root, QScrollArea):
        inside = root.widget()
        if inside is not None:
            yield from _within(inside)
        return
    laid: list[QWidget] = [] if (layout := root.layout()) is None else [*_laid(layout)]
    for one in laid:
        yield from _within(one)
    for child in root.children():
        if isinstance(child, QWidget) and child not in laid and not child.isWindow():
            yield from _within(child)


def _laid(layout: QLayout) -> Iterator[QWidget]:
    places = [*range(layout.count())]
    if isinstance(layout, QGridLayout):
        # What came into a grid last may stand first.
        places.sort(key=lambda at: cast("tuple[int, ...]", layout.getItemPosition(at))[:2])
    for at in places:
        item = layout.itemAt(at)
        if item is None:
            continue
        if (widget := item.widget()) is not None:
            yield widget
        elif (inner := item.layout()) is not None:
            yield from _laid(inner)


def step(root: QWidget, *, forward: bool) -> bool:
    """Give the keyboard to what comes next within a widget, or before, and tell whether it did.

    To be called by ``focusNextPrevChild``, which Qt passes on to whatever holds a field.
    """
    stops = in_order(root)
    focus = QApplication.focusWidget()
    if focus not in stops:
        return False
    target = stops[(stops.index(focus) + (1 if forward else -1)) % len(stops)]
    reason = Qt.FocusReason.TabFocusReason if forward else Qt.FocusReason.BacktabFocusReason
    target.setFocus(reason)
    parent = target.parentWidget()
    while parent is not None:
        if isinstance(parent, QScrollArea):
            parent.ensureWidgetVisible(target)
        parent = parent.parentWidget()
    return True
