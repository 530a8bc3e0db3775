"""Ways to what was recorded: a summary, the Logbook, trends, imported logs."""

from PySide6.QtCore import Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.navigator.group import Makers, PageGroup
from washmon.gui.rooms import Room


class RecordPages(PageGroup):
    """To records."""

    def makers(self) -> Makers:
        """Return how each page is made."""
        return {
            Room.SUMMARY: self._summary,
            Room.LOGBOOK: self._logbook,
            Room.TRENDS: self._trends,
            Room.IMPORT: self._import,
        }

    def _summary(self) -> QWidget:
        from washmon.gui.logbook.summary_page import ShiftSummaryPage

        page = ShiftSummaryPage(self._window.client)
        page.left.connect(self._window.go_home)
        page.session_file_asked.connect(self._navigator.sessions.ask_to_save)
        return page

    @Slot(str)
    def open_summary(self, chain: str) -> None:
        """Look at the shift that has just ended."""
        from washmon.gui.logbook.summary_page import ShiftSummaryPage

        page = self._navigator.enter(Room.SUMMARY, ShiftSummaryPage)
        page.open(chain, self._window.person)

    def _logbook(self) -> QWidget:
        from washmon.gui.logbook.logbook import Logbook

        page = Logbook(self._window.client)
        page.left.connect(self._window.go_home)
        page.session_file_asked.connect(self._navigator.sessions.ask_to_save)
        page.replay_asked.connect(self._navigator.sessions.open_shift)
        return page

    @Slot()
    def open_logbook(self) -> None:
        """Look at past shifts."""
        from washmon.gui.logbook.logbook import Logbook

        page = self._navigator.enter(Room.LOGBOOK, Logbook)
        page.list.say_checked(self._window.care.checked)
        page.open(self._window.person)

    @Slot(str)
    def open_record(self, chain: str) -> None:
        """Look at one past shift."""
        from washmon.gui.logbook.logbook import Logbook

        self.open_logbook()
        page = self._window.rooms.page(Room.LOGBOOK)
        if isinstance(page, Logbook):
            page.open_shift(chain)

    def say_checked(self, words: str) -> None:
        """Let the Logbook say what a check of the journal found, if it was ever opened."""
        from washmon.gui.logbook.logbook import Logbook

        page = self._window.rooms.made(Room.LOGBOOK)
        if isinstance(page, Logbook):
            page.list.say_checked(words)

    @Slot()
    def save_session(self) -> None:
        """Save the shown shift as a session file."""
        snapshot = self._window.snapshot
        if snapshot is not None and snapshot.shift is not None:
            self._navigator.sessions.ask_to_save(snapshot.shift.chain)

    def _trends(self) -> QWidget:
        from washmon.gui.trends.page import TrendsPage

        page = TrendsPage(self._window.client, self._window.settings)
        page.left.connect(self._window.go_home)
        page.opened.connect(self._open_in_logbook)
        return page

    @Slot()
    def open_trends(self) -> None:
        """See what drifts from shift to shift."""
        from washmon.gui.trends.page import TrendsPage

        self._navigator.enter(Room.TRENDS, TrendsPage).open(self._window.person)

    @Slot(str)
    def _open_in_logbook(self, chain: str) -> None:
        from washmon.gui.logbook.logbook import Logbook

        page = self._navigator.enter(Room.LOGBOOK, Logbook)
        page.open(self._window.person)
        page.open_shift(chain)

    def _import(self) -> QWidget:
        from washmon.gui.importing.page import ImportPage

        page = ImportPage(self._window.client, self._window.settings)
        page.left.connect(self._window.go_home)
        page.logbook_asked.connect(self.open_logbook)
        return page

    @Slot()
    def open_import(self) -> None:
        """Take over a log that was kept in a spreadsheet until now."""
        from washmon.gui.importing.page import ImportPage

        snapshot = self._window.snapshot
        page = self._navigator.enter(Room.IMPORT, ImportPage)
        page.open(snapshot.setup if snapshot else None, self._window.person)
