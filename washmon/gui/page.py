"""What a page of the window is, and what it may ask of its window."""

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum, auto
from typing import Any, Generic, Protocol, TypeVar

from PySide6.QtWidgets import QWidget

from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext
from washmon.gui.header import Header
from washmon.gui.i18n import tr
from washmon.gui.maintenance import Care
from washmon.gui.session_files import SessionFiles
from washmon.gui.settings import Settings
from washmon.planning.snapshot import Mode, Snapshot

W = TypeVar("W", bound=QWidget)


class Window(Protocol):
    """What a page may ask of the window that shows it."""

    client: RecorderClient
    settings: Settings
    care: Care
    sessions: SessionFiles
    header: Header
    snapshot: Snapshot | None

    @property
    def person(self) -> UserContext:
        """Whose initials stand under the next entry, and how they read."""

    @property
    def is_running(self) -> bool:
        """Whether a shift is under way."""

    def tell(self, sentence: str) -> None:
        """Say something quiet above the page."""

    def warn(self, sentence: str) -> None:
        """Say above the page that something was not done."""

    def go(self, page: "Page[Any]") -> None:
        """Open a page, or say why it can't be opened now."""

    def enter(self, page: "Page[W]") -> W:
        """Open a page and return it."""

    def go_home(self) -> None:
        """Go where work goes on."""

    def go_back(self) -> None:
        """Go where one was before, where what was begun still stands."""

    def open_menu(self) -> None:
        """Offer what is seldom needed."""


class PageHead(Enum):
    """What stands over a page."""

    SHIFT = auto()
    """The header tells the line, and its running shift."""
    SHOWN = auto()
    """The header tells what the page shows in it."""
    NONE = auto()
    """The page has a bar of its own."""


class MenuSection(Enum):
    """A part of the menu."""

    SHIFT = auto()
    RECORDS = auto()
    BESIDE = auto()
    HELP = auto()


def always(_window: Window) -> str:
    """Return no reason: this can be done whatever is so."""
    return ""


def unless_reading_only(window: Window) -> str:
    """Return why nothing can be changed, or an empty text."""
    snapshot = window.snapshot
    if snapshot is not None and snapshot.mode is Mode.LIVE:
        return ""
    return tr("This window only reads: nothing can be changed here.")


def while_running(window: Window) -> str:
    """Return why nothing of a running shift can be done, or an empty text."""
    return unless_reading_only(window) or ("" if window.is_running else tr("No shift is running."))


def nothing_to_do(_page: QWidget, _window: Window) -> None:
    """Leave a page as it is when it is entered."""


@dataclass(frozen=True, eq=False)
class Page(Generic[W]):
    """A page of the window: one row of the table in :mod:`washmon.gui.rooms`.

    Args:
        name: tells it from the others.
        make: imports the page, makes it and connects it; called when it is first entered.
        open: lets the page show what is so now; called whenever it is entered.
        words: its line in the menu, in English; empty for none.
        section: where in the menu.
        key: opens it from anywhere.
        why_not: says why it can't be opened now, or nothing.
        aside: whether it may be entered in the middle of something, and leads back to it.
        head: what stands over it.
    """

    name: str
    make: Callable[[Window], W]
    open: Callable[[W, Window], None] = nothing_to_do
    words: str = ""
    section: MenuSection = MenuSection.BESIDE
    key: tuple[str, ...] = ()
    why_not: Callable[[Window], str] = always
    aside: bool = False
    head: PageHead = PageHead.SHIFT

    def __str__(self) -> str:
        return self.name
