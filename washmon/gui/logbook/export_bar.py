"""Writing CSV and PDF while the shift goes on: asked for, shown and told in place."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from threading import Thread
from typing import NamedTuple

from PySide6.QtCore import QCoreApplication, QLocale, QStandardPaths, Signal, Slot
from PySide6.QtWidgets import QProgressBar, QWidget

from washmon.gui.client import RecorderClient
from washmon.gui.context import translated
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import hbox
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.file_asking import FileSaver
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.text import plain_tip
from washmon.gui.kit.working import Aside, Tell, outcome
from washmon.line.fold import NotAShift
from washmon.recorder.binding import Wish
from washmon.recorder.exporting import Asked, ExportJob, PrintOn
from washmon.recorder.proving import first_of
from washmon.recorder.tracing import LotWish
from washmon.reports.csv_export import ExportError
from washmon.store.errors import StoreUnavailable

_LEAST_PX = 60
"""Of the message: a long path is cut rather than the page made wider than the screen."""


class _Written(NamedTuple):
    result: object
    """Rows, None if it was cancelled, or the exception."""
    wrong: Mapping[str, Sequence[str]]


class ExportBar(QWidget):
    """Asks for a file, writes it, and says in place what became of it."""

    done = Signal(object)
    """The path that was written, or None."""

    def __init__(self, client: RecorderClient, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._client = client
        self._asked: tuple[Asked, tuple[str, ...]] | None = None
        self._job: ExportJob | None = None
        self._thread: Thread | None = None
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
        self.cancel = PressButton(tr("Cancel"), Rank.QUIET, parent=self, then=self._cancel)
        hbox((self.message, 1), self.progress, self.cancel, on=self, gap_px=12)
        for file in self._files:
            file.chosen.connect(self._chosen)
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
        self._job = job = ExportJob(self._client.recorder, what, chains, target)
        self.progress.setRange(0, job.steps)
        self.progress.setValue(0)
        self.message.say(tr("Writing {name} …", name=target.name))
        self._show_working(working=True)

        def write(tell: Tell) -> None:
            tell(_Written(outcome(lambda: job.write(tell)), job.wrong))

        self._thread = Aside(self._hear).begin(write, "export")

    @Slot()
    def stop(self) -> None:
        """Cancel what is being written and wait for it, as when the program ends."""
        self._cancel()
        if self._thread is not None:
            self._thread.join()

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
    def _hear(self, told: int | _Written) -> None:
        if isinstance(told, _Written):
            self._job = None
            self._finished(told.result, told.wrong)
        else:
            self.progress.setValue(told)

    def _finished(self, result: object, wrong: Mapping[str, Sequence[str]]) -> None:
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
