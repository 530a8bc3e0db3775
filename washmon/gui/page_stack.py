"""The pages of a window over each other, each made when it is first entered, and the way back."""

from typing import Any, Protocol, TypeVar, runtime_checkable

from PySide6.QtCore import QSize
from PySide6.QtWidgets import QStackedWidget, QWidget

from washmon.gui.context import Person
from washmon.gui.page import Page, Window
from washmon.planning.snapshot import Snapshot

W = TypeVar("W", bound=QWidget)


@runtime_checkable
class DrawsSnapshots(Protocol):
    """A page that follows the shift."""

    def show_snapshot(self, snapshot: Snapshot, person: Person) -> None:
        """Draw the newest snapshot."""


class PageStack(QStackedWidget):
    """Start-up is measured: nobody waits for a page that is seldom needed."""

    def __init__(self, window: Window) -> None:
        super().__init__()
        self._window = window
        self._made: dict[Page[Any], QWidget] = {}
        self._latest: tuple[Snapshot, Person] | None = None
        self._before: tuple[Page[Any] | None, QWidget | None] = (None, None)

    def minimumSizeHint(self) -> QSize:
        """Return what the page in front needs: those behind it take no room."""
        front = self.currentWidget()
        return QSize(0, 0) if front is None else front.minimumSizeHint()

    @property
    def room(self) -> Page[Any] | None:
        """The page in front."""
        front = self.currentWidget()
        return next((page for page, widget in self._made.items() if widget is front), None)

    @property
    def before(self) -> tuple[Page[Any] | None, QWidget | None]:
        """What was in front before a page aside was entered, and what had the keyboard there."""
        return self._before

    def page(self, page: Page[W]) -> W:
        """Return a page, made now if it was not yet."""
        made: W | None = self._made.get(page)  # type: ignore[assignment]
        if made is None:
            made = self._made[page] = page.make(self._window)
            self.addWidget(made)
            if self._latest is not None and isinstance(made, DrawsSnapshots):
                made.show_snapshot(*self._latest)
        return made

    def enter(self, page: Page[W]) -> W:
        """Bring a page to the front and give it the keyboard."""
        front = self.room
        if page.aside and (front is None or not front.aside):
            self._before = (front, self.window().focusWidget())
        made = self.page(page)
        self.setCurrentWidget(made)
        made.setFocus()
        return made

    def show_snapshot(self, snapshot: Snapshot, person: Person) -> None:
        """Let every page that follows the shift draw a snapshot."""
        self._latest = (snapshot, person)
        for made in self._made.values():
            if isinstance(made, DrawsSnapshots):
                made.show_snapshot(snapshot, person)
