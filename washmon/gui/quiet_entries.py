"""What is entered without a sheet: flags seen, undo, and whether a paused line runs again."""

from datetime import datetime, timedelta

from PySide6.QtCore import QObject, Signal, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext
from washmon.gui.entry.asker import SheetAsker
from washmon.gui.i18n import tr
from washmon.gui.kit.entry_sheet import EntrySheet
from washmon.gui.kit.message_line import Notice
from washmon.gui.kit.sheet_spec import FieldKind, FieldSpec, SheetSpec
from washmon.gui.kit.sheet_spec import TypedEntry as Typed
from washmon.line.events import Correctable, Corrected, Event, LineResumed, Pause
from washmon.line.flag_events import Acknowledged, FlagUnshelved
from washmon.line.journal import Entry
from washmon.line.state import ShiftState
from washmon.planning.snapshot import Mode, Snapshot
from washmon.recorder import Answer, Failed, Refused, Saved
from washmon.rules.event_text import event_text


class QuietEntries(QObject):
    """Sends them, and says only why one was not taken.

    Signals:
        refused(str): a sentence.
    """

    refused = Signal(str)

    def __init__(self, client: RecorderClient, parent: QObject) -> None:
        super().__init__(parent)
        self._client = client
        self._person: UserContext | None = None

    def acknowledge(self, person: UserContext, tank: int, rule: str) -> None:
        """Somebody has seen a flag."""
        seen = Acknowledged(at=self._client.clock(), by=person.initials, tank=tank, rule=rule)
        self._send(seen, person)

    def bring_back(self, person: UserContext, tank: int, rule: str) -> None:
        """Somebody wants a shelved flag back."""
        back = FlagUnshelved(at=self._client.clock(), by=person.initials, tank=tank, rule=rule)
        self._send(back, person)

    def go_on(self, person: UserContext) -> None:
        """The line goes on after a pause."""
        on = LineResumed(at=self._client.clock(), by=person.initials)
        self._send(on, person)

    def _send(self, event: Event, person: UserContext) -> None:
        self._person = person
        self._client.enter(event, self._answer)

    def _answer(self, answer: Answer) -> None:
        person = self._person
        match answer:
            case Refused() if person is not None:
                self.refused.emit(person.say(answer.faults[0].message))
            case Failed() if person is not None:
                self.refused.emit(person.say(answer.sentence))


BREAK = timedelta(minutes=30)
"""So long a break usually is at most (common practice, no published source)."""
REPAIR = timedelta(minutes=60)
"""So long until somebody should look at a line that broke down, or stands for a reason of its own
(common practice, no published source)."""


class PauseQuestion(Notice):
    """Stands over the keys from then on until the line goes on; ``acted`` says that it does."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._asked: int | None = None

    def show_snapshot(self, snapshot: Snapshot) -> None:
        """Ask about a pause that has lasted long; fall silent when it is over."""
        shift = snapshot.shift
        paused = shift.paused if shift is not None and shift.ended is None else None
        if paused is None or snapshot.mode is not Mode.LIVE:
            self._asked = None
            self.clear()
            return
        usual = BREAK if paused.placed.reason == Pause.BREAK else REPAIR
        if self._asked != paused.seq and snapshot.now - paused.placed.at >= usual:
            self._asked = paused.seq
            since = f"{paused.placed.at:%H:%M}"
            self.say(
                tr("Paused since {time}. Is the line running again?", time=since),
                tr("Yes, it runs"),
            )


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
        self._asked: tuple[Entry, ShiftState, UserContext] | None = None

    def open(self, entry: Entry, snapshot: Snapshot, person: UserContext) -> None:
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
