"""Asks where a file is to be saved, one dialog at a time."""

from pathlib import Path

from PySide6.QtCore import QObject, Signal, Slot
from PySide6.QtWidgets import QFileDialog, QWidget


class FileSaver(QObject):
    """``chosen(str)``: the file was named. Without one nothing happens."""

    chosen = Signal(str)

    def __init__(self, title: str, parent: QWidget) -> None:
        super().__init__(parent)
        self._title, self._page = title, parent
        self.dialog: QFileDialog | None = None

    def ask(self, name: str, *, folder: str = "", kinds: str = "") -> None:
        """Ask for a file, with a name and its suffix suggested; ``kinds`` is a filter of names."""
        if self.dialog is not None:
            return
        self.dialog = QFileDialog(self._page, self._title, folder)
        self.dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        if kinds:
            self.dialog.setNameFilter(kinds)
        self.dialog.setDefaultSuffix(Path(name).suffix.lstrip("."))
        self.dialog.selectFile(name)
        self.dialog.fileSelected.connect(self.chosen)
        self.dialog.finished.connect(self._closed)
        self.dialog.open()

    @Slot(int)
    def _closed(self, _result: int) -> None:
        if self.dialog is not None:
            self.dialog.deleteLater()
            self.dialog = None
