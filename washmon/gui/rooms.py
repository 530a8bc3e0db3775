"""The pages of the window, each made when it is first entered."""

from collections.abc import Callable
from enum import StrEnum
from typing import Protocol, runtime_checkable

from PySide6.QtCore import QSize
from PySide6.QtWidgets import QStackedWidget, QWidget

from washmon.gui.context import Person
from washmon.planning.snapshot import Snapshot


class Room(StrEnum):
    """A page of the window."""

    GUIDE = "guide"
    READY = "ready"
    START = "start"
    FILLING = "filling"
    BOARD = "board"
    END = "end"
    SUMMARY = "summary"
    LOGBOOK = "logbook"
    TRENDS = "trends"
    IMPORT = "import"
    REPLAY = "replay"
    PRACTICE = "practice"
    CALCULATOR = "calculator"
    PINS = "PINs"
    CHANGES = "changes of the set-up"
    HELP = "help"


@runtime_checkable
class DrawsSnapshots(Protocol):
    """A page that follows the shift."""

    def show_snapshot(self, snapshot: Snapshot, person: Person) -> None:
        """Draw the newest snapshot."""


class Rooms(QStackedWidget):
    """Start-up is measured: nobody waits for a page that is seldom needed."""

    def __init__(
        self, makers: dict[Room, Callable[[], QWidget]], parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._makers = makers
        self._pages: dict[Room, QWidget] = {}
        self._latest: tuple[Snapshot, Person] | None = None

    def minimumSizeHint(self) -> QSize:
        """Return what the page in front needs: those behind it take no room."""
        front = self.currentWidget()
        return QSize(0, 0) if front is None else front.minimumSizeHint()

    @property
    def room(self) -> Room | None:
        """The page in front."""
        front = self.currentWidget()
        return next((room for room, page in self._pages.items() if page is front), None)

    def page(self, room: Room) -> QWidget:
        """Return a page, made now if it was not yet."""
        if room not in self._pages:
            page = self._makers[room]()
            self._pages[room] = page
            self.addWidget(page)
            if self._latest is not None and isinstance(page, DrawsSnapshots):
                page.show_snapshot(*self._latest)
        return self._pages[room]

    def made(self, room: Room) -> QWidget | None:
        """Return a page if it was made already."""
        return self._pages.get(room)

    def enter(self, room: Room) -> QWidget:
        """Bring a page to the front and give it the keyboard."""
        page = self.page(room)
        self.setCurrentWidget(page)
        page.setFocus()
        return page

    def show_snapshot(self, snapshot: Snapshot, person: Person) -> None:
        """Let every page that follows the shift draw a snapshot."""
        self._latest = (snapshot, person)
        for page in self._pages.values():
            if isinstance(page, DrawsSnapshots):
                page.show_snapshot(snapshot, person)
