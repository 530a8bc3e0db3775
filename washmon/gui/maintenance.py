"""Care for the records while the window is open: a check at the start, a backup at each end.

Both read the database by themselves, on a thread of their own: neither entries nor the window wait
for them.

When records are checked and backed up, and what the window says of it.
"""

import threading
from collections.abc import Callable
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path
from typing import TypeVar

from PySide6.QtCore import QObject, QTimer, Signal, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.client import RecorderClient
from washmon.gui.i18n import tr
from washmon.gui.kit.file_asking import FolderChooser
from washmon.gui.kit.message_line import Notice
from washmon.gui.kit.working import Aside, Tell, outcome
from washmon.gui.settings import Settings
from washmon.line.journal import SITE
from washmon.planning.snapshot import Mode, Snapshot
from washmon.recorder import Clock, Recorder
from washmon.store.backups import Backup, back_up
from washmon.store.errors import StoreUnavailable
from washmon.store.journal_check import JournalFault, PaperFault
from washmon.store.store import Store
from washmon.store.witness import Witness

T = TypeVar("T")
_PATIENCE_S = 2.0
_REST_S = 0.02
"""Between two shifts that are summed up anew, so that entries and the window go first."""
_TOLD_EACH = 10
_BREATH_S = 0.002
"""Between two shifts of a check, so that the window's thread is not kept waiting."""


class MaintenanceService(QObject):
    """Checks and backs up; at most one of each at a time.

    Signals:
        checked(object): a tuple of faults, empty when journal and lists are whole, or the
            exception.
        witnessed(object): nothing, or the exception.
        backed_up(object): the :class:`~washmon.store.backups.Backup`, or the exception.
        renewing(int, int): so many summaries are made anew, of so many.
        renewed(object): how many that were, or the exception.
    """

    checked = Signal(object)
    witnessed = Signal(object)
    backed_up = Signal(object)
    renewing = Signal(int, int)
    renewed = Signal(object)

    def __init__(self, recorder: Recorder, clock: Clock, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.witness_folder: Path | None = None
        """Where a witness outside of the database is kept; without one nothing is witnessed."""
        self._recorder = recorder
        self._clock = clock
        self._stop = threading.Event()
        self._threads: dict[str, threading.Thread] = {}

    def check(self) -> None:
        """Go through the whole journal; :attr:`checked` follows."""
        self._begin("check", self._checked_journal)

    def testify(self) -> None:
        """Let the witness remember where the chains end now; :attr:`witnessed` follows."""
        if (folder := self.witness_folder) is not None:
            now = self._clock()
            self._begin("witness", lambda store, _: Witness(folder, store.place).look(store, now))

    def back_up(self, folder: Path) -> None:
        """Copy the database into a folder; :attr:`backed_up` follows."""
        now = self._clock()
        self._begin("backup", lambda store, _: back_up(store, folder, now))

    def renew(self) -> None:
        """Make the summaries anew that an earlier version kept; :attr:`renewed` follows."""
        self._begin("renew", self._renewed_summaries)

    def _renewed_summaries(self, store: Store, tell: Tell) -> int:
        def ask(query: Callable[[Store], T]) -> T:
            return self._recorder.read(query).result()

        def progress(done: int, of: int) -> None:
            if done % _TOLD_EACH == 0 or done == of:
                tell((done, of))

        if ask(lambda writer: writer.read_only):
            return 0
        from washmon.recorder.summaries import renew  # noqa: PLC0415 - start-up is measured

        return renew(store, ask, lambda: self._stop.wait(_REST_S), progress)

    def close(self) -> None:
        """Stop the check; a backup on its way is waited for, a little."""
        self._stop.set()
        for thread in self._threads.values():
            thread.join(_PATIENCE_S)

    def _checked_journal(self, store: Store, _: Tell) -> tuple[JournalFault, ...]:
        def stop() -> bool:
            return self._stop.wait(_BREATH_S)

        found = store.verify(stop)
        if self.witness_folder is not None:
            found += Witness(self.witness_folder, store.place).faults(store)
        if not found:
            found = store.compare_projections(stop)
            found += self._differing(store, stop)
            found += store.papers_amiss()
        return tuple(found)

    def _differing(self, store: Store, stop: Callable[[], bool]) -> tuple[JournalFault, ...]:
        """Hold the kept summaries against their journals; what was proven before stands."""
        from washmon.recorder.kept_parts import Proofs, program_mark  # noqa: PLC0415 - as above
        from washmon.recorder.summaries import differing_summaries  # noqa: PLC0415
        from washmon.store.kept import Kept  # noqa: PLC0415

        with Kept(self.witness_folder, store.place, program_mark()) as kept:
            proofs = Proofs(kept, [row.chain for row in store.iter_shifts()])

            def agrees(store: Store, chain: str) -> bool:
                return proofs.hold(lambda query: query(store), chain)

            said = differing_summaries(store, stop, agrees)
            return tuple(JournalFault(one) for one in said)

    def _begin(self, name: str, work: Callable[[Store, Tell], object]) -> None:
        def with_a_reader(tell: Tell) -> object:
            with self._recorder.read(Store.reader).result() as store:
                return work(store, tell)

        def run(tell: Tell) -> None:
            result = outcome(partial(with_a_reader, tell))
            if not self._stop.is_set():
                tell((name, result))

        if name not in self._threads:
            self._threads[name] = Aside(self._hear).begin(run, name)

    @Slot(object)
    def _hear(self, told: object) -> None:
        match told:
            case (int(done), int(of)):
                self.renewing.emit(done, of)
            case (str(name), result):
                del self._threads[name]
                {
                    "check": self.checked,
                    "witness": self.witnessed,
                    "backup": self.backed_up,
                    "renew": self.renewed,
                }[name].emit(result)


def checked_words(at: datetime) -> str:
    """Return what is quietly said of a journal that is whole."""
    return tr("Journal checked at {time}: whole", time=f"{at:%H:%M}")


def alarm_words(result: object) -> str:
    """Return what must be said of a check; empty when the journal is whole."""
    if isinstance(result, tuple) and all(isinstance(one, JournalFault) for one in result):
        return _faults_in_words(result)
    return tr("The records could not be checked. {why}", why=_why(result))


def _faults_in_words(found: tuple[JournalFault, ...]) -> str:
    if not found:
        return ""
    if all(isinstance(one, PaperFault) for one in found):
        said = tr("The records are whole, but a paper is not as it was filed. {what}")
    else:
        said = tr("The records are not as they were written. {what}")
    words = said.format(what=str(found[0]))
    if len(found) == 1:
        return words
    more = tr("And {count} more: see 'washmon verify'.", count=len(found) - 1)
    return f"{words} {more}"


def backup_words(result: object) -> tuple[bool, str]:
    """Return whether a backup was made, and a sentence on it."""
    if isinstance(result, Backup):
        words = tr("Backed up and checked: {file}", file=str(result.path))
        return not result.lacks, " ".join((words, *result.lacks))
    return False, tr("No backup was made. {why}", why=_why(result))


def _why(trouble: object) -> str:
    if isinstance(trouble, StoreUnavailable):
        return str(trouble)
    return tr(
        "The program met a fault of its own ({fault}): report this.",
        fault=f"{type(trouble).__name__}: {trouble}",
    )


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
