"""Who signed a shift, and the way to sign it: in place, under its head."""

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext
from washmon.gui.entry.sending import Sending
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import hbox, vbox
from washmon.gui.kit.buttons import AnywayButton, PressButton
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.state_mark import MarkState, StateMark
from washmon.gui.kit.text import Text
from washmon.gui.logbook.logbook_words import signing_words
from washmon.gui.logbook.record_parts import ReadShift
from washmon.gui.logbook.signature_fields import SignatureFields
from washmon.line.events import ShiftReviewed, ShiftSigned
from washmon.line.setup import Role
from washmon.line.signing import MAY_REVIEW, MAY_SIGN, SigningStage, signing

_MARKS = {
    SigningStage.UNSIGNED: MarkState.UNKNOWN,
    SigningStage.SIGNED: MarkState.WATCH,
    SigningStage.CHANGED: MarkState.ACT,
}


class SigningBar(QWidget):
    """One line while nobody signs.

    Signals:
        signed(): a signature is in the journal.
        refused(): it is not, and the bar says why.
    """

    signed = Signal()
    refused = Signal()

    def __init__(self, client: RecorderClient, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._client = client
        self._record: ReadShift | None = None
        self._person: UserContext | None = None
        self._reviews = False
        self._sending = Sending(client, self)
        self.mark = StateMark(MarkState.UNKNOWN, 20, self)
        self.words = Text("", wrapped=True, parent=self)
        self.sign = PressButton(tr("Sign"), parent=self, then=self._open_signature)
        self.review = PressButton(tr("Review and sign"), parent=self, then=self._open_review)
        self.form = form = SignatureFields(tr("Sign"), indent_px=28, parent=self)
        self.who, self.pin, self.note, self.save = form.who, form.pin, form.note, form.save
        self.cancel = form.cancel
        self.anyway = AnywayButton(tr("Sign all the same"), self)
        self.message = MessageLine(self)
        self._lay_out()
        self._connect()

    def _lay_out(self) -> None:
        vbox(
            hbox(self.mark, (self.words, 1), self.sign, self.review, gap_px=8),
            self.form,
            hbox((self.message, 1), self.anyway, gap_px=8),
            on=self,
            gap_px=4,
        )

    def _connect(self) -> None:
        self.form.put_off.connect(self._not_now)
        self.form.given.connect(self._save)
        self.anyway.clicked.connect(self._save_anyway)
        self.who.changed.connect(self._ask_anew)
        self._sending.saved.connect(self._saved)
        self._sending.refused.connect(self._refused)
        self._sending.doubted.connect(self._doubted)

    def clear(self) -> None:
        """Show nothing."""
        self._record = None
        self.hide()

    def show_record(self, record: ReadShift, person: UserContext) -> None:
        """Show the signatures of a record; a running shift or practice has none to show.

        A note that is being written on the same shift stays: it is only the record that changed.
        """
        note, who = self._written(record.shift.chain), self.who.text
        self._record, self._person = record, person
        now = signing(record.shift)
        sound = not record.alarm()
        self.mark.show_look(_MARKS.get(now.stage, MarkState.IN_LIMITS) if sound else MarkState.STOP)
        self.words.setText(signing_words(now, record.shift))
        self.sign.set_label(tr("Sign again") if now.signed else tr("Sign"))
        self.sign.setVisible(sound and now.stage in {SigningStage.UNSIGNED, SigningStage.CHANGED})
        self.review.setVisible(sound and now.stage in {SigningStage.SIGNED, SigningStage.CHANGED})
        self._close()
        self.setVisible(now.stage is not SigningStage.RUNNING and not record.shift.started.practice)
        if note and not self.review.isHidden():
            self._open(reviews=True)
            self.note.put(note)
            self.who.put(who)

    def _written(self, chain: str) -> str:
        """Return the note that is being written on a shift."""
        same = self._record is not None and self._record.shift.chain == chain
        return self.note.text if same and self._reviews and not self.form.isHidden() else ""

    @Slot()
    def _open_signature(self) -> None:
        self._open(reviews=False)

    @Slot()
    def _open_review(self) -> None:
        self._open(reviews=True)

    def _open(self, *, reviews: bool) -> None:
        if self._record is None or self._person is None:
            return
        self._reviews = reviews
        people = self._record.with_role(*(MAY_REVIEW if reviews else MAY_SIGN))
        self.form.ask(people, self._person.initials, asks_pin=self._record.pins.in_use)
        self.note.setVisible(reviews)
        self._ask_anew()
        self.sign.hide()
        self.review.hide()
        self.form.show()
        self.form.take_keyboard()
        if not people:
            self._warn(tr("The set-up names no manager: add one there first."))

    def _close(self) -> None:
        self.pin.put("")
        self.form.hide()
        self.anyway.hide()
        self.message.hide()

    @Slot()
    def _not_now(self) -> None:
        self.note.put("")
        if self._record is not None and self._person is not None:
            self.show_record(self._record, self._person)

    @Slot()
    def _ask_anew(self) -> None:
        self.anyway.hide()
        self.message.hide()
        self.save.set_label(tr("Review and sign") if self._reviews else tr("Sign"))

    @Slot()
    def _save(self) -> None:
        self._send(sure=False)

    @Slot()
    def _save_anyway(self) -> None:
        self._send(sure=True)

    def _send(self, *, sure: bool) -> None:
        record, person = self._record, self._person
        if record is None or person is None or self._sending.busy:
            return
        who = next((one for one in record.people if one.initials == self.who.text), None)
        if who is None:
            self.who.show_fault(tr("Say who signs."))
            return
        head = record.shift.entries[-1].hash
        self._sending.send(
            self._signature(who.initials, who.role, head),
            person,
            chain=record.shift.chain,
            sure=sure,
            pin=self.pin.text,
        )

    def _signature(self, by: str, role: Role, covers: str) -> ShiftSigned | ShiftReviewed:
        now = self._client.clock()
        if self._reviews:
            return ShiftReviewed(at=now, by=by, role=role, covers=covers, note=self.note.text)
        return ShiftSigned(at=now, by=by, role=role, covers=covers)

    @Slot(object)
    def _saved(self, _answer: object) -> None:
        self.pin.put("")
        self.note.put("")
        self.signed.emit()

    @Slot(object)
    def _refused(self, faults: dict[str, str]) -> None:
        fields = {"by": self.who, "pin": self.pin}
        for key, field in fields.items():
            field.show_fault(faults.get(key, ""))
        if "pin" in faults:
            self.pin.put("")
            self.pin.setFocus()
        rest = [said for key, said in faults.items() if key not in fields]
        if rest:
            self._warn(" ".join(rest))
        else:
            self.message.hide()
        self.refused.emit()

    @Slot(object)
    def _doubted(self, doubts: tuple[str, ...]) -> None:
        self.pin.show_fault("")
        self.who.show_fault("")
        self.message.show()
        self.message.doubt(
            tr("{lacks} This will stand with the signature.", lacks=" ".join(doubts))
        )
        self.anyway.show()
        self.save.setFocus()

    def _warn(self, words: str) -> None:
        self.message.show()
        self.message.warn(words)
