"""Papers taken in and laid out on a thread of their own: neither entries nor the window wait."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

from PySide6.QtCore import QObject, QTemporaryDir, QUrl, Signal, Slot
from PySide6.QtGui import QDesktopServices

from washmon.gui.client import RecorderClient
from washmon.gui.kit.working import Aside
from washmon.line.registers import Paper
from washmon.store import papers
from washmon.store.errors import CannotWrite
from washmon.store.store import Store

NO_PLACE = (
    "There is no place for papers now: the database is not where it should be, or this computer "
    "keeps nothing of its own. Try again when it is back."
)


class Filing(QObject):
    """One content at a time.

    Signals:
        taken(object): the :class:`~washmon.store.papers.Taken`, or the exception.
        laid_out(object): the file that is to be opened, or the exception.
    """

    taken = Signal(object)
    laid_out = Signal(object)

    def __init__(self, client: RecorderClient, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._client = client
        self._waiting: Any = None
        self._folder: Path | None = None
        self._shown: QTemporaryDir | None = None

    @property
    def busy(self) -> bool:
        """Whether something is on its way."""
        return self._waiting is not None

    def take_in(self, source: Path) -> None:
        """Copy a file to where papers lie; :attr:`taken` follows."""
        self._ask(self.taken, lambda folder: papers.take_in(source, folder))

    def let_go(self, taken: papers.Taken) -> None:
        """Take a content out again, of which the entry was refused."""
        if self._folder is not None:
            papers.let_go(self._folder, taken)

    def lay_out(self, paper: Paper) -> None:
        """Make a copy of a paper that another program may open; :attr:`laid_out` follows."""
        if self._shown is None:
            self._shown = QTemporaryDir()
        into = Path(self._shown.path())
        self._ask(self.laid_out, lambda folder: papers.lay_out(folder, paper, into))

    def _ask(self, told: Any, work: Callable[[Path], object]) -> None:  # noqa: ANN401 - a signal
        def begin(folder: object) -> None:
            if not isinstance(folder, Path):
                told.emit(CannotWrite(NO_PLACE) if folder is None else folder)
                return
            self._folder = folder
            self._waiting = told
            Aside(self._tell).answer(lambda: work(folder), "papers")

        if not self.busy:
            self._client.read(_folder, begin)

    @Slot(object)
    def _tell(self, result: object) -> None:
        told, self._waiting = self._waiting, None
        told.emit(result)


def open_outside(path: Path) -> bool:
    """Let the system open a file with what it has for it; tell whether it could."""
    return QDesktopServices.openUrl(QUrl.fromLocalFile(str(path)))


def _folder(store: Store) -> Path | None:
    return store.papers_folder
