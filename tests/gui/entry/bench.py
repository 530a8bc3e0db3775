"""A window with an entry client on a real recorder and a real database, and a clock to move."""

from datetime import datetime, timedelta
from pathlib import Path
from typing import Any, TypeVar

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

from tests.shed import START, a_setup
from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext
from washmon.gui.entry.entry_client import EntryClient
from washmon.line.events import Event, ShiftStarted
from washmon.line.journal import Entry
from washmon.line.kinds import EntryKind
from washmon.line.setup import LineSetup, Lot
from washmon.line.state import ShiftState
from washmon.planning.snapshot import Snapshot
from washmon.recorder import Saved
from washmon.store.store import Store

E = TypeVar("E")


class Bench:
    """What a test of the entry sheets stands at."""

    def __init__(self, qtbot: QtBot, folder: Path, setup: LineSetup | None = None) -> None:
        self.qtbot = qtbot
        self.now = START
        self.setup = setup or a_setup()
        self.store = Store.open(folder / "shed.db")
        self.client = RecorderClient(self.store, clock=self.clock)
        self.window = QWidget()
        qtbot.addWidget(self.window)
        self.window.resize(1366, 768)
        self.entry = EntryClient(self.client, self.window)
        self.sheet = self.entry.sheet
        self.snapshot = Snapshot(now=self.now)
        self.client.snapshot_changed.connect(self._see)
        with qtbot.waitSignal(self.client.snapshot_changed):
            self.client.start()
        self.said: list[str] = []
        self.entry.saved.connect(self._hear)
        self.window.show()

    def _hear(self, entry: Entry, sentence: str) -> None:
        del entry
        self.said.append(sentence)

    def _see(self, snapshot: Snapshot) -> None:
        self.snapshot = snapshot

    def clock(self) -> datetime:
        return self.now

    def wait(self, minutes: float) -> None:
        self.now += timedelta(minutes=minutes)

    @property
    def shift(self) -> ShiftState:
        assert self.snapshot.shift is not None
        return self.snapshot.shift

    @property
    def events(self) -> list[Event]:
        """All that people entered, in order."""
        return [one.event for one in self.shift.entries if one.event.by != "rules"]

    def last(self, kind: type[E]) -> E:
        """The newest entry, which must be of this kind."""
        newest = self.events[-1]
        assert isinstance(newest, kind)
        return newest

    @property
    def person(self) -> UserContext:
        return UserContext("RM", self.setup.taste)

    def begin(self) -> None:
        """Start a shift."""
        lots = (Lot(code="L-1", produce="baby chard"), Lot(code="L-2", produce="baby kale"))
        self.tell(ShiftStarted(at=self.now, by="RM", setup=self.setup, lots=lots))

    def tell(self, event: Event) -> Entry:
        """Put an event into the journal without a sheet; doubts are waved through."""
        with self.qtbot.waitCallback() as told:
            self.client.enter(event, told, sure=True)
        (answer,) = told.args
        assert isinstance(answer, Saved), answer
        self.qtbot.waitUntil(self._caught_up(answer.entry.seq))
        return answer.entry

    def _caught_up(self, seq: int) -> Any:
        return lambda: self.snapshot.shift is not None and self.snapshot.shift.last_seq >= seq

    def open(self, kind: EntryKind, **what: Any) -> None:
        self.entry.open(kind, self.snapshot, self.person, **what)

    def press(self, *keys: Qt.Key | str) -> None:
        """Press keys where the keyboard would go, texts sign by sign."""
        for key in keys:
            target = self.window.focusWidget() or self.sheet
            if isinstance(key, Qt.Key):
                QTest.keyClick(target, key)
            else:
                QTest.keyClicks(target, key)

    def saving(self) -> Any:
        """Wait until an entry is saved and the newest snapshot shows it."""
        return self.qtbot.waitSignals([self.entry.saved, self.client.snapshot_changed])

    def close(self) -> None:
        self.client.close()
