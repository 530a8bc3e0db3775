"""When records are checked and backed up, and what the window says of it."""

from datetime import datetime, timedelta
from pathlib import Path

from PySide6.QtCore import QObject, QTimer, Signal, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.client import RecorderClient
from washmon.gui.i18n import tr
from washmon.gui.kit.file_asking import FolderChooser
from washmon.gui.maintenance import MaintenanceService, alarm_words, backup_words, checked_words
from washmon.gui.notice import Notice
from washmon.gui.settings import Settings
from washmon.line.journal import SITE
from washmon.planning.snapshot import Mode, Snapshot
from washmon.store.journal_check import JournalFault

CHECK_AFTER_MS = 3000
"""By then the window has opened, and nobody waits for the disk."""
WITNESSED_EACH = timedelta(minutes=1)
"""So much of a shift can be cut off at the most without the witness having seen it."""


class Care(QObject):
    """A check soon after the start; a backup at the end of each shift, to a folder of choice.

    Signals:
        whole(str): a check found nothing wrong; words for the Logbook.
        suspect_asked(str): the chain that is not as it was written is to be shown.
    """

    whole = Signal(str)
    suspect_asked = Signal(str)

    def __init__(
        self, client: RecorderClient, settings: Settings, notice: Notice, parent: QWidget
    ) -> None:
        super().__init__(parent)
        self._client = client
        self._settings = settings
        self._notice = notice
        self._begun = False
        self._running: str | None = None
        self._witnessed_at: datetime | None = None
        self._suspect: str | None = None
        self.checked = ""
        """What is quietly said of the last check, where it found nothing wrong."""
        self.alarm = Notice()
        self.alarm.hide()
        self.chooser = FolderChooser(tr("Folder for backups"), parent)
        self.chooser.chosen.connect(self.take_folder)
        self.maintenance = MaintenanceService(client.recorder, client.clock, self)
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(CHECK_AFTER_MS)
        self._timer.timeout.connect(self.maintenance.check)
        self.maintenance.checked.connect(self._checked)
        self.maintenance.backed_up.connect(self._backed_up)
        self.maintenance.renewing.connect(self._renewing)
        self.maintenance.renewed.connect(self._renewed)
        self.alarm.acted.connect(self._show_suspect)

    def watch(self, snapshot: Snapshot) -> None:
        """Follow the shift: its end is the moment for a backup."""
        if not self._begun:
            self._begun = True
            self._timer.start()
        shift = snapshot.shift
        running = shift.chain if shift is not None and shift.ended is None else None
        over = self._running is not None and running != self._running
        last = self._witnessed_at
        if last is None or running != self._running or abs(snapshot.now - last) >= WITNESSED_EACH:
            self._witnessed_at = snapshot.now
            self.maintenance.testify()
        self._running = running
        if over and snapshot.mode is Mode.LIVE and self._folder is not None:
            self.maintenance.back_up(self._folder)

    def close(self) -> None:
        """Stop what is under way."""
        self._timer.stop()
        self.maintenance.close()

    @property
    def _folder(self) -> Path | None:
        folder = self._settings.backup_folder
        return Path(folder) if folder else None

    @Slot()
    def choose_folder(self) -> None:
        """Ask for the folder; the first backup is made at once."""
        self.chooser.ask(folder=self._settings.backup_folder)

    @Slot(str)
    def take_folder(self, folder: str) -> None:
        """Remember a folder and try it."""
        self._settings.backup_folder = folder
        self.back_up_now()

    @Slot()
    def back_up_now(self) -> None:
        """Make a backup; without a folder, ask for one first."""
        if self._folder is None:
            self.choose_folder()
        else:
            self._notice.say(tr("Backing up to {folder} …", folder=str(self._folder)))
            self.maintenance.back_up(self._folder)

    @Slot(object)
    def _backed_up(self, result: object) -> None:
        made, words = backup_words(result)
        (self._notice.say if made else self._notice.warn)(words)

    @Slot(object)
    def _checked(self, result: object) -> None:
        words = alarm_words(result)
        if not words:
            self.checked = checked_words(self._client.clock())
            self.alarm.clear()
            self.whole.emit(self.checked)
            self.maintenance.renew()
            return
        first = result[0] if isinstance(result, tuple) else None
        chain = first.chain if isinstance(first, JournalFault) else None
        self._suspect = None if chain == SITE else chain
        self.alarm.warn(words, tr("Show the shift") if self._suspect else "")

    @Slot(int, int)
    def _renewing(self, done: int, of: int) -> None:
        """Say quietly how far it is: the shed works on meanwhile."""
        self.checked = tr("Summaries made anew: {done} of {of}", done=done, of=of)
        self.whole.emit(self.checked)

    @Slot(object)
    def _renewed(self, made: object) -> None:
        if isinstance(made, int) and made:
            self.checked = checked_words(self._client.clock())
            self.whole.emit(self.checked)

    @Slot()
    def _show_suspect(self) -> None:
        if self._suspect is not None:
            self.suspect_asked.emit(self._suspect)
