"""Saves the sheets that hang over the bench as a PDF, from the set-up in use."""

from pathlib import Path

from PySide6.QtCore import QObject, Signal, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.client import RecorderClient
from washmon.gui.i18n import tr
from washmon.gui.kit.file_asking import FileSaver
from washmon.planning.snapshot import Snapshot


class BenchSheets(QObject):
    """Asks where to save them, and writes them when nobody waits for the recorder.

    Signals:
        done(str): they are saved; a sentence.
        failed(str): why they are not.
    """

    done = Signal(str)
    failed = Signal(str)

    def __init__(self, client: RecorderClient, parent: QWidget) -> None:
        super().__init__(parent)
        self._client = client
        self._snapshot: Snapshot | None = None
        self.saver = FileSaver(tr("Save the bench sheets"), parent)
        self.saver.chosen.connect(self._write)

    def ask(self, snapshot: Snapshot) -> None:
        """Ask for a file."""
        if snapshot.shift is not None:
            self._snapshot = snapshot
            self.saver.ask("bench sheets.pdf", kinds=[tr("PDF files (*.pdf)")])

    @Slot(str)
    def _write(self, file: str) -> None:
        shift = None if self._snapshot is None else self._snapshot.shift
        if shift is None:
            return

        def written(_store: object) -> Path:
            from washmon.reports.bench_sheets import write_bench_sheets  # noqa: PLC0415 - slow to load

            target = Path(file)
            write_bench_sheets(target, shift.setup, shift.started.at)
            return target

        self._client.read(written, self._tell)

    @Slot(object)
    def _tell(self, result: object) -> None:
        if isinstance(result, BaseException):
            self.failed.emit(str(result))
        else:
            self.done.emit(tr("Saved the bench sheets in {file}.", file=str(result)))
