"""What the groups of doors share."""

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, TypeAlias

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from washmon.gui.rooms import Room

if TYPE_CHECKING:
    from washmon.gui.doors.doors import Doors

Makers: TypeAlias = Mapping[Room, Callable[[], QWidget]]


class DoorGroup(QObject):
    """Doors to rooms of one kind. A page is imported when it is made: start-up is measured."""

    def __init__(self, doors: "Doors") -> None:
        super().__init__(doors)
        self._doors = doors
        self._window = doors.window
