"""Where a lot was sent, told on its page and taken back there, also long after its shifts."""

from collections.abc import Sequence
from typing import NamedTuple

from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext
from washmon.gui.entry.sending import Sending
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import hbox, vbox
from washmon.gui.kit.buttons import AnywayButton, PressButton, Rank
from washmon.gui.kit.form_fields import TextField
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.logbook.logbook_words import clock, day
from washmon.line.events import Corrected, LotSent
from washmon.reports.lots import LotRow


class Entered(NamedTuple):
    """An entry, by its shift and its place there."""

    chain: str
    seq: int


class SentBar(QWidget):
    """Writes an entry into each shift that has batches of the lot of which nobody told.

    Or takes one back that was wrong, with the reason.

    Signals:
        saved(): all of it is in the journal.
        left(): nothing was entered.
    """

    saved = Signal()
    left = Signal()

    def __init__(self, client: RecorderClient, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._client = client
        self._person: UserContext | None = None
        self._rows: list[LotRow] = []
        self._wrong: Entered | None = None
        self._sending = Sending(client, self)
        self.to = TextField("to", tr("Customer or load"))
        self.reference = TextField("reference", tr("Number of the document"))
        self.save = PressButton(tr("Save"), Rank.PRIMARY, then=self._save)
        self.cancel = PressButton(tr("Not now"), Rank.QUIET, then=self._leave)
        self.anyway = AnywayButton(tr("Save it all the same"), self)
        self.message = MessageLine(self)
        buttons = hbox(self.save, self.cancel, margins_px=(0, 20, 0, 0))
        fields = hbox((self.to, 2), (self.reference, 1), buttons, gap_px=12)
        fields.setAlignment(buttons, Qt.AlignmentFlag.AlignTop)
        vbox(fields, hbox((self.message, 1), self.anyway), on=self, gap_px=4)
        self._connect()
        self.hide()

    def _connect(self) -> None:
        self.anyway.clicked.connect(self._save_anyway)
        self.to.changed.connect(self._ask_anew)
        for field in (self.to, self.reference):
            field.editor.returnPressed.connect(self._save)
        self._sending.saved.connect(self._next)
        self._sending.refused.connect(self._refused)
        self._sending.doubted.connect(self._doubted)

    def open(self, rows: Sequence[LotRow], person: UserContext) -> None:
        """Ask where the batches went of which nobody told."""
        self._rows, self._person = [one for one in rows if one.not_recorded], person
        self._ask(None, tr("Customer or load"))

    def take_back(self, wrong: Entered, person: UserContext) -> None:
        """Ask why an entry is taken back."""
        self._rows, self._person = [], person
        self._ask(wrong, tr("Why it is taken back"))

    @property
    def unsaved(self) -> bool:
        """Whether something is written here that is not in the journal."""
        return not self.isHidden() and bool(self.to.text or self.reference.text)

    def meet(self, person: UserContext) -> None:
        """Let another person be who enters, if anything is asked."""
        self._person = person

    def _ask(self, wrong: Entered | None, label: str) -> None:
        self._wrong = wrong
        self.to.label.setText(label)
        self.to.editor.setAccessibleName(label)
        self.reference.setVisible(wrong is None)
        for field in (self.to, self.reference):
            field.put("")
            field.show_fault("")
        self._ask_anew()
        self.show()
        self.to.setFocus()

    @Slot()
    def _leave(self) -> None:
        self.hide()
        self.left.emit()

    @Slot()
    def _ask_anew(self) -> None:
        self.anyway.hide()
        self.message.hide()

    @Slot()
    def _save(self) -> None:
        self._send(sure=False)

    @Slot()
    def _save_anyway(self) -> None:
        self._send(sure=True)

    def _send(self, *, sure: bool) -> None:
        wrong, person = self._wrong, self._person
        if person is None or self._sending.busy or not (self._rows or wrong):
            return
        if not self.to.text:
            self.to.show_fault(tr("Write a few words here."))
            return
        now, by = self._client.clock(), person.initials
        if wrong is not None:
            back = Corrected(at=now, by=by, entry=wrong.seq, reason=self.to.text)
            self._sending.send(back, person, chain=wrong.chain, sure=sure)
            return
        row = self._rows[0]
        sent = LotSent(at=now, by=by, lot=row.code, to=self.to.text, reference=self.reference.text)
        self._sending.send(sent, person, chain=row.shift.chain, sure=sure)

    @Slot(object)
    def _next(self, _answer: object) -> None:
        del self._rows[:1]
        if self._rows:
            self._ask_anew()  # a doubt about one shift is none about the next
            self._send(sure=False)
        else:
            self.hide()
            self.saved.emit()

    @Slot(object)
    def _refused(self, faults: dict[str, str]) -> None:
        self.anyway.hide()
        self.to.show_fault(faults.get("to", ""))
        rest = [said for key, said in faults.items() if key != "to"]
        self.message.setVisible(bool(rest))
        self.message.warn(" ".join(rest))

    @Slot(object)
    def _doubted(self, doubts: tuple[str, ...]) -> None:
        said = " ".join(doubts)
        if self._rows:
            begun = self._rows[0].shift.started.at
            said = tr("{day} {time}: {doubts}", day=day(begun), time=clock(begun), doubts=said)
        self.message.show()
        self.message.doubt(said)
        self.anyway.show()
