"""Children of the start-up benchmark: each prints how long it took until something was drawn."""

import sys
import time
from pathlib import Path

BEGUN = time.perf_counter()


def bare() -> float:
    """Import PySide6 and pyqtgraph and show an empty plot."""
    import pyqtgraph as pg
    from PySide6.QtWidgets import QApplication

    app = QApplication([])
    plot = pg.PlotWidget()
    plot.show()
    app.processEvents()
    plot.grab()
    return time.perf_counter() - BEGUN


def board(database: str) -> tuple[float, float]:
    """Start the program on a running shift: until the Board is drawn, and until its plots are."""
    from washmon.cli.main import window_wish

    assert window_wish(["--database", database]) is not None
    from washmon.cli.window import load

    load()
    from PySide6.QtCore import QEventLoop

    from washmon.gui.app import application
    from washmon.gui.board_page import BoardPage
    from washmon.gui.client import RecorderClient
    from washmon.gui.kit import theme
    from washmon.gui.main_window import MainWindow
    from washmon.gui.rooms import Room
    from washmon.gui.settings import Settings
    from washmon.store import Store

    wait = QEventLoop.ProcessEventsFlag.WaitForMoreEvents  # as the program does between events
    app = application()
    path = Path(database)
    settings = Settings(path.with_suffix(".ini"))
    theme.apply(app, settings.theme or theme.BRIGHT)
    window = MainWindow(RecorderClient(Store.open(path)), settings)
    window.begin()
    page = window.rooms.page(Room.BOARD)
    assert isinstance(page, BoardPage)
    while page.board.view is None or not page.board.view.panels:
        app.processEvents(wait)
    page.board.repaint()
    drawn = time.perf_counter() - BEGUN
    while any(panel.trend.trend is None for panel in page.board.columns.panels):
        app.processEvents()
    app.processEvents()
    complete = time.perf_counter() - BEGUN
    window.close()
    return drawn, complete


if __name__ == "__main__":
    if sys.argv[1] == "bare":
        sys.stdout.write(f"{bare()}\n")
    else:
        sys.stdout.write("{} {}\n".format(*board(sys.argv[2])))
