"""Every page of the window, on an invented line of any number of tanks: to be looked at."""

import hashlib
import time
from collections.abc import Callable
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TypeVar

from msgspec.structs import replace
from PySide6.QtCore import QEvent
from PySide6.QtWidgets import QApplication, QWidget

from tests.shed import Shed, a_setup, a_tank
from washmon import data
from washmon.gui.board_page import BoardPage
from washmon.gui.client import RecorderClient
from washmon.gui.kit.confirm import ConfirmQuestion, ask
from washmon.gui.main_window import MainWindow
from washmon.gui.page import Page
from washmon.gui.practice.room import PracticeRoom
from washmon.gui.rooms import Room
from washmon.gui.settings import Settings
from washmon.line.events import BatchWashed, Method, NoteWritten, ShiftEnded
from washmon.line.flag_events import Acknowledged
from washmon.line.flags import Amount
from washmon.line.kinds import EntryKind
from washmon.line.registers import Container, Device, Pack, Paper, PaperKind, Thing
from washmon.line.setup import LineSetup, Stage
from washmon.line.site_events import SetupSaved, ThingRegistered
from washmon.store.store import Store

NAMES = (
    "Dump tank",
    "First dunk",
    "Second dunk",
    "Third dunk",
    "Long flume",
    "Polish flume",
    "Hand-sort tub",
)
_LABEL = b"%PDF-1.4 an invented label\n" * 9000
RUNNING, PAST = "shift-now", "shift-before"
P = TypeVar("P", bound=QWidget)
Open = Callable[[MainWindow], object]


def a_line(count: int) -> LineSetup:
    """Return a line of so many tanks, the last a rinse where there are several."""
    tanks = [a_tank(at, NAMES[at - 1]) for at in range(1, max(count, 2))]
    if count > 1:
        tanks.append(a_tank(count, "Last rinse", Stage.RINSE))
    return a_setup(*tanks)


def a_busy_shift(count: int, start: datetime) -> Shed:
    """Return a shift in which one tank is low, one high in pH, one waits, and a batch is held."""
    shed = Shed(a_line(count), start=start)
    tanks = tuple(range(1, count + 1))
    for tank in tanks:
        shed.fill(tank)
        shed.dose(tank, ml=200)
    shed.wait(6)
    for tank in tanks:
        shed.read(tank, 50, ph=7.0, water_c=9.0, turbidity_ntu=5.0)
    batches = shed.wash(4, tanks=tanks)
    shed.tell(NoteWritten(at=shed.now, by="TK", text="muddy crates from the lower field"))
    for tank in tanks:
        shed.read(tank, 44 - 2 * tank % 7, ph=7.1, turbidity_ntu=14.0)
    shed.wash(3, tanks=tanks)
    shed.look()
    shed.read(1, 29, method=Method.STRIP, ph=7.2, turbidity_ntu=41.0)
    if count > 1:
        shed.read(2, 44, ph=7.8, water_c=9.0)
    shed.hold(batches[-1].seq)
    if count > 2:
        shed.dose(3, ml=70)
    shed.look()
    shed.tell(Acknowledged(at=shed.now, by="RM", tank=1, rule="chlorine-low"))
    shed.wait(2)
    return shed


def keep(path: Path, count: int, now: datetime) -> None:
    """Journal a past shift and one that runs until ``now``."""
    past, shed = a_busy_shift(count, now - timedelta(days=1)), a_busy_shift(count, now)
    past.tell(ShiftEnded(at=past.now, by="RM"))
    begun = past.shift.started.at
    with Store.open(path) as store:
        store.append("site", [SetupSaved(at=begun, by="RM", setup=past.shift.setup)], begun)
        papers = path.with_name(f"{path.stem}-papers")
        papers.mkdir(mode=0o700, exist_ok=True)
        (papers / hashlib.sha256(_LABEL).hexdigest()).write_bytes(_LABEL)
        told = [ThingRegistered(at=begun, by="RM", what=one) for one in registered(begun.date())]
        store.append("site", told, begun)
        for chain, kept in ((PAST, past), (RUNNING, shed)):
            for entry in kept.shift.entries:
                store.append(chain, [entry.event], entry.recorded_at)


def registered(today: date) -> tuple[Thing, ...]:
    """Return registers in which something presses of each kind."""

    def ago(days: int) -> date:
        return today - timedelta(days=days)

    meter = Device(
        key="Meter A", name="Meter A", serial="PH-0417", measures=("ph", "water_c"), check_days=7
    )
    strips = Pack(key="Strips", name="Strips 0 to 200", lot="26-118", measures=("fac_mg_l",))
    drum = Container(
        key="Drum 7", name="Drum", lot="B-2207", product="bleach", full=Amount(20_000, "mL")
    )
    return (
        replace(meter, checked_on=ago(2)),
        replace(meter, key="Meter B", name="Meter B", serial="PH-0533", checked_on=ago(12)),
        replace(meter, key="Old", name="Meter C", serial="PH-0102", retired_on=ago(90)),
        replace(strips, opened_on=ago(30), use_by=ago(-9)),
        replace(strips, key="Old strips", lot="25-007", opened_on=ago(300), use_by=ago(3)),
        replace(drum, opened_on=ago(20), use_by=ago(-40), reorder_at=50_000.0),
        replace(drum, key="Drum 8", lot="B-2231", use_by=ago(-70), strength=10.0),
        Paper(
            key="Label",
            name="Label of the hypochlorite",
            kind=PaperKind.LABEL,
            sha256=hashlib.sha256(_LABEL).hexdigest(),
            size=len(_LABEL),
            file="label-front-and-back.pdf",
            review_on=ago(-20),
        ),
    )


def settle(seconds: float = 0.0, until: Callable[[], bool] | None = None) -> None:
    """Let threads answer and everything be drawn, at most so long."""
    app, end = QApplication.instance(), time.monotonic() + seconds
    assert app is not None
    app.processEvents()
    while time.monotonic() < end and not (until is not None and until()):
        app.processEvents()
        time.sleep(0.002)
    app.processEvents()
    app.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)


def open_window(folder: Path, count: int, now: datetime) -> MainWindow:
    """Open the window on a shift that runs; its clock stands still."""
    keep(folder / "shed.db", count, now)
    moment = a_busy_shift(count, now).now
    client = RecorderClient(Store.open(folder / "shed.db"), clock=lambda: moment)
    window = MainWindow(client, Settings(folder / "shed.ini"))
    window.begin()
    settle(10, lambda: window.snapshot is not None and window.is_running)
    settle(10, lambda: _board(window).board.view is not None)
    return window


def _board(window: MainWindow) -> BoardPage:
    return window.rooms.page(Room.BOARD)


def _on_board(do: Callable[[BoardPage], object]) -> Open:
    def open_it(window: MainWindow) -> None:
        window.rooms.enter(Room.BOARD)
        page = _board(window)
        page.sheets._clear()
        page.board.why.shut()
        do(page)

    return open_it


def _sheet(kind: EntryKind) -> Open:
    return _on_board(lambda page: page.open_entry(kind, tank=1))


def _correct(page: BoardPage) -> None:
    shift = page._snapshot.shift if page._snapshot is not None else None
    assert shift is not None
    entry = next(one for one in reversed(shift.entries) if isinstance(one.event, BatchWashed))
    page.sheets.open(EntryKind.CORRECTION, correcting=entry)


def _shelve(page: BoardPage) -> None:
    assert page.board.view is not None
    flag = next(one.flag for one in page.board.view.flags if one.can_shelve)
    page.sheets.open(EntryKind.SHELVE, flag=flag)


def _question(page: BoardPage) -> None:
    ask(page, "This changed just now: add 92 mL hypochlorite, stir", "I did this", "Back")


def _go(page: Page[P], do: Callable[[P], object] = lambda page: page) -> Open:
    def open_it(window: MainWindow) -> None:
        window.go(page)
        do(window.rooms.page(page))

    return open_it


def _reading(window: MainWindow) -> None:
    window.go(Room.REVIEW)
    page = window.rooms.page(Room.REVIEW)
    settle(10, lambda: bool(page.queue.waiting))
    page.read(PAST)
    settle(10, lambda: bool(page.reading.parts))


def _guide(at: int) -> Open:
    def open_it(window: MainWindow) -> None:
        if window.rooms.room is not Room.GUIDE:
            window.go(Room.GUIDE)
        window.rooms.page(Room.GUIDE).go_to(at)

    return open_it


def _practice(do: Callable[[PracticeRoom], object]) -> Open:
    """Practise while a shift runs, which the menu refuses: here it is only looked at."""

    def open_it(window: MainWindow) -> None:
        room = window.enter(Room.PRACTICE)
        room.open()
        do(room)

    return open_it


def _edit(at: int) -> Open:
    def open_it(window: MainWindow) -> None:
        room = window.enter(Room.PRACTICE)
        if room.pages.currentWidget() is not room.editor:
            room.open_shelf()
            room.shelf.trials.stop()
            room.shelf.table.selectRow(1)
            room.shelf.edit.click()
        room.editor.go_to(at)

    return open_it


def _shelf(room: PracticeRoom) -> None:
    room.open_shelf()
    room.shelf.trials.stop()


SHEETS = {
    EntryKind.READING,
    EntryKind.BATCH,
    EntryKind.DOSE,
    EntryKind.ACID,
    EntryKind.WATER,
    EntryKind.HOLD,
    EntryKind.RELEASE,
    EntryKind.NOTE,
    EntryKind.PAUSE,
    EntryKind.INSTRUMENT,
    EntryKind.SENT,
    EntryKind.HAND_OVER,
    EntryKind.CORRECTION,
}


def show(window: MainWindow, page: str) -> None:
    """Go to a page, from wherever one is; a question that was left open is answered by no."""
    for question in window.findChildren(ConfirmQuestion):
        question.no.click()
    PAGES[page](window)
    settle()


PAGES: dict[str, Open] = {
    "board": _on_board(lambda page: page.setFocus()),
    "why": _on_board(lambda page: page.board.explain(1)),
    **{f"sheet {kind}": _sheet(kind) for kind in sorted(SHEETS)},
    "sheet correcting a batch": _on_board(_correct),
    "sheet shelve": _on_board(_shelve),
    "round": _on_board(lambda page: page.sheets.open_round()),
    "question": _on_board(_question),
    "ready": _go(Room.READY),
    "registers": _go(Room.REGISTERS),
    "training": _go(Room.TRAINING),
    "course of training": _go(Room.TRAINING, lambda page: page.list.change.click()),
    "register an instrument": _go(Room.REGISTERS, lambda page: page.list.add_asked.emit("")),
    "file a paper": _go(Room.REGISTERS, lambda page: page.list.add_asked.emit("paper")),
    "records asked for": _go(Room.REGISTERS, lambda page: page.list.lacking_asked.emit()),
    "register a container": _go(Room.REGISTERS, lambda page: page.list.add_asked.emit("container")),
    "start": _go(Room.START),
    "filling": _go(Room.FILLING),
    "end": _go(Room.END),
    "summary": lambda window: window.enter(Room.SUMMARY).open(PAST, window.person),
    "logbook": _go(Room.LOGBOOK, lambda page: page.show_list()),
    "record": _go(Room.LOGBOOK, lambda page: page.open_shift(PAST)),
    "lot": _go(Room.LOGBOOK, lambda page: page.trace_lot("L-1")),
    "review": _go(Room.REVIEW),
    "all lines": _go(Room.LINES),
    "review reading": _reading,
    "trends": _go(Room.TRENDS),
    "import": _go(Room.IMPORT),
    "replay": lambda window: window.sessions.open_file(data.demo_sessions()[0]),
    "practice": _practice(lambda room: room.choose),
    "scenarios": _practice(_shelf),
    **{f"scenario {at + 1}": _edit(at) for at in range(7)},
    "calculator": _go(Room.CALCULATOR),
    "pins": _go(Room.PINS),
    "changes": _go(Room.CHANGES),
    "help": _go(Room.HELP),
    **{f"set-up {at + 1}": _guide(at) for at in range(8)},
}
"""The pages by name, and how each is opened; what is opened from one is left with the next."""
