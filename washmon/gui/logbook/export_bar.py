"""Writing CSV and PDF while the shift goes on: a thread that reads shift by shift."""

import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import wait
from pathlib import Path
from typing import Any, NamedTuple, TypeVar

from PySide6.QtCore import QCoreApplication, QLocale, QObject, QStandardPaths, Signal, Slot
from PySide6.QtWidgets import QHBoxLayout, QProgressBar, QWidget

from washmon.gui.client import RecorderClient
from washmon.gui.context import translated
from washmon.gui.i18n import tr
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.file_asking import FileSaver
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.text import plain_tip
from washmon.line.fold import NotAShift, fold
from washmon.line.state import ShiftState
from washmon.recorder import Recorder
from washmon.recorder.binding import BinderSource, Wish, bind
from washmon.recorder.kept_parts import table_parts
from washmon.recorder.proving import first_of, marked, wrong_with
from washmon.recorder.summaries import summary_parts
from washmon.recorder.tracing import LotWish, write_trace
from washmon.reports.csv_export import CsvPart, ExportError, export_parts
from washmon.reports.tables import SUMMARIES, Table
from washmon.store.errors import StoreUnavailable
from washmon.store.store import Store

T = TypeVar("T")
_PATIENCE_S = 0.2
_LEAST_PX = 60
"""Of the message: a long path is cut rather than the page made wider than the screen."""


class PrintOn(NamedTuple):
    """The printable record of one shift, on a size of paper (``a4`` or ``letter``)."""

    paper: str


Asked = Table[Any] | PrintOn | Wish | LotWish
"""A table, the record of a shift, a binder of all shifts, or the trace of a lot."""


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
        self,
        recorder: Recorder,
        what: Asked,
        chains: Sequence[str],
        target: Path,
    ) -> None:
        super().__init__()
        self._recorder = recorder
        self._what = what
        self._chains = tuple(chains)
        self._target = target
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, name="export", daemon=True)
        self.wrong: dict[str, list[str]] = {}
        """By chain: what is not as it was written; the file says so, too."""

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
            result: object = self._written()
        except _Stopped:
            result = None
        except Exception as fault:  # noqa: BLE001 - it is told in the window
            result = fault
        self.finished.emit(result)

    def _written(self) -> int | None:
        what = self._what
        if isinstance(what, Wish):
            source = BinderSource(self._ask, self._chains, what, self._step)
            self.wrong = source.wrong
            return len(bind(self._target, what, source, self._step))
        if isinstance(what, LotWish):
            rows, self.wrong = write_trace(self._target, self._ask, self._chains, what)
            return rows
        if isinstance(what, PrintOn):
            self.wrong = wrong_with(self._ask, self._chains, cancelled=self._stop.is_set)
            said = self.wrong.get(self._chains[0], [])
            return _printed(self._target, next(self._shifts()), what, said)
        self.wrong = wrong_with(self._ask, self._chains, what, self._stop.is_set)
        return export_parts(
            self._target,
            *marked(what, self._parts(what), self._chains, self.wrong),
            progress=self.progressed.emit,
            cancelled=self._stop.is_set,
        )

    def _step(self, done: int) -> None:
        if self._stop.is_set():
            raise _Stopped
        self.progressed.emit(done)

    def _parts(self, table: Table[Any]) -> Iterator[CsvPart]:
        if table is SUMMARIES:
            return summary_parts(self._ask, self._chains)
        return table_parts(self._ask, self._chains, table)

    def _shifts(self) -> Iterator[ShiftState]:
        for chain in self._chains:
            yield self._ask(_folded(chain))

    def _ask(self, query: Callable[[Store], T]) -> T:
        future = self._recorder.read(query)
        while not wait([future], _PATIENCE_S).done:
            if self._stop.is_set():
                raise _Stopped
        return future.result()


def _printed(target: Path, shift: ShiftState, record: PrintOn, wrong: Sequence[str]) -> int:
    from washmon.reports.paper import Paper  # noqa: PLC0415 - slow to load, and seldom needed
    from washmon.reports.printed import write_record  # noqa: PLC0415 - the same

    write_record(target, shift, Paper(record.paper), wrong=wrong)
    return 1


def _folded(chain: str) -> Callable[[Store], ShiftState]:
    def query(store: Store) -> ShiftState:
        return fold(chain, store.entries(chain))

    return query


class ExportBar(QWidget):
    """Asks for a file, writes it, and says in place what became of it."""

    done = Signal(object)
    """The path that was written, or None."""

    def __init__(self, client: RecorderClient, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._client = client
        self._asked: tuple[Asked, tuple[str, ...]] | None = None
        self._job: ExportJob | None = None
        self._target = Path()
        self._folder = QStandardPaths.writableLocation(
            QStandardPaths.StandardLocation.DocumentsLocation
        )
        self.csv_file = FileSaver(tr("Export as CSV"), self)
        self.pdf_file = FileSaver(tr("Print the record to a file"), self)
        self.binder_file = FileSaver(tr("Bind all shifts of these days into one file"), self)
        self.message = MessageLine(self)
        self.message.words.setMinimumWidth(_LEAST_PX)
        self.progress = QProgressBar(self)
        self.progress.setTextVisible(False)
        self.progress.setFixedWidth(90)
        self.cancel = PressButton(tr("Cancel"), Rank.QUIET, parent=self)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(12)
        row.addWidget(self.message, 1)
        row.addWidget(self.progress)
        row.addWidget(self.cancel)
        for file in self._files:
            file.chosen.connect(self._chosen)
        self.cancel.clicked.connect(self._cancel)
        if (app := QCoreApplication.instance()) is not None:
            app.aboutToQuit.connect(self.stop)
        self._show_working(working=False)

    @property
    def _files(self) -> tuple[FileSaver, ...]:
        return (self.csv_file, self.pdf_file, self.binder_file)

    @property
    def busy(self) -> bool:
        """Whether a file is being written."""
        return self._job is not None

    def ask(self, what: Asked, chains: Sequence[str], suggested: str) -> None:
        """Ask where to write a table of these shifts, a record, or a binder; returns at once."""
        if self.busy or any(file.dialog is not None for file in self._files):
            return
        self._asked = (what, tuple(chains))
        if _is_paper(what):
            saver = self.binder_file if isinstance(what, Wish) else self.pdf_file
            saver.ask(suggested, folder=self._folder, kinds=list(_papers()))
        else:
            kind = tr("CSV files") + " (*.csv)"
            self.csv_file.ask(suggested, folder=self._folder, kinds=[kind])

    def write(self, what: Asked, chains: Sequence[str], target: Path) -> None:
        """Write a table or a binder of these shifts, or the record of one; see :attr:`done`."""
        if self.busy:
            return
        self._target = target
        self._folder = str(target.parent)
        steps = what.steps(len(chains)) if isinstance(what, Wish) else len(chains)
        self.progress.setRange(0, 0 if isinstance(what, PrintOn | LotWish) else steps)
        self.progress.setValue(0)
        self._job = ExportJob(self._client.recorder, what, chains, target)
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
        if self._asked is None:
            return
        what, chains = self._asked
        if isinstance(what, PrintOn | Wish | LotWish) and _is_paper(what):
            papers = _papers()
            usual = next(iter(papers.values()))  # a desktop's own dialog may not tell its filter
            saver = self.binder_file if isinstance(what, Wish) else self.pdf_file
            what = what._replace(paper=papers.get(saver.kind, usual))
        self.write(what, chains, Path(path))

    @Slot(object)
    def _finished(self, result: object) -> None:
        wrong: dict[str, list[str]] = {}
        if self._job is not None:
            self._job.wait()
            wrong = self._job.wrong
            self._job.deleteLater()
            self._job = None
        self._show_working(working=False)
        written = isinstance(result, int)
        self.message.words.setToolTip(plain_tip(str(self._target)) if written else "")
        if isinstance(result, int) and wrong:
            self.message.warn(
                tr(
                    "Written, and NOT WHOLE, as the file says: {path}. {what}",
                    path=str(self._target),
                    what=first_of(wrong),
                )
            )
        elif isinstance(result, int) and self._target.suffix == ".pdf":
            self.message.say(tr("Written: {path}", path=str(self._target)))
        elif isinstance(result, int):
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


def _is_paper(what: Asked) -> bool:
    return isinstance(what, PrintOn | Wish) or (isinstance(what, LotWish) and bool(what.paper))


def _papers() -> dict[str, str]:
    """Return the sizes of paper by what the file dialog says, the usual one of the place first."""
    letter = QLocale().measurementSystem() is QLocale.MeasurementSystem.ImperialUSSystem
    names = {tr("PDF, A4") + " (*.pdf)": "a4", tr("PDF, US Letter") + " (*.pdf)": "letter"}
    return dict(reversed(names.items())) if letter else names


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
