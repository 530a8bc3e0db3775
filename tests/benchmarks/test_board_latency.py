"""From Enter to the drawn Board, at the end of a long shift, against its two bare ingredients."""

import sqlite3
import statistics
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path
from typing import NamedTuple, Self

import numpy as np
import pyqtgraph as pg
import pytest
from PySide6.QtCore import QEvent, QEventLoop, QObject, Qt, Slot
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget

from tests.benchmarks.ratio import TRIES
from tests.shed import a_setup, a_tank
from washmon.gui.board_page import BoardPage
from washmon.gui.client import RecorderClient
from washmon.gui.kit import theme
from washmon.gui.kit.curtain import Curtain
from washmon.gui.kit.trend import Trend
from washmon.gui.main_window import MainWindow
from washmon.gui.rooms import Room
from washmon.gui.settings import Settings
from washmon.line.events import BatchWashed, Event, Method, ReadingTaken, ShiftStarted, TankFilled
from washmon.line.kinds import EntryKind
from washmon.line.setup import Lot
from washmon.line.site_events import SetupSaved
from washmon.recorder import wall_clock
from washmon.store.store import Store

TANKS = 6
EVENTS = 1500
HOURS = 10
ROUNDS = 25
WORK = 6.5
"""So many times the processor time of its bare ingredients an entry may take."""
LAPTOP_PX = (1366, 768)
WAIT = QEventLoop.ProcessEventsFlag.WaitForMoreEvents
"""As the program does between events: a loop that spins takes time from the recorder's thread."""


def a_long_shift() -> tuple[list[Event], list[Event]]:
    """Return the set-up's event, and ten hours on six tanks that end a minute ago."""
    numbers = tuple(range(1, TANKS + 1))
    setup = a_setup(*(a_tank(number, f"Tank {number}", batches_per_fill=900) for number in numbers))
    end = wall_clock() - timedelta(minutes=1)
    at = end - timedelta(hours=HOURS)
    begun = ShiftStarted(at=at, by="RM", setup=setup, lots=(Lot(code="L-1", produce="chard"),))
    events: list[Event] = [begun]
    events += [TankFilled(at=at, by="RM", tank=n, volume_l=500) for n in numbers]
    pause = (end - at) / (EVENTS - len(events))
    turn = 0
    while len(events) < EVENTS:
        at += pause
        turn += 1
        if turn % 4 == 0:
            events.append(BatchWashed(at=at, by="RM", tanks=numbers, lot="L-1"))
        else:
            fac = 50.0 + 5 * (turn % 3 - 1) + turn // TANKS % 5  # no two alike, as by hand
            events.append(
                ReadingTaken(
                    at=at,
                    by="RM",
                    tank=turn % TANKS + 1,
                    fac_mg_l=fac,
                    fac_method=Method.KIT,
                    ph=7.0,
                    turbidity_ntu=20.0,
                )
            )
    return [SetupSaved(at=begun.at, by="RM", setup=setup)], events


@contextmanager
def opened(app: QApplication, folder: Path) -> Iterator[MainWindow]:
    """Open the window on a shift that is ten hours old."""
    theme.apply(app, theme.BRIGHT)
    store = Store.open(folder / "shed.db")
    saved, events = a_long_shift()
    store.append("site", saved, wall_clock())
    store.append("shift-long", events, wall_clock())
    settings = Settings(folder / "shed.ini")
    settings.sound = False  # a key that hushes an alarm does nothing else
    window = MainWindow(RecorderClient(store), settings)
    window.begin()
    window.resize(*LAPTOP_PX)  # all six panels are seen, whatever the screen of the machine
    while window.snapshot is None or window.rooms.room is not Room.BOARD:
        app.processEvents()
    while len(window.snapshot.forecasts) < TANKS:  # ten hours are followed once
        app.processEvents()
    settle(app)
    yield window
    window.close()
    window.deleteLater()
    QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)


class Took(NamedTuple):
    """A time by the clock, and how long processors worked for this program in it."""

    wall_s: float
    work_s: float

    @classmethod
    def by_now(cls) -> Self:
        """Return the time as it is."""
        return cls(time.perf_counter(), time.process_time())

    def since(self) -> "Took":
        """Return what has passed since this time."""
        return Took(time.perf_counter() - self.wall_s, time.process_time() - self.work_s)


class Painted(QObject):
    """Knows whether a plot was painted, and no sheet over it, since what stands in it changed."""

    def __init__(self, plot: pg.GraphicsView, sheet: QWidget | None = None) -> None:
        super().__init__()
        self.is_new = False
        self._changed, self._sheet = False, sheet
        plot.scene().changed.connect(self._change)
        plot.viewport().installEventFilter(self)

    @Slot(object)
    def _change(self, _where: object) -> None:
        self._changed = True

    def eventFilter(self, _watched: QObject, event: QEvent) -> bool:  # noqa: N802 - Qt's name
        if event.type() is QEvent.Type.Paint:
            bare = self._sheet is None or not self._sheet.isVisible()
            self.is_new = self._changed and bare
        return False


def settle(app: QApplication) -> None:
    """Let everything that waits be drawn."""
    for _ in range(5):
        app.processEvents()


def entered(app: QApplication, window: MainWindow, page: BoardPage, value: str) -> Took:
    """Type a reading of tank 1 and return the time from the last Enter to the painted trend."""
    page.open_entry(EntryKind.READING, tank=1)
    sheet = page.entries.sheet
    while not sheet.isVisible():
        app.processEvents()
    for text in (value, "7.0", "20"):
        target = app.focusWidget()
        assert target is not None
        QTest.keyClicks(target, text)
        if text != "20":
            QTest.keyClick(target, Qt.Key.Key_Return)
    target = app.focusWidget()
    assert target is not None
    settle(app)
    while any(curtain.is_due for curtain in page.findChildren(Curtain)):
        app.processEvents()  # a hand types for seconds; meanwhile pictures are taken
    before = window.snapshot.shift.last_seq if window.snapshot and window.snapshot.shift else -1
    trend = page.board.columns.panels[0].findChild(Trend)
    assert trend is not None
    plot = trend.findChild(pg.GraphicsView)
    assert plot is not None
    painted = Painted(plot, sheet)
    start = Took.by_now()
    QTest.keyClick(target, Qt.Key.Key_Return)
    while not painted.is_new:
        app.processEvents(WAIT)
        assert start.since().wall_s < 10, "no answer"
    took = start.since()
    assert window.snapshot is not None
    assert window.snapshot.shift is not None
    assert window.snapshot.shift.last_seq > before
    return took


def rested(app: QApplication, window: MainWindow, page: BoardPage, value: str) -> Took:
    """Enter a reading, then let the forecast that follows it be drawn, as no hand is so fast."""
    before = window.snapshot.forecasts[1].readings if window.snapshot else 0
    took = entered(app, window, page, value)
    while window.snapshot and window.snapshot.forecasts[1].readings == before:
        app.processEvents()
    settle(app)
    return took


def bare_times(app: QApplication, path: Path) -> list[Took]:
    """Return times of one durable commit and one redraw of the same curve, with nothing around."""
    db = sqlite3.connect(path, isolation_level=None)
    db.execute("PRAGMA journal_mode=WAL")
    db.execute("PRAGMA synchronous=FULL")
    db.execute("CREATE TABLE IF NOT EXISTS journal (seq INTEGER PRIMARY KEY, body BLOB)")
    batches = np.linspace(0, 370, 190)
    plot = pg.PlotWidget()
    plot.resize(330, 280)
    curve = plot.plot(batches, batches, symbol="o", antialias=True)
    plot.show()
    settle(app)
    times = []
    for turn in range(ROUNDS):
        painted = Painted(plot)
        start = Took.by_now()
        db.execute("BEGIN IMMEDIATE")
        db.execute("INSERT INTO journal (body) VALUES (?)", (b"x" * 300,))
        db.execute("COMMIT")
        curve.setData(batches, 50 + 5 * np.sin(batches + turn))
        while not painted.is_new:
            app.processEvents(WAIT)
        times.append(start.since())
    plot.close()
    db.close()
    return times


def lower_quartile(times: list[Took]) -> Took:
    """Return what three in four are slower than: the rest of the machine adds, it never takes."""
    walls, works = zip(*times, strict=True)
    return Took(statistics.quantiles(walls, n=4)[0], statistics.quantiles(works, n=4)[0])


def measured(app: QApplication, folder: Path) -> Took:
    """Return how many times as long as its bare ingredients an entry takes to the drawn Board."""
    folder.mkdir()
    bare = bare_times(app, folder / "bare.db")
    with opened(app, folder) as window:
        page = window.rooms.page(Room.BOARD)
        assert isinstance(page, BoardPage)
        ours = [rested(app, window, page, str(48 + turn % 4)) for turn in range(ROUNDS)]
    bare += bare_times(app, folder / "bare.db")  # so that a slow spell hits both
    mine, base = lower_quartile(ours), lower_quartile(bare)
    ratio = Took(mine.wall_s / base.wall_s, mine.work_s / base.work_s)
    sys.stdout.write(
        f"Enter to drawn Board {1000 * mine.wall_s:.1f} ms, bare commit and redraw "
        f"{1000 * base.wall_s:.1f} ms, ratio {ratio.wall_s:.2f}; of processor time "
        f"{1000 * mine.work_s:.1f} and {1000 * base.work_s:.1f} ms, ratio {ratio.work_s:.2f}\n"
    )
    return ratio


@pytest.mark.benchmark_ratio
def test_enter_to_drawn_board_stays_near_a_commit_and_a_redraw(
    qapp: QApplication, tmp_path: Path
) -> None:
    found = []
    for turn in range(TRIES):  # whatever else the machine does can only make it look slower
        found.append(measured(qapp, tmp_path / str(turn)))
        if found[-1].wall_s < 7 and found[-1].work_s < WORK:
            break
    # Of processor time, which a busy machine lengthens less, 4.5 to 5.4. By the clock 3 to 10 on
    # two cores that eight processes want: there a commit takes from 5 to 20 ms. The aim is 1.6.
    assert min(one.work_s for one in found) < WORK
    assert min(one.wall_s for one in found) < 10
