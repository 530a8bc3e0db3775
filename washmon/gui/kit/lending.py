"""Widgets lent from where they stand to another page, and given back to the same place."""

from typing import NamedTuple, cast

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QBoxLayout, QGridLayout, QLayout, QWidget


class _Lent(NamedTuple):
    widget: QWidget
    layout: QBoxLayout | QGridLayout
    at: tuple[int, int, int, int]
    """Row, column and their spans; in a box the place is the row."""
    alignment: Qt.AlignmentFlag
    hidden: bool


class Lending:
    """What one page shows of others for a while; a field is never there twice."""

    def __init__(self) -> None:
        self._lent: list[_Lent] = []

    def take(self, *widgets: QWidget) -> None:
        """Take widgets out of their layouts, to be put into others.

        Raises:
            ValueError: no box or grid holds one of them.
        """
        for widget in widgets:
            parent = widget.parentWidget()
            layout = None if parent is None else _holder(parent.layout(), widget)
            if layout is None:
                raise ValueError(f"{widget} stands in no layout.")
            at = layout.indexOf(widget)
            item = layout.itemAt(at)
            alignment = Qt.AlignmentFlag(0) if item is None else item.alignment()
            self._lent.append(
                _Lent(widget, layout, _place(layout, at), alignment, widget.isHidden())
            )
            layout.removeWidget(widget)

    def show(self) -> None:
        """Let all that was taken be seen in its new place, but for what was hidden before."""
        for one in self._lent:
            one.widget.setVisible(not one.hidden)

    def give_back(self) -> None:
        """Put all that was taken where it stood."""
        while self._lent:
            one = self._lent.pop()
            hidden = one.widget.isHidden()  # a new parent hides it
            row, column, rows, columns = one.at
            if isinstance(one.layout, QGridLayout):
                one.layout.addWidget(one.widget, row, column, rows, columns, one.alignment)
            else:
                one.layout.insertWidget(row, one.widget, 0, one.alignment)
            one.widget.setVisible(not hidden)


def _place(layout: QBoxLayout | QGridLayout, at: int) -> tuple[int, int, int, int]:
    if isinstance(layout, QGridLayout):
        row, column, rows, columns = cast("tuple[int, int, int, int]", layout.getItemPosition(at))
        return row, column, rows, columns
    return at, 0, 1, 1


def _holder(layout: QLayout | None, widget: QWidget) -> QBoxLayout | QGridLayout | None:
    """Return the layout that holds a widget itself."""
    if layout is None:
        return None
    for at in range(layout.count()):
        item = layout.itemAt(at)
        if item is None:
            continue
        if item.widget() is widget and isinstance(layout, QBoxLayout | QGridLayout):
            return layout
        found = _holder(item.layout(), widget)
        if found is not None:
            return found
    return None
