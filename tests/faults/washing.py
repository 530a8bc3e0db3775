"""A child that washes: the whole window, entries typed through its sheets, until it is killed."""

import os
from multiprocessing.connection import Connection
from pathlib import Path

os.environ["QT_QPA_PLATFORM"] = "offscreen"

from PySide6.QtCore import QObject, Slot
from PySide6.QtWidgets import QApplication

from tests.shed import a_setup, a_tank
from washmon.gui.board_page import BoardPage
from washmon.gui.client import RecorderClient
from washmon.gui.kit.sheet_spec import TypedEntry as Typed
from washmon.gui.main_window import MainWindow
from washmon.gui.rooms import Room
from washmon.gui.settings import Settings
from washmon.line.events import ShiftStarted, TankFilled
from washmon.line.journal import Entry
from washmon.line.kinds import EntryKind
from washmon.line.setup import Lot
from washmon.recorder import wall_clock
from washmon.store import Store


class Hand(QObject):
    """Types one reading after the other, and tells each that the window showed as saved."""

    def __init__(self, window: MainWindow, mouth: Connection) -> None:
        super().__init__(window)
        self._window = window
        self._mouth = mouth
        self._turn = 0
        page = window.rooms.page(Room.BOARD)
        assert isinstance(page, BoardPage)
        self._page = page
        page.entries.saved.connect(self.saved)
        window.client.snapshot_changed.connect(self.begin)

    @Slot(object)
    def begin(self, _snapshot: object) -> None:
        """Start typing when the first snapshot is there."""
        if self._turn == 0:
            self.type_one()

    @Slot(object, str)
    def saved(self, entry: Entry, _said: str) -> None:
        """Tell what the person was shown, then type the next."""
        self._mouth.send_bytes(f"{entry.seq} {entry.hash}".encode())
        self.type_one()

    def type_one(self) -> None:
        """Enter a reading through the sheet; every third is low, so that flags are journaled."""
        self._turn += 1
        self._page.open_entry(EntryKind.READING, tank=1)
        fac = "31" if self._turn % 3 == 0 else "50"
        values = {"fac_mg_l": fac, "fac_method": "kit", "ph": "7.0"}
        self._page.entries.sheet.submitted.emit(Typed("1", values, sure=True))


def wash_for_ever(path: Path, mouth: Connection) -> None:
    """Take up or begin the shift in a database and wash until killed."""
    app = QApplication([])
    store = Store.open(path)
    if store.running_shift() is None:
        now = wall_clock()
        setup = a_setup(a_tank(1, "First dunk"))
        begun = ShiftStarted(at=now, by="RM", setup=setup, lots=(Lot(code="L-1", produce="chard"),))
        filled = TankFilled(at=now, by="RM", tank=1, volume_l=500.0)
        store.append("shift-kill", [begun, filled], now)
    window = MainWindow(RecorderClient(store), Settings(path.with_suffix(".ini")))
    hand = Hand(window, mouth)  # before the first snapshot can come
    window.begin()
    app.exec()
    del hand
