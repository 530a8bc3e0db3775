"""Writing CSV files while the shift goes on: a thread that reads shift by shift."""

import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, wait
from pathlib import Path
from typing import Any, TypeVar

from PySide6.QtCore import QCoreApplication, QObject, QStandardPaths, Signal, Slot
from PySide6.QtWidgets import QFileDialog, QHBoxLayout, QProgressBar, QWidget

from washmon.gui.context import translated
from washmon.gui.desk import Desk
from washmon.gui.i18n import tr
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.message_line import MessageLine
from washmon.line.fold import NotAShift, fold
from washmon.line.state import ShiftState
from washmon.recorder import Recorder
from washmon.reports.csv_export import ExportError, export
from washmon.reports.tables import Table
from washmon.store.errors import StoreUnavailable
from washmon.store.store import Store

T = TypeVar("T")
_PATIENCE_S = 0.2


class _Stopped(Exception):  # noqa: N818 - no error
    """The export was cancelled while it waited for the recorder."""


class ExportJob(QObject):
    """One file in the making.

    The recorder reads one shift at a time, so that entries of a running shift go in between; the
    file is written here, so that a slow disk holds up neither entries nor the window.

    Signals:
        progressed(int): how many shifts are written.
        finished(object): the number of rows, None if it was cancelled, or the exception.
    """

    progressed = Signal(int)
    finished = Signal(object)

    def __init__(
        self, recorder: Recorder, table: Table[Any], chains: Sequence[str], target: Path
    ) -> None:
        super().__init__()
        self._recorder = recorder
        self._table = table
        self._chains = tuple(chains)
        self._target = target
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, name="export", daemon=True)

    def start(self) -> None:
        """Begin."""
        self._thread.start()

    def cancel(self) -> None:
        """Stop at the next shift; no file is left."""
        self._stop.set()

    def wait(self) -> None:
        """Wait until the thread has ended."""
        if self._thread.ident is not None:
            self._thread.join()

    def _run(self) -> None:
        try:
            result: object = export(
                self._target,
                self._table,
                self._shifts(),
                progress=self.progressed.emit,
                cancelled=self._stop.is_set,
            )
        except _Stopped:
            result = None
        except Exception as fault:  # noqa: BLE001 - it is told in the window
            result = fault
        self.finished.emit(result)

    def _shifts(self) -> Iterator[ShiftState]:
        for chain in self._chains:
            yield self._got(self._recorder.read(_folded(chain)))

    def _got(self, future: "Future[T]") -> T:
        while not wait([future], _PATIENCE_S).done:
            if self._stop.is_set():
                raise _Stopped
        return future.result()


def _folded(chain: str) -> Callable[[Store], ShiftState]:
    def query(store: Store) -> ShiftState:
        return fold(chain, store.entries(chain))

    return query


class ExportBar(QWidget):
    """Asks for a file, writes it, and says in place what became of it."""

    done = Signal(object)
    """The path that was written, or None."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self._asked: tuple[Table[Any], tuple[str, ...]] | None = None
        self._job: ExportJob | None = None
        self._target = Path()
        self._folder = QStandardPaths.writableLocation(
            QStandardPaths.StandardLocation.DocumentsLocation
        )
        self.dialog: QFileDialog | None = None
        self.message = MessageLine(self)
        self.progress = QProgressBar(self)
        self.progress.setTextVisible(False)
        self.progress.setFixedWidth(200)
        self.cancel = PressButton(tr("Cancel"), Rank.QUIET, parent=self)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(12)
        row.addWidget(self.message, 1)
        row.addWidget(self.progress)
        row.addWidget(self.cancel)
        self.cancel.clicked.connect(self._cancel)
        if (app := QCoreApplication.instance()) is not None:
            app.aboutToQuit.connect(self.stop)
        self._show_working(working=False)

    @property
    def busy(self) -> bool:
        """Whether a file is being written."""
        return self._job is not None

    def ask(self, table: Table[Any], chains: Sequence[str], suggested: str) -> None:
        """Ask where to write a table of these shifts; returns at once."""
        if self.busy or self.dialog is not None:
            return
        self._asked = (table, tuple(chains))
        self.dialog = QFileDialog(self, tr("Export as CSV"), str(Path(self._folder, suggested)))
        self.dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        self.dialog.setNameFilter(tr("CSV files") + " (*.csv)")
        self.dialog.setDefaultSuffix("csv")
        self.dialog.selectFile(suggested)
        self.dialog.fileSelected.connect(self._chosen)
        self.dialog.finished.connect(self._closed)
        self.dialog.open()

    def write(self, table: Table[Any], chains: Sequence[str], target: Path) -> None:
        """Write a table of these shifts; :attr:`done` follows."""
        if self.busy:
            return
        self._target = target
        self._folder = str(target.parent)
        self.progress.setRange(0, len(chains))
        self.progress.setValue(0)
        self._job = ExportJob(self._desk.recorder, table, chains, target)
        self._job.progressed.connect(self.progress.setValue)
        self._job.finished.connect(self._finished)
        self.message.say(tr("Writing {name} …", name=target.name))
        self._show_working(working=True)
        self._job.start()

    @Slot()
    def stop(self) -> None:
        """Cancel what is being written and wait for it, as when the program ends."""
        if self._job is not None:
            self._job.cancel()
            self._job.wait()

    @Slot()
    def _cancel(self) -> None:
        if self._job is not None:
            self._job.cancel()

    @Slot(str)
    def _chosen(self, path: str) -> None:
        if self._asked is not None:
            self.write(*self._asked, Path(path))

    @Slot(int)
    def _closed(self, _result: int) -> None:
        if self.dialog is not None:
            self.dialog.deleteLater()
            self.dialog = None

    @Slot(object)
    def _finished(self, result: object) -> None:
        if self._job is not None:
            self._job.wait()
            self._job.deleteLater()
            self._job = None
        self._show_working(working=False)
        if isinstance(result, int):
            self.message.say(
                tr("Written: {path} ({rows} rows)", path=str(self._target), rows=result)
            )
        elif result is None:
            self.message.say(tr("Cancelled: nothing was written."))
        else:
            self.message.warn(trouble_words(result))
        self.done.emit(self._target if isinstance(result, int) else None)

    def _show_working(self, *, working: bool) -> None:
        self.progress.setVisible(working)
        self.cancel.setVisible(working)


def trouble_words(trouble: object) -> str:
    """Return in one sentence what stands in the way."""
    match trouble:
        case ExportError():
            return translated(trouble.template).format(**trouble.values)
        case StoreUnavailable():
            return translated(str(trouble))
        case NotAShift():
            return tr("There is no such shift in this database.")
    return tr(
        "The program met a fault of its own ({fault}): nothing was changed. Report this.",
        fault=f"{type(trouble).__name__}: {trouble}",
    )
