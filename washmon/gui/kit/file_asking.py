"""Asks for a file to open, where one is to be saved, or for a folder, one dialog at a time.

A field that names a file, chosen in the system's own dialog or written as a path.
"""

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QObject, Signal, Slot
from PySide6.QtWidgets import QFileDialog, QLineEdit, QWidget

from washmon.gui.kit import theme
from washmon.gui.kit.boxes import hbox
from washmon.gui.kit.buttons import PressButton
from washmon.gui.kit.form_fields import FormField
from washmon.gui.kit.theme import Size


class _FileAsker(QObject):
    """``chosen(str)``: it was named. Without an answer nothing happens.

    ``kinds`` are filters of names, such as ``Tables (*.csv)``.
    """

    chosen = Signal(str)

    def __init__(self, title: str, page: QWidget) -> None:
        super().__init__(page)
        self._title, self._page = title, page
        self.dialog: QFileDialog | None = None

    @property
    def kind(self) -> str:
        """Which of the kinds is chosen in the dialog; empty while there is none."""
        return "" if self.dialog is None else self.dialog.selectedNameFilter()

    def _made(self, folder: str, kinds: Sequence[str] = ()) -> QFileDialog:
        self.dialog = dialog = QFileDialog(self._page, self._title, folder)
        if kinds:
            dialog.setNameFilters(list(kinds))
        dialog.fileSelected.connect(self.chosen)
        dialog.finished.connect(self._closed)
        return dialog

    @Slot(int)
    def _closed(self, _result: int) -> None:
        if self.dialog is not None:
            self.dialog.deleteLater()
            self.dialog = None


class FileSaver(_FileAsker):
    """Asks where a file is to be saved."""

    def ask(self, name: str, *, folder: str = "", kinds: Sequence[str] = ()) -> None:
        """Ask, with a name and its suffix suggested."""
        if self.dialog is None:
            dialog = self._made(folder, kinds)
            dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
            dialog.setDefaultSuffix(Path(name).suffix.lstrip("."))
            dialog.selectFile(name)
            dialog.open()


class FileOpener(_FileAsker):
    """Asks which file is to be opened."""

    def ask(self, *, folder: str = "", kinds: Sequence[str] = ()) -> None:
        """Ask for a file that is there."""
        if self.dialog is None:
            dialog = self._made(folder, kinds)
            dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
            dialog.open()


class FolderChooser(_FileAsker):
    """Asks for a folder."""

    def ask(self, *, folder: str = "") -> None:
        """Ask, beginning at the one that is chosen now."""
        if self.dialog is None:
            dialog = self._made(folder)
            dialog.setFileMode(QFileDialog.FileMode.Directory)
            dialog.setOption(QFileDialog.Option.ShowDirsOnly)
            dialog.open()


_LONGEST_PATH = 4000


class FileField(FormField):
    """A path, and the button that chooses one."""

    def __init__(
        self, key: str, label: str, choose: str, *, hint: str = "", parent: QWidget | None = None
    ) -> None:
        super().__init__(key, label, hint=hint, parent=parent)
        self.line = QLineEdit(self)
        self.line.setFont(theme.font(Size.BODY))
        self.line.setMaxLength(_LONGEST_PATH)
        self.button = PressButton(choose, parent=self, then=self._ask)
        self.opener = FileOpener(choose, self)
        both = QWidget(self)
        hbox((self.line, 1), self.button, on=both, gap_px=8)
        self._hold(both, self.line, self._typed, self.line.setText)
        self.opener.chosen.connect(self._take)
        self.line.textEdited.connect(self._tell)

    def _typed(self) -> str:
        return self.line.text().strip()

    @Slot()
    def _ask(self) -> None:
        self.opener.ask()

    @Slot(str)
    def _take(self, path: str) -> None:
        self.line.setText(path)
        self._tell()
