"""What the groups of pages share."""

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, TypeAlias

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from washmon.gui.rooms import Room

if TYPE_CHECKING:
    from washmon.gui.navigator.navigator import Navigator

Makers: TypeAlias = Mapping[Room, Callable[[], QWidget]]


class PageGroup(QObject):
    """Ways to rooms of one kind. A page is imported when it is made: start-up is measured."""

    def __init__(self, navigator: "Navigator") -> None:
        super().__init__(navigator)
        self._navigator = navigator
        self._window = navigator.window
