"""Writes the README's pictures: the program of today, on the demo shifts.

Run ``QT_QPA_PLATFORM=offscreen python -m tests.tools.make_screenshots [FOLDER [WIDTH HEIGHT]]``.
The pages of a printed record are made by ``pdftoppm``, and left out where that is not installed.
"""

import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path

from PySide6.QtWidgets import QApplication

from washmon import data
from washmon.gui.app import application
from washmon.gui.board_page import BoardPage
from washmon.gui.client import RecorderClient
from washmon.gui.kit import theme
from washmon.gui.logbook.logbook import Logbook
from washmon.gui.main_window import MainWindow
from washmon.gui.replay_room import ReplayRoom
from washmon.gui.rooms import Room
from washmon.gui.settings import Settings
from washmon.gui.setup_guide.guide import SetupGuide
from washmon.gui.trends.page import TrendsPage
from washmon.gui.trends.trends_views import COSTS
from washmon.line.events import Event, HoldPlaced, TankFilled
from washmon.line.flags import Level
from washmon.line.fold import fold
from washmon.line.kinds import EntryKind
from washmon.line.site_events import SetupSaved
from washmon.reports.printed import write_record
from washmon.sessions.file import Session, read
from washmon.store import Store

PICTURES = Path(__file__).parents[1] / "pictures"
CALM, MUDDY, WELL, MISTAKES = range(4)
PRINTED_DPI = 70
LONG_S = 90.0
"""A session is looked through once, before it can be played."""


def demo(place: int) -> Session:
    """Return one of the demo shifts."""
    return read(data.demo_sessions()[place])


def first(session: Session, is_it: Callable[[Event], bool]) -> datetime:
    """Return when something first happened in a shift."""
    return next(entry.event.at for entry in session.entries if is_it(entry.event))


def _fills_second(event: Event) -> bool:
    return isinstance(event, TankFilled) and event.second


def stand(store: Store, session: Session, until: datetime) -> None:
    """Journal a demo shift as far as it was written down at a moment."""
    kept = [entry for entry in session.entries if entry.recorded_at <= until]
    first = kept[0].event
    store.append("site", [SetupSaved(at=first.at, by=first.by, setup=session.setup)], first.at)
    for entry in kept:
        store.append(session.header.chain, [entry.event], entry.recorded_at)


class Studio:
    """A window at one size, and the shutter."""

    def __init__(self, folder: Path, size: tuple[int, int]) -> None:
        self.app: QApplication = application()
        theme.apply(self.app, theme.BRIGHT)
        self.folder = folder
        self.size = size
        folder.mkdir(parents=True, exist_ok=True)

    def settle(self, seconds: float = 2.0) -> None:
        """Let threads answer and everything be drawn."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            self.app.processEvents()
            time.sleep(0.005)

    def take(
        self, name: str, prepare: Callable[[MainWindow], None], *shifts: tuple[Session, datetime]
    ) -> None:
        """Open the window on these shifts as of the last one's moment, prepare it, and shoot."""
        with tempfile.TemporaryDirectory() as scratch:
            store = Store.open(Path(scratch) / "shed.db")
            for session, until in shifts:
                stand(store, session, until)
            now = shifts[-1][1] if shifts else datetime.now().astimezone()
            client = RecorderClient(store, clock=lambda: now)
            window = MainWindow(client, Settings(Path(scratch) / "shed.ini"))
            window.begin()
            window.resize(*self.size)  # whatever the screen: it is no screen that one looks at
            self.settle()
            prepare(window)
            self.settle()
            window.grab().save(str(self.folder / f"{name}.png"))
            window.close()
            self.settle(0.1)


def _nothing(_window: MainWindow) -> None:
    """Leave the window as it opens."""


def _in_trouble(window: MainWindow) -> None:
    """Let no picture of trouble be taken of a calm moment.

    Raises:
        SystemExit: the rules stop no tank at this moment of the demo shift.
    """
    flags = window.snapshot.advice.flags if window.snapshot else ()
    if not any(flag.level is Level.STOP for flag in flags):
        raise SystemExit("No tank is stopped at the moment of the picture in trouble.")


def _open_reading(window: MainWindow) -> None:
    page = window.rooms.page(Room.BOARD)
    assert isinstance(page, BoardPage)
    page.open_entry(EntryKind.READING, tank=1)


def _open_hold(window: MainWindow) -> None:
    page = window.rooms.page(Room.BOARD)
    assert isinstance(page, BoardPage)
    page.open_entry(EntryKind.HOLD, tank=1)


def _guide(window: MainWindow) -> SetupGuide:
    window.go(Room.GUIDE)
    guide = window.rooms.page(Room.GUIDE)
    assert isinstance(guide, SetupGuide)
    return guide


def _open_set_up(window: MainWindow) -> None:
    guide = _guide(window)
    guide.go_to(guide.pages.index(guide.tanks))


def _open_rules(window: MainWindow) -> None:
    guide = _guide(window)
    guide.go_to(guide.pages.index(guide.rules))


def _open_logbook(window: MainWindow) -> None:
    window.go(Room.LOGBOOK)


def _open_record(window: MainWindow) -> None:
    window.go(Room.LOGBOOK)
    page = window.rooms.page(Room.LOGBOOK)
    assert isinstance(page, Logbook)
    page.open_shift(demo(MISTAKES).header.chain)


def _open_replay(window: MainWindow) -> None:
    window.sessions.open_file(data.demo_sessions()[MUDDY])
    end = time.monotonic() + LONG_S
    app, room = QApplication.instance(), window.rooms.page(Room.REPLAY)
    assert isinstance(room, ReplayRoom)
    while app is not None and room._place is None and time.monotonic() < end:
        app.processEvents()
        time.sleep(0.005)
    room.client.play()
    room.client.seek(0.45)


def _open_trends(window: MainWindow) -> None:
    window.go(Room.TRENDS)


def _open_costs(window: MainWindow) -> None:
    window.go(Room.TRENDS)
    page = window.rooms.page(Room.TRENDS)
    assert isinstance(page, TrendsPage)
    page.quantity.put(COSTS)
    page.draw()


def _open_practice(window: MainWindow) -> None:
    window.go(Room.PRACTICE)


def _open_calculator(window: MainWindow) -> None:
    window.go(Room.CALCULATOR)


def print_record(folder: Path, session: Session) -> None:
    """Make a picture of each page of the printed record of a shift."""
    maker = shutil.which("pdftoppm")
    if maker is None:
        sys.stderr.write("Without pdftoppm the pages of the printed record are left out.\n")
        return
    with tempfile.TemporaryDirectory() as scratch:
        pdf = Path(scratch) / "record.pdf"
        write_record(pdf, fold(session.header.chain, session.entries))
        dpi = str(PRINTED_DPI)
        subprocess.run([maker, "-png", "-r", dpi, str(pdf), str(folder / "printed")], check=True)


def main(folder: Path, size: tuple[int, int]) -> None:
    """Take every picture."""
    studio = Studio(folder, size)
    calm, mistakes = demo(CALM), demo(MISTAKES)
    quiet = calm.entries[0].event.at + timedelta(hours=3, minutes=25)
    hold = first(mistakes, lambda event: isinstance(event, HoldPlaced))
    trouble, held = hold + timedelta(minutes=1, seconds=15), hold - timedelta(seconds=5)
    beside = first(calm, _fills_second) + timedelta(seconds=5)
    ended = [(demo(place), demo(place).entries[-1].event.at) for place in range(4)]
    studio.take("board-calm", _nothing, (calm, quiet))
    studio.take("board-trouble", _in_trouble, (mistakes, trouble))
    studio.take("second-fill", _nothing, (calm, beside))
    studio.take("holds", _open_hold, (mistakes, held))
    studio.take("reading", _open_reading, (calm, quiet))
    studio.take("set-up", _open_set_up, (calm, quiet))
    studio.take("rules", _open_rules, (calm, quiet))
    studio.take("logbook", _open_logbook, *ended)
    studio.take("record", _open_record, *ended)
    studio.take("trends", _open_trends, *ended)
    studio.take("costs", _open_costs, *ended)
    studio.take("practice", _open_practice, *ended)
    studio.take("replay", _open_replay, (calm, quiet))
    studio.take("calculator", _open_calculator, (calm, quiet))
    print_record(folder, calm)


if __name__ == "__main__":
    words = sys.argv[1:]
    main(
        Path(words[0]) if words else PICTURES,
        (int(words[1]), int(words[2])) if len(words) > 2 else (1366, 768),
    )
