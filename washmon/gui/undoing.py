"""Undo: one's own newest entry is taken back within two minutes, journaled as a correction."""

from datetime import datetime, timedelta

from PySide6.QtCore import Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.client import RecorderClient
from washmon.gui.context import Person
from washmon.gui.entry.asker import SheetAsker
from washmon.gui.i18n import tr
from washmon.gui.kit.entry_sheet import EntrySheet
from washmon.gui.kit.sheet_spec import FieldKind, FieldSpec, SheetSpec
from washmon.gui.kit.sheet_spec import TypedEntry as Typed
from washmon.line.events import Correctable, Corrected
from washmon.line.journal import Entry
from washmon.line.state import ShiftState
from washmon.planning.snapshot import Snapshot
from washmon.recorder import Saved
from washmon.rules.event_text import event_text

LASTS = timedelta(minutes=2)


def undoable(entry: Entry | None, shift: ShiftState, by: str, now: datetime) -> Entry | None:
    """Return the newest entry that a window made, where it may be undone.

    It must be of a kind that can be corrected, by whoever stands here, of the last two minutes,
    and not corrected yet. An older one never comes in its place.
    """
    if entry is None or not isinstance(entry.event, Correctable) or entry.event.by != by:
        return None
    fresh = timedelta(0) <= now - entry.recorded_at <= LASTS
    known = any(one.seq == entry.seq for one in reversed(shift.entries))
    return entry if fresh and known and entry.seq not in shift.corrections else None


class Undoing(SheetAsker):
    """Asks why, with a reason at hand, and takes the entry back.

    Its ``saved`` tells the correction; the sentence says what was undone.
    """

    def __init__(self, client: RecorderClient, parent: QWidget) -> None:
        self.sheet = EntrySheet(parent)
        super().__init__(client, parent, self.sheet)
        self._asked: tuple[Entry, ShiftState, Person] | None = None

    def open(self, entry: Entry, snapshot: Snapshot, person: Person) -> None:
        """Ask why an entry is undone: Enter takes the reason that is chosen already."""
        shift = snapshot.shift
        if shift is None or self.busy:
            return
        self._asked = (entry, shift, person)
        self._note_focus()
        what = event_text(entry.event, shift.setup, person.say)
        reasons = (
            tr("Entered by mistake"),
            tr("Wrong tank"),
            tr("Wrong value"),
            tr("Entered twice"),
        )
        choices = tuple((words, words) for words in reasons)
        fields = (
            FieldSpec("why", tr("Why"), kind=FieldKind.CHOICE, choices=choices, last=reasons[0]),
            FieldSpec("words", tr("or in other words"), kind=FieldKind.TEXT, aside=True),
        )
        self.sheet.open(SheetSpec(tr("Undo: {what}", what=what), fields, save=tr("Undo")))

    @Slot(object)
    def _submit(self, typed: Typed) -> None:
        if self._asked is None or self.busy:
            return
        entry, shift, person = self._asked
        reason = typed.values["words"] or typed.values["why"]
        undone = Corrected(
            at=self._client.clock(), by=person.initials, entry=entry.seq, reason=reason
        )
        self._sending.send(undone, person, chain=shift.chain, sure=typed.sure)

    @Slot(object)
    def _close(self, answer: Saved) -> None:
        self.sheet.shut()
        self._give_focus_back()
        if self._asked is not None:
            entry, shift, person = self._asked
            what = event_text(entry.event, shift.setup, person.say)
            self.saved.emit(answer.entry, tr("Undone: {what}", what=what))

    @Slot(object)
    def _refuse(self, faults: dict[str, str]) -> None:
        self.sheet.show_faults({}, " ".join(dict.fromkeys(faults.values())))
