"""Asking for a file to open, and where to save one."""

from pathlib import Path

from PySide6.QtWidgets import QFileDialog, QWidget
from pytestqt.qtbot import QtBot

from washmon.gui.kit.file_asking import FileOpener, FileSaver, FolderChooser


def test_a_named_file_is_told_once_and_the_next_question_is_a_new_dialog(
    qtbot: QtBot, tmp_path: Path
) -> None:
    page = QWidget()
    qtbot.addWidget(page)
    saver = FileSaver("Save it", page)
    saver.ask("score.csv")
    dialog = saver.dialog
    assert dialog is not None
    assert dialog.defaultSuffix() == "csv"
    saver.ask("other.csv")
    assert saver.dialog is dialog
    with qtbot.waitSignal(saver.chosen) as told:
        dialog.fileSelected.emit(str(tmp_path / "score.csv"))
    assert told.args == [str(tmp_path / "score.csv")]
    dialog.reject()
    assert saver.dialog is None


def test_a_file_to_open_is_one_that_is_there_and_of_the_kinds_asked_for(
    qtbot: QtBot, tmp_path: Path
) -> None:
    page = QWidget()
    qtbot.addWidget(page)
    opener = FileOpener("Open it", page)
    assert opener.kind == ""
    opener.ask(folder=str(tmp_path), kinds=["Tables (*.csv)", "Text (*.txt)"])
    dialog = opener.dialog
    assert dialog is not None
    assert dialog.fileMode() is QFileDialog.FileMode.ExistingFile
    assert Path(dialog.directory().absolutePath()) == tmp_path
    dialog.selectNameFilter("Text (*.txt)")
    assert opener.kind == "Text (*.txt)"
    opener.ask()
    assert opener.dialog is dialog
    dialog.reject()
    assert opener.dialog is None


def test_a_folder_is_asked_for_once_beginning_at_the_one_that_is_chosen(
    qtbot: QtBot, tmp_path: Path
) -> None:
    page = QWidget()
    qtbot.addWidget(page)
    chooser = FolderChooser("Folder", page)
    chooser.ask(folder=str(tmp_path))
    dialog = chooser.dialog
    assert dialog is not None
    assert dialog.fileMode() is QFileDialog.FileMode.Directory
    assert Path(dialog.directory().absolutePath()) == tmp_path
    chooser.ask()
    assert chooser.dialog is dialog
