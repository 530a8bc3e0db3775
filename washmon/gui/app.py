"""The composition root: application, store, client and window, each built once and here.

Collects garbage on the window's thread only.

Python collects cycles on whichever thread happens to allocate. On the recorder's thread that may
delete a widget that was dropped, and Qt ends the program for it.
"""

import gc
import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path

from PySide6.QtCore import QLocale, QObject, QTimer, Signal, Slot
from PySide6.QtGui import QIcon
from PySide6.QtWidgets import QApplication

from washmon import data, faultlog
from washmon.gui.client import RecorderClient
from washmon.gui.i18n import tr
from washmon.gui.lines.choice import LineChooser, begin_on_a_line
from washmon.gui.looks import apply_looks
from washmon.gui.main_window import MainWindow
from washmon.gui.settings import Settings
from washmon.gui.trouble_page import TroublePage
from washmon.store.errors import StoreUnavailable
from washmon.store.store import Store

EVERY_MS = 1000


def collect_what_is_due() -> None:
    """Collect as Python itself would have by now: the young first, the old more seldom."""
    counts, thresholds = gc.get_count(), gc.get_threshold()
    due = [at for at in range(3) if counts[at] > thresholds[at]]
    if due:
        gc.collect(due[-1])


class Collector(QObject):
    """Takes automatic collection over from Python, generation by generation.

    What is there when it is first due was loaded, and stays: it is never looked through.
    """

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self._timer = QTimer(self, interval=EVERY_MS)
        self._timer.timeout.connect(self.collect)
        self._has_begun = False
        gc.disable()
        self._timer.start()

    @Slot()
    def collect(self) -> None:
        """Collect on this thread."""
        if not self._has_begun:
            self._has_begun = True
            gc.freeze()
        collect_what_is_due()


_HEED_MS = 250


class FaultTeller(QObject):
    """Says in a window, on its own thread, that a fault was met on any."""

    met = Signal()

    def __init__(self, window: MainWindow) -> None:
        super().__init__(window)
        self._window = window
        self.met.connect(self._tell)

    @Slot()
    def _tell(self) -> None:
        self._window.warn(
            tr(
                "The program met a fault of its own. Entries shown as saved are safe. 'washmon "
                "report FILE' writes down what is needed to mend it."
            )
        )


def application() -> QApplication:
    """Return the one application, with its name and icon."""
    app = QApplication.instance()
    if not isinstance(app, QApplication):
        app = QApplication(sys.argv[:1])
        Collector(app)
    app.setApplicationName("washmon")
    app.setWindowIcon(QIcon(str(data.resource("icons", "washmon.svg"))))
    # A program in one language shows numbers as that person's system writes them.
    QLocale.setDefault(QLocale.system())
    return app


def run(
    database: str,
    settings_file: Path,
    *,
    read_only: bool = False,
    session_file: Path | None = None,
    state_folder: Path | None = None,
) -> int:
    """Open the window on a database and return the exit status when it closes.

    ``state_folder`` is where a witness of the records is kept, and entries while a server does not
    answer.
    """
    app = application()
    settings = Settings(settings_file)
    apply_looks(app, settings)
    windows: list[MainWindow] = []
    choices: list[LineChooser] = []

    def open_store(*, read_only: bool) -> None:
        store = Store.open(database, read_only=read_only, state_folder=state_folder)
        if "://" in database:
            choices.extend(begin_on_a_line(store, settings, partial(begin, store)))
        else:
            begin(store, None)

    def begin(store: Store, line: str | None) -> None:
        window = MainWindow(RecorderClient(store, line=line), settings, session_file=session_file)
        window.care.maintenance.witness_folder = state_folder
        faultlog.listen(FaultTeller(window).met.emit)
        windows.append(window)
        window.begin()

    with _closed_when_told(app):
        try:
            open_store(read_only=read_only)
        except StoreUnavailable as trouble:
            page = TroublePage(trouble, open_store)
            page.show()
        return app.exec()


@contextmanager
def _closed_when_told(app: QApplication) -> Iterator[None]:
    """Close the windows, and so the database, when Ctrl+C or the system ends the program."""

    def close(_number: int, _frame: object) -> None:
        QTimer.singleShot(0, _close_all)

    before = {told: signal.signal(told, close) for told in (signal.SIGINT, signal.SIGTERM)}
    heed = QTimer(app, interval=_HEED_MS)  # Python hears a signal only while it runs
    heed.timeout.connect(_heed)
    heed.start()
    yield
    heed.deleteLater()
    for told, handler in before.items():
        signal.signal(told, handler)


@Slot()
def _close_all() -> None:
    for window in QApplication.topLevelWidgets():
        if isinstance(window, MainWindow):
            window.close_surely()
    QApplication.closeAllWindows()


@Slot()
def _heed() -> None:
    pass
