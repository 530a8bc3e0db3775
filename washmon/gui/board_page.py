"""The Board with the quiet line and the row of entries below it, and what keys do there."""

import time
from datetime import timedelta
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, QTimer, Signal, Slot
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QWidget

from washmon.gui.action_bar import Action, ActionBar
from washmon.gui.bench_sheets import BenchSheets
from washmon.gui.board.board import Board
from washmon.gui.board_sheets import BoardSheets
from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext
from washmon.gui.entry.ask import kind_for
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import vbox
from washmon.gui.kit.confirm import ask
from washmon.gui.kit.curtain import Curtain, Curtains
from washmon.gui.kit.key_burst import KeyBurst
from washmon.gui.quiet_entries import LASTS, PauseQuestion, QuietEntries, undoable
from washmon.gui.toast import Toast
from washmon.line.events import BatchWashed
from washmon.line.flag_events import FlagShelved
from washmon.line.flags import Flag
from washmon.line.journal import Entry
from washmon.line.kinds import EntryKind
from washmon.planning.snapshot import Mode, Snapshot

if TYPE_CHECKING:
    from washmon.gui.entry.entry_client import EntryClient

ENTRIES = {Action(kind.value): kind for kind in EntryKind if kind.value in list(Action)}
"""What those buttons of the row ask for that open a sheet."""


TOO_SOON_S = 2.0
"""Nobody washes the next batch within this time: a second press of the key is a glove's."""
_AGAIN = ("+", "=")
"""The key of the number block, and the one that makes it with Shift on many keyboards."""


class BoardPage(QWidget):
    """Where a shift is run.

    What belongs to the window is passed on as ``action_asked``, and the wish for its menu.
    """

    action_asked = Signal(str)
    more_asked = Signal()

    def __init__(self, client: RecorderClient, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(tr("Board"))
        self._client = client
        self._snapshot: Snapshot | None = None
        self._person: UserContext | None = None
        self._last_saved: Entry | None = None
        self._batch_at = float("-inf")
        self.board = Board(self)
        self.message = Toast(self.board, self)
        self.pause = PauseQuestion(self)
        self.bar = ActionBar(self)
        self.curtains = Curtains(self, self._all_curtains)
        self.sheets = self.make_sheets()
        self._quiet = QuietEntries(client, self)
        self.bench_sheets = BenchSheets(client, self)
        self._keys = KeyBurst(self)
        lasts_ms = round(LASTS / timedelta(milliseconds=1))
        self._undo_ends = QTimer(self, singleShot=True, interval=lasts_ms)
        vbox((self.board, 1), self.pause, self.bar, on=self, gap_px=0)
        self._connect()

    def _connect(self) -> None:
        self.bar.asked.connect(self._ask)
        self.bar.more_asked.connect(self.more_asked)
        self.board.answer_asked.connect(self._answer)
        self.board.acknowledge_asked.connect(self._acknowledge)
        self.board.shelve_asked.connect(self._shelve)
        self.board.unshelve_asked.connect(self._bring_back)
        self.board.tank_chosen.connect(self._read_tank)
        self.message.acted.connect(self._correct_last)
        self.pause.acted.connect(self.pause_or_go_on)
        self.sheets.saved.connect(self._say_saved)
        self.sheets.opening.connect(self.message.clear)
        self.bench_sheets.done.connect(self.message.say)
        self.bench_sheets.failed.connect(self.message.warn)
        self._keys.pressed.connect(self._press)
        self._keys.scanned.connect(self._scan)
        self._undo_ends.timeout.connect(self._name_undo)
        self._quiet.refused.connect(self.message.warn)

    def _all_curtains(self) -> list[Curtain]:
        return [self.bar.curtain, *(panel.curtain for panel in self.board.columns.panels)]

    def make_sheets(self) -> BoardSheets:
        """Return what opens the sheets; practice has its own."""
        return BoardSheets(self._client, self.board, self)

    @property
    def entries(self) -> "EntryClient":
        """The sheets of entries."""
        return self.sheets.entries

    @property
    def at_rest(self) -> bool:
        """Whether no sheet is open, and no field, list or button has the keyboard."""
        if self.board.why.isVisible() or self.sheets.is_open:
            return False
        focus = self.window().focusWidget()
        return focus is None or focus in (self, self.board, self.window()) or not focus.isVisible()

    def take_key(self, event: QKeyEvent) -> bool:
        """Take a key that nothing else wanted; tell whether it was of use.

        Esc puts the Board at rest, wherever the keyboard was left.
        """
        if not self.isVisible():
            return False
        if not self.at_rest:
            if event.key() == Qt.Key.Key_Escape and not self.sheets.is_open:
                self.setFocus()
                return True
            return False
        return self._keys.take(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Take Space and what a scanner types, where the Board is at rest."""
        if not self.take_key(event):
            super().keyPressEvent(event)

    @Slot(str)
    def _press(self, sign: str) -> None:
        if not self.at_rest:
            return
        first = self.board.first
        if sign == " " and first is not None:
            self._answer(first)
        elif sign in _AGAIN:
            self.bar.actions_[Action.AGAIN].trigger()

    @Slot(str)
    def _scan(self, code: str) -> None:
        """Open the sheet of a batch with the lot that was scanned, if the shift knows it."""
        shift = self._snapshot.shift if self._snapshot is not None else None
        if shift is None or not self.at_rest or not self.bar.allows(Action.BATCH):
            return
        if code not in shift.lot_codes:
            self.message.doubt(tr("No lot of this shift is called {code}.", code=code[:40]))
            return
        self.open_entry(EntryKind.BATCH)
        self.entries.sheet.field("lot").put(code)

    def show_snapshot(self, snapshot: Snapshot, person: UserContext) -> None:
        """Draw a snapshot and leave pressable what can be entered now."""
        self._snapshot, self._person = snapshot, person
        self.board.show_snapshot(snapshot, person)
        self.sheets.show_snapshot(snapshot, person)
        self.pause.show_snapshot(snapshot)
        running = snapshot.shift is not None and snapshot.shift.ended is None
        writes = snapshot.mode is Mode.LIVE
        self.bar.allow(frozenset(Action) if running and writes else frozenset({Action.LOGBOOK}))
        self._name_undo()
        self.curtains.renew()

    def open_entry(self, kind: EntryKind, *, tank: int | None = None) -> None:
        """Open the sheet for an entry, if a shift is there to take it."""
        self.sheets.open(kind, tank=tank)

    @property
    def _holds(self) -> bool:
        shift = None if self._snapshot is None else self._snapshot.shift
        return shift is not None and bool(shift.open_holds)

    def pause_or_go_on(self) -> None:
        """Ask why the line is paused; one that stands still goes on at once."""
        shift = None if self._snapshot is None else self._snapshot.shift
        if shift is None or shift.paused is None or self._person is None:
            self.open_entry(EntryKind.PAUSE)
            return
        self.message.clear()
        self._quiet.go_on(self._person)

    @Slot(str)
    def _ask(self, action: str) -> None:
        kind = ENTRIES.get(Action(action))
        if action == Action.UNDO:
            self._undo()
        elif action == Action.ROUND:
            self.sheets.open_round()
        elif action == Action.AGAIN:
            self._repeat_batch()
        elif action == Action.BENCH_SHEETS and self._snapshot is not None:
            self.bench_sheets.ask(self._snapshot)
        elif action == Action.DECIDE and not self._holds:
            self.message.doubt(tr("Nothing is on hold."))
        elif action == Action.WHAT_IF:
            self.sheets.ask_what_if(self.board.near(self.window().focusWidget()))
        elif kind is None:
            self.action_asked.emit(action)
        else:
            self.open_entry(kind)

    def _repeat_batch(self) -> None:
        """Enter the last batch once more; a key that bounces is asked about."""
        if time.monotonic() - self._batch_at > TOO_SOON_S:
            self.sheets.repeat(EntryKind.BATCH)
            return
        words = tr("A batch was saved just now. One more?")
        question = ask(self, words, tr("One more"), tr("No, that was it"))
        question.answered.connect(self._repeat_surely)

    @Slot(bool)
    def _repeat_surely(self, sure: bool) -> None:  # noqa: FBT001 - Qt's signal
        if sure:
            self.sheets.repeat(EntryKind.BATCH)

    @Slot(int)
    def _answer(self, tank: int) -> None:
        """Open the entry that says that what a tank's plan asks for was done.

        A step that changed just now is asked about: the hand may have meant the one before.
        """
        panel = self.board.panel(tank)
        if self.board.is_fresh(tank) and panel is not None:
            words = tr("This changed just now: {step}", step=panel.step.text)
            question = ask(self, words, tr("I did this"), tr("Back"))
            question.answered.connect(partial(self._answer_surely, tank))
        else:
            self._answer_surely(tank, True)

    def _answer_surely(self, tank: int, sure: bool) -> None:  # noqa: FBT001 - Qt's signal
        if not sure or self._snapshot is None or self._person is None:
            return
        kind = kind_for(self._snapshot.advice.tank(tank).plan.now)
        if kind is not None:
            self.sheets.open(kind, tank=tank, done=True)

    @Slot(int, str)
    def _acknowledge(self, tank: int, rule: str) -> None:
        if self._person is not None:
            self._quiet.acknowledge(self._person, tank, rule)

    @Slot(object)
    def _shelve(self, flag: Flag) -> None:
        self.sheets.open(EntryKind.SHELVE, flag=flag)

    @Slot(int, str)
    def _bring_back(self, tank: int, rule: str) -> None:
        if self._person is not None:
            self._quiet.bring_back(self._person, tank, rule)

    @Slot(int)
    def _read_tank(self, tank: int) -> None:
        self.open_entry(EntryKind.READING, tank=tank)

    @Slot(object, str)
    def _say_saved(self, entry: Entry, said: str) -> None:
        self._last_saved = entry
        if isinstance(entry.event, BatchWashed):
            self._batch_at = time.monotonic()
        if isinstance(tank := getattr(entry.event, "tank", None), int):
            self.board.note_entry(tank)
        self._undo_ends.start()
        self._name_undo()
        shelving = isinstance(entry.event, FlagShelved)  # it is brought back, not corrected
        self.message.say(said, "" if shelving else tr("Correct"))

    @Slot()
    def _correct_last(self) -> None:
        if self._last_saved is not None:
            self.sheets.open(EntryKind.CORRECTION, correcting=self._last_saved)

    @property
    def undoable(self) -> Entry | None:
        """What F8 takes back now; nothing where it opens the list of what can be corrected."""
        shift = self._snapshot.shift if self._snapshot is not None else None
        if shift is None or self._person is None or shift.ended is not None:
            return None
        return undoable(self._last_saved, shift, self._person.initials, self._client.clock())

    @Slot()
    def _name_undo(self) -> None:
        self.bar.name_undo(tr("Correct") if self.undoable is None else tr("Undo"))

    def _undo(self) -> None:
        entry = self.undoable
        if entry is None:
            self.open_entry(EntryKind.CORRECTION)
        else:
            self.sheets.undo(entry)
