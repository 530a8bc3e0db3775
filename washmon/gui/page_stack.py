"""The pages of a window over each other, each made when it is first entered, and the way back."""

from collections.abc import Callable
from functools import partial
from typing import Any, Protocol, TypeVar, runtime_checkable

from PySide6.QtWidgets import QWidget

from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import FrontStack
from washmon.gui.kit.confirm import ConfirmQuestion, ask
from washmon.gui.page import Page, Window
from washmon.planning.snapshot import Snapshot

W = TypeVar("W", bound=QWidget)


@runtime_checkable
class DrawsSnapshots(Protocol):
    """A page that follows the shift."""

    def show_snapshot(self, snapshot: Snapshot, person: UserContext) -> None:
        """Draw the newest snapshot."""


@runtime_checkable
class HoldsWork(Protocol):
    """A page on which something stands that leaving it would lose."""

    @property
    def unsaved(self) -> bool:
        """Whether there is such a thing now."""


class PageStack(FrontStack):
    """Start-up is measured: nobody waits for a page that is seldom needed."""

    def __init__(self, window: Window) -> None:
        super().__init__()
        self._window = window
        self._made: dict[Page[Any], QWidget] = {}
        self._latest: tuple[Snapshot, UserContext] | None = None
        self._sure = False
        self._question: ConfirmQuestion | None = None
        self._before: tuple[Page[Any] | None, QWidget | None] = (None, None)

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

    def may_leave(self, then: Callable[[], object], to: Page[Any] | None = None) -> bool:
        """Tell whether leaving loses nothing; else ask, and do ``then`` after a yes.

        A page aside is left for the one before it, so both are looked at. For another page aside,
        only a page aside is left: what it lies over stays as it is.
        """
        front = self.room
        is_aside = front is not None and front.aside
        stays = to is not None and to.aside
        under = self._before[0] if is_aside and not stays else None
        pages = (front if is_aside or not stays else None, under)
        held = [self._made[one] for one in pages if one in self._made]
        if self._sure or not any(isinstance(one, HoldsWork) and one.unsaved for one in held):
            return True
        if self._question is None:
            self._question = ask(
                self, tr("Leave and forget what you wrote here?"), tr("Leave"), tr("Stay here")
            )
            self._question.answered.connect(partial(self._leave, then))
        return False

    def _leave(self, then: Callable[[], object], yes: bool) -> None:  # noqa: FBT001 - Qt's signal
        self._question = None
        if yes:
            self.leave_surely(then)

    def leave_surely(self, then: Callable[[], object]) -> None:
        """Do something that leaves pages without asking."""
        self._sure = True
        then()
        self._sure = False

    def show_snapshot(self, snapshot: Snapshot, person: UserContext) -> None:
        """Let every page that follows the shift draw a snapshot."""
        self._latest = (snapshot, person)
        for made in self._made.values():
            if isinstance(made, DrawsSnapshots):
                made.show_snapshot(snapshot, person)
