"""A room of practice over a real database, and hands for it."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from washmon.gui.client import RecorderClient
from washmon.gui.practice.bench_sheet import BenchSheet
from washmon.gui.practice.play_page import PlayPage
from washmon.gui.practice.practice_client import PracticeClient
from washmon.gui.practice.room import PracticeRoom
from washmon.line.journal import Entry
from washmon.sessions.practice.standing import Standings
from washmon.store.store import Store

NOW = datetime(2026, 5, 7, 14, 0).astimezone()


class Hands:
    """Works the room as a person would."""

    def __init__(self, qtbot: QtBot, path: Path) -> None:
        self.qtbot = qtbot
        self.now = NOW
        self.path = path
        self.client = RecorderClient(Store.open(path), clock=self.clock)
        self.client.start()
        self.room = PracticeRoom(self.client, standings=Standings(path.parent))
        qtbot.addWidget(self.room)
        self.room.resize(1366, 768)
        self.room.show()
        with qtbot.waitSignal(self.room.loaded):
            self.room.open()

    def clock(self) -> datetime:
        self.now += timedelta(seconds=1)
        return self.now

    @property
    def page(self) -> PlayPage:
        assert self.room.play is not None
        return self.room.play

    @property
    def practice(self) -> PracticeClient:
        return self.page.client

    @property
    def sheet(self) -> BenchSheet:
        sheet = self.page.board.entries.sheet
        assert isinstance(sheet, BenchSheet)
        return sheet

    def begin(self, level: int, who: str = "AB", showing: str = "on") -> None:
        choose = self.room.choose
        choose.table.selectRow(level - 1)
        choose.trainee.put(who)
        choose.showing.choose(showing)
        QTest.mouseClick(choose.begin, Qt.MouseButton.LeftButton)
        self.qtbot.waitUntil(self._has_shift)

    def _has_shift(self) -> bool:
        page = self.room.play
        return page is not None and page._snapshot is not None

    def press(self, *keys: Qt.Key | str) -> None:
        for key in keys:
            target = self.room.focusWidget() or self.page
            if isinstance(key, Qt.Key):
                QTest.keyClick(target, key)
            else:
                QTest.keyClicks(target, key)

    def click(self, button: Any) -> None:
        QTest.mouseClick(button, Qt.MouseButton.LeftButton)

    def jump(self) -> None:
        with self.qtbot.waitSignal(self.practice.jumped):
            self.click(self.page.bar.jump)

    def flags(self) -> set[tuple[int, str]]:
        snapshot = self.page._snapshot
        assert snapshot is not None
        return {flag.key for flag in snapshot.advice.flags}

    def calling(self) -> set[tuple[int, str]]:
        """What calls for somebody: flags, and plans that ask for a hand."""
        snapshot = self.page._snapshot
        assert snapshot is not None
        plans = {
            (one.tank, str(one.plan.now.kind)) for one in snapshot.advice.tanks if one.plan.hand
        }
        return self.flags() | plans

    def settled(self, count: int) -> None:
        """Wait until the journal as drawn has so many entries that people made."""
        self.qtbot.waitUntil(lambda: len(self.events()) >= count)

    def events(self) -> list[Entry]:
        snapshot = self.page._snapshot
        assert snapshot is not None
        assert snapshot.shift is not None
        return [one for one in snapshot.shift.entries if one.event.by not in {"rules", "trainer"}]

    def close(self) -> None:
        self.room.interrupt()
        self.client.close()


@pytest.fixture
def hands(qtbot: QtBot, tmp_path: Path) -> Iterator[Hands]:
    made = Hands(qtbot, tmp_path / "shed.db")
    yield made
    made.close()
