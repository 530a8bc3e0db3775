"""Ties the entry sheet to the client: what is typed becomes an event, the answer comes back."""

from dataclasses import replace

from PySide6.QtCore import QTimer, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext
from washmon.gui.entry.ask import Ask
from washmon.gui.entry.asker import SheetAsker
from washmon.gui.entry.entry_list import EntryList, original
from washmon.gui.entry.forms import build, confirmation, has_more, sheet_for
from washmon.gui.entry.sending import saved_words
from washmon.gui.entry.sheet import MoreSheet
from washmon.gui.i18n import tr
from washmon.gui.kit.sheet_spec import TypedEntry as Typed
from washmon.line.flags import Flag
from washmon.line.journal import Entry
from washmon.line.kinds import EntryKind, entry_kind
from washmon.line.own_words import OwnWords
from washmon.line.state import ShiftState
from washmon.planning.snapshot import Snapshot
from washmon.recorder import Saved
from washmon.recorder.past import words_of_the_shed
from washmon.rules.event_text import event_text

SLOW_MS = 150
"""After so long it is said that an entry is being saved; most are saved by then."""


class EntryClient(SheetAsker):
    """Opens sheets over the lower half of ``parent`` and sends what is typed to the journal.

    What its ``saved`` tells is for the quiet line whose Correct button calls
    ``open(EntryKind.CORRECTION, ..., correcting=entry)``.
    """

    def __init__(self, client: RecorderClient, parent: QWidget) -> None:
        self.sheet = self.make_sheet(parent)
        super().__init__(client, parent, self.sheet)
        self._ask: Ask | None = None
        self._kind = EntryKind.READING
        self._own = OwnWords()
        self._words_of = ""
        self._slow = QTimer(self, singleShot=True, interval=SLOW_MS)
        self._slow.timeout.connect(self._say_saving)
        self.list = EntryList(parent)
        self.sheet.asked_more.connect(self._widen)
        self.list.picked.connect(self._correct)
        self.list.left.connect(self._leave)

    def make_sheet(self, parent: QWidget) -> MoreSheet:
        """Return the sheet that asks; practice has one of its own."""
        return MoreSheet(parent)

    @property
    def is_open(self) -> bool:
        """Whether a sheet or the list of entries is open."""
        return self.sheet.isVisible() or self.list.isVisible()

    def open(
        self,
        kind: EntryKind,
        snapshot: Snapshot,
        person: UserContext,
        *,
        tank: int | None = None,
        flag: Flag | None = None,
        correcting: Entry | None = None,
        done: bool = False,
    ) -> None:
        """Ask for an entry; does nothing while another is on its way to the disk.

        Args:
            kind: what is to be entered; for a correction without ``correcting`` it is chosen first.
            snapshot: with the shift that the entry goes to.
            person: who enters it.
            tank: the tank that was pressed, if one was.
            flag: the flag that this is about.
            correcting: the entry that was wrong; of a correction, the entry that it is about. If
                it is of a kind that can't be corrected, the list is shown instead.
            done: what the plan of ``tank`` asks for was done; its amount, batches or volume stand
                there already.

        Raises:
            ValueError: there is no shift.
        """
        if snapshot.shift is None:
            raise ValueError("There is no shift to enter into.")
        if self.busy:
            return
        now, shift = self._client.clock(), snapshot.shift
        tank = flag.tank if flag is not None and tank is None else tank
        self._ask = Ask(
            shift, person, now, snapshot.advice, tank, flag,
            done=done, forecasts=snapshot.forecasts, own=self._own,
        )  # fmt: skip
        self._note_focus()
        self.shut()
        wrong = original(snapshot.shift, correcting) if correcting is not None else None
        if wrong is not None:
            self._correct(wrong)
        elif kind is EntryKind.CORRECTION:
            self.list.open(snapshot.shift, person)
        else:
            self._kind = kind
            self.sheet.ask(sheet_for(kind, self._ask), more=has_more(kind))

    def repeat(self, kind: EntryKind, snapshot: Snapshot, person: UserContext) -> None:
        """Enter what the sheet of a kind holds already; it opens only where that is in doubt.

        Raises:
            ValueError: there is no shift.
        """
        if self.busy:
            return
        self.open(kind, snapshot, person)
        typed = Typed(self.sheet.tank, self.sheet.values())
        self.shut()
        self._give_focus_back()
        self._submit(typed)

    def learn_words(self, shift: ShiftState) -> None:
        """Ask the journal, once a shift, what this shed is used to write."""
        if shift.chain != self._words_of:
            self._words_of = shift.chain
            self._client.read(
                lambda store: words_of_the_shed(store, shift.chain, shift.started), self._know_words
            )

    @Slot(object)
    def _know_words(self, own: object) -> None:
        if isinstance(own, OwnWords):  # else the journal could not be read: others say so
            self._own = own

    def shut(self) -> None:
        """Close what is open, without telling."""
        self.sheet.shut()
        self.list.hide()

    @Slot(object)
    def _correct(self, entry: Entry) -> None:
        if self._ask is None:
            return
        self._ask = replace(self._ask, correcting=entry, flag=None, tank=None, done=False)
        old = self._ask.old
        if old is not None:
            self._kind = entry_kind(old)
            self.sheet.ask(sheet_for(self._kind, self._ask), more=has_more(self._kind))

    @Slot()
    def _widen(self) -> None:
        if self._ask is not None:
            self.sheet.widen(sheet_for(self._kind, self._ask, more=True))

    @Slot(object)
    def _submit(self, typed: Typed) -> None:
        if self._ask is None or self.busy:
            return
        ask = replace(self._ask, now=self._client.clock())
        made = build(self._kind, typed, ask)
        if isinstance(made, dict):
            self._refuse(made)
            return
        if not typed.sure and (question := confirmation(self._kind, made, ask)):
            self._doubt((question,))
            return
        self._slow.start()
        self._sending.send(made, ask.person, chain=ask.shift.chain, sure=typed.sure)

    @Slot()
    def _say_saving(self) -> None:
        if self.busy:
            self.sheet.message.say(tr("Saving…"))

    @Slot(object)
    def _close(self, answer: Saved) -> None:
        self.sheet.shut()
        self._give_focus_back()
        if self._ask is not None:
            self._own = self._own.with_entry(answer.entry)  # the next one may take these words
            setup, person = self._ask.shift.setup, self._ask.person
            said = event_text(answer.entry.event, setup, person.say)
            self.saved.emit(answer.entry, saved_words(answer, said))

    @Slot(object)
    def _doubt(self, sentences: tuple[str, ...]) -> None:
        self.sheet.show()  # it may have been left meanwhile, or not be open yet
        self.sheet.ask_doubt(sentences)

    @Slot(object)
    def _refuse(self, faults: dict[str, str]) -> None:
        """Say each fault beside its field, and in the sheet what belongs to no field there."""
        self.sheet.show()  # it may have been left meanwhile, and what was typed must not be lost
        fields = self.sheet.grid.fields
        general = dict.fromkeys(said for key, said in faults.items() if key not in fields)
        beside = {key: said for key, said in faults.items() if key in fields}
        self.sheet.show_faults(beside, " ".join(general))
