"""Care for the records while the window is open: a check at the start, a backup at each end.

Both read the database by themselves, on a thread of their own: neither entries nor the window wait
for them.
"""

import threading
from collections.abc import Callable
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import TypeVar

from PySide6.QtCore import QObject, Signal, Slot

from washmon.gui.i18n import tr
from washmon.gui.kit.aside import Aside, Tell, outcome
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
        from washmon.recorder.renewing import renew  # noqa: PLC0415 - start-up is measured

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
