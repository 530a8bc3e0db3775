"""The Board with what stands below it: the quiet line, the row of entries, and their sheets."""

from typing import TYPE_CHECKING

from PySide6.QtCore import QTimer, Signal, Slot
from PySide6.QtWidgets import QVBoxLayout, QWidget

from washmon.gui.action_bar import Action, ActionBar
from washmon.gui.board.board import Board
from washmon.gui.context import Person
from washmon.gui.desk import Desk
from washmon.gui.entry.ask import EntryKind, kind_for
from washmon.gui.i18n import tr
from washmon.gui.toast import Toast
from washmon.line.events import Acknowledged, FlagShelved, FlagUnshelved, LineResumed
from washmon.line.flags import Flag
from washmon.line.journal import Entry
from washmon.planning.snapshot import Mode, Snapshot
from washmon.recorder import Failed, Refused

if TYPE_CHECKING:
    from washmon.gui.entry.desk import EntryDesk

WARM_UP_MS = 50
ENTRIES = {
    Action.READING: EntryKind.READING,
    Action.BATCH: EntryKind.BATCH,
    Action.DOSE: EntryKind.DOSE,
    Action.ACID: EntryKind.ACID,
    Action.WATER: EntryKind.WATER,
    Action.HOLD: EntryKind.HOLD,
    Action.NOTE: EntryKind.NOTE,
    Action.CORRECT: EntryKind.CORRECTION,
}


class BoardPage(QWidget):
    """Where a shift is run. What belongs to the window is passed on as ``action_asked``."""

    action_asked = Signal(str)

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self._snapshot: Snapshot | None = None
        self._person: Person | None = None
        self._last_saved: Entry | None = None
        self._seen_tickets: set[int] = set()
        self.board = Board(self)
        self.message = Toast(self.board, self)
        self.bar = ActionBar(self)
        self._entries: EntryDesk | None = None
        self._warm_up = QTimer(self, singleShot=True, interval=WARM_UP_MS)
        self._warm_up.timeout.connect(self._make_entries)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.board, 1)
        column.addWidget(self.bar)
        self.bar.asked.connect(self._ask)
        self.board.answer_asked.connect(self._answer)
        self.board.acknowledge_asked.connect(self._acknowledge)
        self.board.shelve_asked.connect(self._shelve)
        self.board.unshelve_asked.connect(self._bring_back)
        self.board.tank_chosen.connect(self._read_tank)
        self.message.acted.connect(self._correct_last)
        desk.answered.connect(self._say_answer)

    @property
    def entries(self) -> "EntryDesk":
        """The entry sheets; made after the first frame, or when one is asked for before."""
        return self._entries or self._make_entries()

    @Slot()
    def _make_entries(self) -> "EntryDesk":
        if self._entries is None:
            from washmon.gui.entry.desk import EntryDesk  # noqa: PLC0415 - start-up is measured

            self._entries = EntryDesk(self._desk, self)
            self._entries.saved.connect(self._say_saved)
        return self._entries

    def show_snapshot(self, snapshot: Snapshot, person: Person) -> None:
        """Draw a snapshot and leave pressable what can be entered now."""
        if self._snapshot is None:
            self._warm_up.start()
        self._snapshot, self._person = snapshot, person
        self.board.show_snapshot(snapshot, person)
        running = snapshot.shift is not None and snapshot.shift.ended is None
        writes = snapshot.mode is Mode.LIVE
        allowed = {Action.LOGBOOK}
        if running and writes:
            allowed = set(Action)
        self.bar.allow(frozenset(allowed))

    def open_entry(self, kind: EntryKind, *, tank: int | None = None) -> None:
        """Open the sheet for an entry, if a shift is there to take it."""
        if self._snapshot is None or self._person is None or self._snapshot.shift is None:
            return
        self.message.clear()
        self.entries.open(kind, self._snapshot, self._person, tank=tank)

    def pause_or_go_on(self) -> None:
        """Ask why the line is paused; one that stands still goes on at once."""
        shift = None if self._snapshot is None else self._snapshot.shift
        if shift is None or shift.paused is None or self._person is None:
            self.open_entry(EntryKind.PAUSE)
            return
        self.message.clear()
        going_on = LineResumed(at=self._desk.clock(), by=self._person.initials)
        self._seen_tickets.add(self._desk.enter(going_on))

    @Slot(str)
    def _ask(self, action: str) -> None:
        kind = ENTRIES.get(Action(action))
        if kind is None:
            self.action_asked.emit(action)
        else:
            self.open_entry(kind)

    @Slot(int)
    def _answer(self, tank: int) -> None:
        """Open the entry that says that what a tank's plan asks for was done."""
        if self._snapshot is None or self._person is None:
            return
        kind = kind_for(self._snapshot.advice.tank(tank).plan.now)
        if kind is not None:
            self.message.clear()
            self.entries.open(kind, self._snapshot, self._person, tank=tank, done=True)

    @Slot(int, str)
    def _acknowledge(self, tank: int, rule: str) -> None:
        if self._person is None:
            return
        seen = Acknowledged(at=self._desk.clock(), by=self._person.initials, tank=tank, rule=rule)
        self._seen_tickets.add(self._desk.enter(seen))

    @Slot(object)
    def _shelve(self, flag: Flag) -> None:
        if self._snapshot is None or self._person is None:
            return
        self.message.clear()
        self.entries.open(EntryKind.SHELVE, self._snapshot, self._person, flag=flag)

    @Slot(int, str)
    def _bring_back(self, tank: int, rule: str) -> None:
        if self._person is None:
            return
        back = FlagUnshelved(at=self._desk.clock(), by=self._person.initials, tank=tank, rule=rule)
        self._seen_tickets.add(self._desk.enter(back))

    @Slot(int)
    def _read_tank(self, tank: int) -> None:
        self.open_entry(EntryKind.READING, tank=tank)

    @Slot(object, str)
    def _say_saved(self, entry: Entry, said: str) -> None:
        self._last_saved = entry
        shelving = isinstance(entry.event, FlagShelved)  # it is brought back, not corrected
        self.message.say(said, "" if shelving else tr("Correct"))

    @Slot()
    def _correct_last(self) -> None:
        if self._last_saved is None or self._snapshot is None or self._person is None:
            return
        self.entries.open(
            EntryKind.CORRECTION, self._snapshot, self._person, correcting=self._last_saved
        )

    @Slot(int, object)
    def _say_answer(self, ticket: int, answer: object) -> None:
        """Say why what has no sheet, such as a flag that was seen, could not be entered."""
        if ticket not in self._seen_tickets or self._person is None:
            return
        self._seen_tickets.discard(ticket)
        match answer:
            case Refused():
                self.message.warn(self._person.say(answer.faults[0].message))
            case Failed():
                self.message.warn(self._person.say(answer.sentence))
