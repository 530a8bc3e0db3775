"""All pages of a window, and the way back through them."""

from collections.abc import Callable
from typing import TYPE_CHECKING, TypeVar

from PySide6.QtCore import QObject, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.navigator.beside import BesidePages
from washmon.gui.navigator.practice import PracticePages
from washmon.gui.navigator.records import RecordPages
from washmon.gui.navigator.setup import SetupPages
from washmon.gui.navigator.shift import ShiftPages
from washmon.gui.rooms import Room
from washmon.gui.session_files import SessionFiles

if TYPE_CHECKING:
    from washmon.gui.main_window import MainWindow

W = TypeVar("W", bound=QWidget)
ASIDE = frozenset({Room.REPLAY, Room.CALCULATOR, Room.PINS, Room.CHANGES, Room.HELP})
"""Rooms that may be entered in the middle of something, and lead back to it."""


class Navigator(QObject):
    """Ways from room to room, by what they lead to."""

    def __init__(self, window: "MainWindow") -> None:
        super().__init__(window)
        self.window = window
        self._before: tuple[Room | None, QWidget | None] = (None, None)
        self.sessions = SessionFiles(window)
        self.setup = SetupPages(self)
        self.shift = ShiftPages(self)
        self.records = RecordPages(self)
        self.practice = PracticePages(self)
        self.beside = BesidePages(self)
        self.sessions.to_play.connect(self.practice.play)

    def makers(self) -> dict[Room, Callable[[], QWidget]]:
        """Return how each page is made."""
        groups = (self.setup, self.shift, self.records, self.practice, self.beside)
        return {room: make for group in groups for room, make in group.makers().items()}

    def enter(self, room: Room, kind: type[W]) -> W:
        """Go into a room and return its page."""
        self.window.notice.clear()
        front = self.window.rooms.room
        if room in ASIDE and front not in ASIDE:
            self._before = (front, self.window.focusWidget())
        page = self.window.rooms.enter(room)
        assert isinstance(page, kind)  # noqa: S101 - makers and rooms belong together
        return page

    @Slot()
    def go_back(self) -> None:
        """Leave a room aside for the one before it, where what was begun still stands."""
        room, focus = self._before
        if room is None:
            self.window.go_home()
        else:
            self.window.go_to(room, focus)
