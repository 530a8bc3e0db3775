"""Fixtures for every test that opens a widget."""

import os
import sys
from collections.abc import Iterator
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import pytest
from PySide6.QtCore import QCoreApplication, QEvent
from PySide6.QtWidgets import (
    QApplication,
    QDialog,
    QFileDialog,
    QInputDialog,
    QMainWindow,
    QMessageBox,
)
from pytestqt.qtbot import QtBot

from tests.gui.stand import Stand
from washmon.gui.kit import theme
from washmon.gui.sound import sound_out


@pytest.fixture(scope="session")
def themed_app(qapp: QApplication) -> QApplication:
    """The application with the bundled type and the bright theme."""
    theme.apply(qapp, theme.BRIGHT)
    return qapp


@pytest.fixture(autouse=True)
def clean_windows(themed_app: QApplication) -> Iterator[None]:
    """Start bright; afterwards delete what was to be deleted and find what was left open."""
    if theme.current() is not theme.BRIGHT:
        theme.apply(themed_app, theme.BRIGHT)
    theme.grow(themed_app, 1.0)
    before = set(themed_app.topLevelWidgets())
    yield
    themed_app.processEvents()
    _flush_deletions()
    left = [
        widget
        for widget in themed_app.topLevelWidgets()
        if widget not in before
        and (widget.isVisible() or isinstance(widget, QDialog | QMainWindow))
    ]
    names = [repr(widget) for widget in left]
    for widget in left:
        widget.close()
        widget.deleteLater()
    _flush_deletions()
    assert not names, f"Left open: {names}"


@pytest.fixture
def stand(qtbot: QtBot, tmp_path: Path) -> Iterator[Stand]:
    """Somebody before a window that is not open yet, of a shed without records.

    A test module that needs more says so in a fixture of the same name, which takes this one.
    """
    made = Stand(qtbot, tmp_path)
    yield made
    made.leave()


@pytest.fixture(autouse=True)
def no_modal_loops(monkeypatch: pytest.MonkeyPatch) -> None:
    """Fail at once where a dialog would stop the program to wait for an answer."""

    def refuse(*_args: object, **_kwargs: object) -> None:
        raise AssertionError("A modal loop was started: use open() and finished instead.")

    for owner in (QDialog, QMessageBox, QFileDialog, QInputDialog):
        monkeypatch.setattr(owner, "exec", refuse)
    for name in ("about", "critical", "information", "question", "warning"):
        monkeypatch.setattr(QMessageBox, name, refuse)
    for name in ("getOpenFileName", "getOpenFileNames", "getSaveFileName", "getExistingDirectory"):
        monkeypatch.setattr(QFileDialog, name, refuse)
    for name in ("getText", "getInt", "getDouble", "getItem", "getMultiLineText"):
        monkeypatch.setattr(QInputDialog, name, refuse)


@pytest.fixture(autouse=True)
def no_device(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let no test be heard."""
    monkeypatch.setattr(sound_out, "PROGRAMS", {sys.platform: (), "linux": ()})


def _flush_deletions() -> None:
    # processEvents alone does not run deferred deletions.
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)
