"""Saves the chart that is shown as a picture, and says what became of it."""

from pathlib import Path

from PySide6.QtCore import QObject, QStandardPaths, Signal, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.control_chart import ControlChart
from washmon.gui.kit.file_asking import FileSaver
from washmon.gui.logbook.export_bar import trouble_words
from washmon.reports.files import ExportError, written_aside


class PictureSaver(QObject):
    """Asks where, one dialog at a time.

    Signals:
        saved(str): a sentence that says where the picture is.
        failed(str): a sentence that says why there is none.
    """

    saved = Signal(str)
    failed = Signal(str)

    def __init__(self, chart: ControlChart, page: QWidget) -> None:
        super().__init__(page)
        self._chart = chart
        self._folder = QStandardPaths.writableLocation(
            QStandardPaths.StandardLocation.PicturesLocation
        )
        self.file = FileSaver(tr("Save the picture"), page)
        self.file.chosen.connect(self._chosen)

    def ask(self, name: str) -> None:
        """Ask where to save, with a name suggested that ends in .png or .svg."""
        suffix = Path(name).suffix
        self.file.ask(name, folder=self._folder, kinds=[f"{suffix[1:].upper()} (*{suffix})"])

    @Slot(str)
    def _chosen(self, path: str) -> None:
        self.save(Path(path))

    def save(self, target: Path) -> None:
        """Write the picture that is shown, as its name ends."""
        self._folder = str(target.parent)
        body = self._chart.svg() if target.suffix == ".svg" else self._chart.png()
        try:
            with written_aside(target) as file:
                file.write(body)
        except ExportError as trouble:
            self.failed.emit(trouble_words(trouble))
        else:
            self.saved.emit(tr("Written: {path}", path=str(target)))
