"""The guided filling with the sheets that it opens."""

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.client import RecorderClient
from washmon.gui.context import Person
from washmon.gui.entry.entry_client import EntryClient
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import vbox
from washmon.gui.kit.buttons import TOUCH_PX
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.shift.filling_page import FillingGuide
from washmon.line.journal import Entry
from washmon.line.kinds import EntryKind
from washmon.planning.snapshot import Snapshot


class FillingRoom(QWidget):
    """From an empty line to the first batch; may be left for the Board at any time."""

    left = Signal()

    def __init__(self, client: RecorderClient, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._latest: tuple[Snapshot, Person] | None = None
        self._last_saved: Entry | None = None
        self.guide = FillingGuide(self)
        self.message = MessageLine(self)
        self.message.setContentsMargins(24, 0, 24, 8)
        self.message.setMinimumHeight(TOUCH_PX + 8)  # no button moves when something is said
        self.entries = EntryClient(client, self)
        vbox((self.guide, 1), self.message, on=self)
        self.setFocusProxy(self.guide)
        self.guide.asked.connect(self._open)
        self.guide.left.connect(self.left)
        self.entries.saved.connect(self._say_saved)
        self.message.acted.connect(self._correct_last)

    def show_snapshot(self, snapshot: Snapshot, person: Person) -> None:
        """Show what each tank needs now."""
        self._latest = (snapshot, person)
        if snapshot.shift is not None:
            self.guide.show_snapshot(snapshot, person)

    @Slot(object, int)
    def _open(self, kind: EntryKind, tank: int) -> None:
        if self._latest is not None:
            self.message.clear()
            self.entries.open(kind, *self._latest, tank=tank, done=True)

    @Slot(object, str)
    def _say_saved(self, entry: Entry, said: str) -> None:
        self._last_saved = entry
        self.message.say(said, tr("Correct"))

    @Slot()
    def _correct_last(self) -> None:
        if self._latest is not None and self._last_saved is not None:
            self.entries.open(EntryKind.CORRECTION, *self._latest, correcting=self._last_saved)
