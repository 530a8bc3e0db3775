"""Ways to what is used beside the work: calculator, PINs, help."""

from PySide6.QtCore import Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.navigator.group import Makers, PageGroup
from washmon.gui.rooms import Room


class BesidePages(PageGroup):
    """To what leads back to where one was."""

    def makers(self) -> Makers:
        """Return how each page is made."""
        return {
            Room.CALCULATOR: self._calculator,
            Room.PINS: self._pins,
            Room.CHANGES: self._changes,
            Room.HELP: self._help,
        }

    def _calculator(self) -> QWidget:
        from washmon.gui.calculator.page import Calculator

        page = Calculator()
        page.left.connect(self._navigator.go_back)
        return page

    @Slot()
    def open_calculator(self) -> None:
        """Work something out."""
        from washmon.gui.calculator.page import Calculator

        snapshot = self._window.snapshot
        page = self._navigator.enter(Room.CALCULATOR, Calculator)
        setup, shift = (snapshot.setup, snapshot.shift) if snapshot else (None, None)
        if shift is not None and self._window.is_running:
            page.open(shift.setup, self._window.person, shift)
        else:
            page.open(setup, self._window.person)

    def _pins(self) -> QWidget:
        from washmon.gui.pins_page import PinsPage

        page = PinsPage(self._window.client)
        page.left.connect(self._navigator.go_back)
        return page

    @Slot()
    def open_pins(self) -> None:
        """Set, change or reset a PIN."""
        from washmon.gui.pins_page import PinsPage

        page = self._navigator.enter(Room.PINS, PinsPage)
        page.open(self._window.person)

    def _changes(self) -> QWidget:
        from washmon.gui.logbook.setup_changes import SetupChanges

        page = SetupChanges(self._window.client)
        page.left.connect(self._navigator.go_back)
        return page

    @Slot()
    def open_changes(self) -> None:
        """Read who changed the set-up, when, and what."""
        from washmon.gui.logbook.setup_changes import SetupChanges

        page = self._navigator.enter(Room.CHANGES, SetupChanges)
        page.open(self._window.person)

    def _help(self) -> QWidget:
        from washmon.gui.help_page import HelpPage

        page = HelpPage()
        page.left.connect(self._navigator.go_back)
        return page

    @Slot()
    def open_help(self) -> None:
        """Read the keys, words, rules and cautions."""
        from washmon.gui.help_page import HelpPage

        self._navigator.enter(Room.HELP, HelpPage)
