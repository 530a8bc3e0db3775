"""Boxes: what stands side by side or below each other, said in one piece."""

from typing import NamedTuple, TypeVar

from PySide6.QtCore import QMargins, Qt
from PySide6.QtWidgets import QBoxLayout, QHBoxLayout, QLayout, QVBoxLayout, QWidget


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
