"""Which files of the program are entered from Enter to the drawn Board, in their order.

Run ``QT_QPA_PLATFORM=offscreen python -m tests.tools.files_entered``. A reading is typed into the
long shift of ``tests/benchmarks/test_board_latency.py``; from the last Enter on, every call of
Python on the window's thread and on the recorder's is looked at, until the saved reading is in the
snapshot and its tank's trend is painted. Each file is told once, with the thread that came first.
"""

import sys
import tempfile
import threading
from pathlib import Path
from types import FrameType

import pyqtgraph as pg
import typer
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget

from tests.benchmarks.test_board_latency import WAIT, Painted, opened, settle
from washmon.gui.app import application
from washmon.gui.board_page import BoardPage
from washmon.gui.kit.trend import Trend
from washmon.gui.main_window import MainWindow
from washmon.gui.rooms import Room
from washmon.line.kinds import EntryKind

PROGRAM = Path(__file__).parents[2] / "washmon"
READING = ("51", "7.1", "20")


def main() -> None:
    """Print the files, then how many there are on each thread."""
    app = application()
    with tempfile.TemporaryDirectory() as scratch, opened(app, Path(scratch)) as window:
        page = window.rooms.page(Room.BOARD)
        found = files_entered(app, window, page)
    for file, thread in found.items():
        typer.echo(f"{thread:<9} {file}")
    threads = sorted(set(found.values()))
    each = ", ".join(f"{[*found.values()].count(one)} first by the {one}" for one in threads)
    typer.echo(f"{len(found)} files: {each}")


def files_entered(app: QApplication, window: MainWindow, page: BoardPage) -> dict[str, str]:
    """Return the files that one reading of tank 1 enters, with the thread that came first."""
    last = typed(app, page)
    found: dict[str, str] = {}

    def look(frame: FrameType, event: str, _: object) -> None:
        file = frame.f_code.co_filename
        if frame.f_code.co_name == "_look_ahead":  # made when nobody waits: looking slows it down
            sys.setprofile(None)
            return
        if event == "call" and file.startswith(str(PROGRAM)):
            here = threading.current_thread() is threading.main_thread()
            name = Path(file).relative_to(PROGRAM).as_posix()
            found.setdefault(name, "window" if here else "recorder")

    def on_recorder(function: object) -> None:
        window.client.recorder.read(lambda _: sys.setprofile(function)).result()  # type: ignore[arg-type]

    trend = page.board.columns.panels[0].findChild(Trend)
    view = trend.findChild(pg.GraphicsView) if trend is not None else None
    assert view is not None
    painted = Painted(view, page.entries.sheet)
    on_recorder(look)
    sys.setprofile(look)
    QTest.keyClick(last, Qt.Key.Key_Return)
    while not painted.is_new:
        app.processEvents(WAIT)
    sys.setprofile(None)
    on_recorder(None)
    return found


def typed(app: QApplication, page: BoardPage) -> QWidget:
    """Type a reading of tank 1 up to its last Enter; return what has the keyboard then."""
    page.open_entry(EntryKind.READING, tank=1)
    while not page.entries.sheet.isVisible():
        app.processEvents()
    for text in READING:
        if text != READING[0]:
            QTest.keyClick(focus(app), Qt.Key.Key_Return)
        QTest.keyClicks(focus(app), text)
    settle(app)
    return focus(app)


def focus(app: QApplication) -> QWidget:
    """Return what has the keyboard."""
    widget = app.focusWidget()
    assert widget is not None
    return widget


if __name__ == "__main__":
    main()
