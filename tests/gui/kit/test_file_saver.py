"""Asking where to save a file."""

from pathlib import Path

from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from washmon.gui.kit.file_saver import FileSaver


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
