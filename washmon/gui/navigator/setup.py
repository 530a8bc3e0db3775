"""The door to the set-up guide, and what is saved there."""

from typing import TYPE_CHECKING, cast

from PySide6.QtCore import Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.i18n import tr
from washmon.gui.navigator.group import Makers, PageGroup
from washmon.gui.rooms import Room
from washmon.line.events import RULES, SetupSaved
from washmon.line.setup import LineSetup, Role
from washmon.recorder import Failed, Refused

if TYPE_CHECKING:
    from washmon.gui.navigator.navigator import Navigator

if TYPE_CHECKING:
    from washmon.gui.setup_guide.guide import SetupGuide


class SetupPages(PageGroup):
    """To the set-up of the line."""

    def __init__(self, navigator: "Navigator") -> None:
        super().__init__(navigator)
        self._setup_ticket: int | None = None
        self._saving: SetupSaved | None = None

    def makers(self) -> Makers:
        """Return how each page is made."""
        return {
            Room.GUIDE: self._guide,
        }

    def _guide(self) -> QWidget:
        from washmon.gui.setup_guide.guide import SetupGuide

        guide = SetupGuide()
        guide.finished.connect(self._save_setup)
        guide.left.connect(self._window.go_home)
        self._window.client.answered.connect(self._setup_answered)
        return guide

    @Slot()
    def open_guide(self) -> None:
        """Describe the line, or change it."""
        from washmon.gui.setup_guide.guide import SetupGuide

        snapshot = self._window.snapshot
        guide = self._navigator.enter(Room.GUIDE, SetupGuide)
        guide.start(snapshot.setup if snapshot else None)

    @Slot(object)
    def _save_setup(self, setup: LineSetup) -> None:
        leads = [one.initials for one in setup.people if one.role is not Role.LINE_WORKER]
        saver = self._guide_page().saver
        by = saver.by or self._window.person.initials
        if setup.person(by) is None:
            by = next(iter(leads), RULES)
        self._window.settings.line = setup.line
        self._saving = SetupSaved(at=self._window.client.clock(), by=by, setup=setup)
        self._setup_ticket = self._window.client.enter(self._saving, pin=saver.pin.text)

    def _guide_page(self) -> "SetupGuide":
        page = self._window.rooms.page(Room.GUIDE)
        return cast("SetupGuide", page)

    @Slot(int, object)
    def _setup_answered(self, ticket: int, answer: object) -> None:
        if ticket != self._setup_ticket:
            return
        say = self._window.person.say
        match answer:
            case Refused() if all(one.field in {"by", "pin"} for one in answer.faults):
                said = {one.field: say(one.message) for one in answer.faults}
                saving = self._saving
                if saving is not None:
                    self._guide_page().saver.ask(saving.setup.people, saving.by, said)
            case Refused():
                self._window.warn(" ".join(say(fault.message) for fault in answer.faults))
            case Failed():
                self._window.warn(say(answer.sentence))
            case _:
                self._guide_page().saver.close_up()
                self._window.go_home()
                self._window.tell(
                    tr("The set-up is saved. The running shift keeps the one it has.")
                    if self._window.is_running
                    else tr("The set-up is saved.")
                )
