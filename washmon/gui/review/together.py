"""Signing the shifts in which nothing deviates, each with a signature of its own."""

from collections.abc import Sequence
from typing import NamedTuple

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext
from washmon.gui.entry.sending import Sending
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import vbox
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.text import Text
from washmon.gui.logbook.record_parts import ReadShift
from washmon.gui.logbook.signature_fields import SignatureFields
from washmon.line.events import ShiftReviewed
from washmon.line.setup import Role
from washmon.line.signing import MAY_REVIEW

_NAMED = 4


class SignableShift(NamedTuple):
    """A shift in which nothing deviates, as it was read."""

    chain: str
    head: str
    title: str


class TogetherBar(QWidget):
    """Asks once who signs, then sends a review for each shift.

    One that changed since it was read is refused by the recorder, as is one that deviates.

    Signals:
        done(int, object): so many are signed; sentences about those that are not.
        left(): nothing was signed.
    """

    done = Signal(int, object)
    left = Signal()

    def __init__(self, client: RecorderClient, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._client = client
        self._person: UserContext | None = None
        self._roles: dict[str, Role] = {}
        self._ready: list[SignableShift] = []
        self._count = 0
        self._left_out: list[str] = []
        self._sending = Sending(client, self)
        self.words = Text("", wrapped=True, parent=self)
        self.form = form = SignatureFields(tr("Review and sign"), parent=self)
        self.who, self.pin, self.note, self.save = form.who, form.pin, form.note, form.save
        self.cancel = form.cancel
        self.message = MessageLine(self)
        vbox(self.words, self.form, self.message, on=self, gap_px=4)
        self.form.given.connect(self._begin)
        self.form.put_off.connect(self._leave)
        self._sending.saved.connect(self._saved)
        self._sending.refused.connect(self._refused)
        self._sending.doubted.connect(self._doubted)
        self.hide()

    def open(self, ready: Sequence[SignableShift], record: ReadShift, person: UserContext) -> None:
        """Ask who signs these shifts."""
        self._ready, self._person = list(ready), person
        self._count, self._left_out = 0, []
        people = record.with_role(*MAY_REVIEW)
        self._roles = {one.initials: one.role for one in people}
        self.form.ask(people, person.initials, asks_pin=record.pins.in_use)
        self.words.setText(_named(self._ready))
        self.message.hide()
        self.save.setEnabled(True)
        self.show()
        if not people:
            self._warn(tr("The set-up names no manager: add one there first."))
        self.form.take_keyboard()

    def shut(self) -> None:
        """Ask nothing any more."""
        self.pin.put("")
        self.hide()

    @Slot()
    def _leave(self) -> None:
        self.shut()
        self.left.emit()

    @Slot()
    def _begin(self) -> None:
        if self._sending.busy:
            return
        if self.who.text not in self._roles:
            self.who.show_fault(tr("Say who signs."))
            return
        self.save.setEnabled(False)
        self._next()

    def _next(self) -> None:
        if not self._ready or self._person is None:
            self.shut()
            self.done.emit(self._count, tuple(self._left_out))
            return
        by, one = self.who.text, self._ready[0]
        review = ShiftReviewed(
            at=self._client.clock(),
            by=by,
            role=self._roles[by],
            covers=one.head,
            note=self.note.text,
            together=True,
        )
        self._sending.send(review, self._person, chain=one.chain, pin=self.pin.text)

    @Slot(object)
    def _saved(self, _answer: object) -> None:
        self._count += 1
        self._ready.pop(0)
        self._next()

    @Slot(object)
    def _refused(self, faults: dict[str, str]) -> None:
        fields = {"by": self.who, "pin": self.pin}
        at_fault = [key for key in fields if key in faults]
        for key, field in fields.items():
            field.show_fault(faults.get(key, ""))
        if at_fault:  # of all of them: whoever signs mends it, and goes on with the rest
            self.save.setEnabled(True)
            self.pin.put("")
            fields[at_fault[0]].setFocus()
            self.words.setText(_named(self._ready))
        else:
            self._leave_out(" ".join(faults.values()))

    @Slot(object)
    def _doubted(self, doubts: tuple[str, ...]) -> None:
        self._leave_out(" ".join((*doubts, tr("Sign it by itself."))))

    def _leave_out(self, why: str) -> None:
        self._left_out.append(f"{self._ready.pop(0).title}: {why}")
        self._next()

    def _warn(self, words: str) -> None:
        self.message.show()
        self.message.warn(words)


def _named(ready: Sequence[SignableShift]) -> str:
    titles = "; ".join(one.title for one in ready[:_NAMED])
    more = len(ready) - _NAMED
    if more > 0:
        titles = tr("{some} and {count} more", some=titles, count=more)
    return tr("Signed together, each with its own signature: {shifts}.", shifts=titles)
