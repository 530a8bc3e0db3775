"""A shift that is read for its review: only what deviates is unfolded."""

from functools import partial

from PySide6.QtCore import QTimer, Signal, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import STRETCH, foot_row, hbox, page_column
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.confirm import leave_or_ask
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.state_mark import MarkState, StateMark
from washmon.gui.kit.text import Text, Tone
from washmon.gui.logbook.export_bar import trouble_words
from washmon.gui.logbook.record_parts import ReadShift, read_record
from washmon.gui.logbook.shift_head import ShiftHeading
from washmon.gui.logbook.signing_bar import SigningBar
from washmon.gui.review.unfolding import Unfolding, parts_of
from washmon.gui.review.words import deviating_words
from washmon.gui.setup_guide.layout import Scroller
from washmon.line.deviating import Deviations, deviations
from washmon.line.message import Message

_LOOK_AGAIN_MS = 3000
_WIDEST_PX = 2400
_LOWEST_PX = 120


class ReviewReading(QWidget):
    """The record of one shift to review; says so when it changes while it is read.

    Signals:
        left(): back to what waits.
        stepped(int): the shift so many places further on is to be read.
        record_asked(str): the whole record of the shift with this chain is to be shown.
        signed(): a signature is in the journal.
        loaded(): a shift, or why there is none, is shown.
    """

    left = Signal()
    stepped = Signal(int)
    record_asked = Signal(str)
    signed = Signal()
    loaded = Signal()

    def __init__(self, client: RecorderClient, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._client = client
        self._chain = self._head = ""
        self._person: UserContext | None = None
        self.head = ShiftHeading(self)
        self.waits = Text("", bold=True, parent=self)
        self.mark = StateMark(MarkState.IN_LIMITS, 18, self)
        self.sums = Text("", parent=self)
        self.alarm = MessageLine(self)
        self.said = Text("", wrapped=True, tone=Tone.ACT, parent=self)
        self.scroller = Scroller(self, widest_px=_WIDEST_PX)
        self.scroller.setMinimumHeight(_LOWEST_PX)
        self.scroller.column.addStretch(1)
        self.parts: list[Unfolding] = []
        self.signing = SigningBar(client, self)
        self.message = MessageLine(self)
        self.back = PressButton(tr("Back"), Rank.SECONDARY, "Esc", then=self._leave)
        self.whole = PressButton(tr("Whole record"), then=self._ask_record)
        self.before = PressButton(tr("Previous"), Rank.SECONDARY, "Alt+Left", then=self._step_back)
        self.after = PressButton(tr("Next"), Rank.SECONDARY, "Alt+Right", then=self._step_on)
        self._watch = QTimer(self, interval=_LOOK_AGAIN_MS)
        self._lay_out()
        self._connect()

    def _lay_out(self) -> None:
        buttons = (self.whole, self.before, self.after)
        page_column(
            self,
            self.head,
            hbox(self.mark, self.sums, STRETCH, self.waits, gap_px=8),
            self.alarm,
            self.said,
            (self.scroller, 1),
            self.signing,
            foot_row(self.back, self.message, *buttons),
        )

    def _connect(self) -> None:
        self.head.decide_asked.connect(self._ask_record)
        self.signing.signed.connect(self._signed)
        self.signing.refused.connect(self.look_again)
        self._watch.timeout.connect(self.look_again)

    def open(self, chain: str, person: UserContext, waits: str, *, first: bool, last: bool) -> None:
        """Read a shift and show it; :attr:`loaded` follows."""
        self._chain, self._head, self._person = chain, "", person
        self.waits.setText(waits)
        self.head.say(tr("Reading the shift …"))
        self.before.setEnabled(not first)
        self.after.setEnabled(not last)
        self.message.clear()
        self._clear()
        self.signing.clear()
        self._read()

    def shut(self) -> None:
        """Look for no changes any more."""
        self._watch.stop()
        self._chain = ""

    def _read(self) -> None:
        self._client.read(read_record(self._chain), self._show)

    @Slot()
    def look_again(self) -> None:
        """Ask whether something was entered since this was read."""
        chain = self._chain
        if chain and self._head:
            self._client.read(lambda store: (chain, store.head(chain)), self._compare)

    def _compare(self, result: object) -> None:
        known = (self._chain, self._head)
        if not isinstance(result, tuple) or result[0] != self._chain or result == known:
            return
        self.message.warn(
            tr("Something was entered into this shift meanwhile. It is shown anew: look again.")
        )
        self._read()

    def _clear(self) -> None:
        for part in self.parts:
            self.scroller.column.removeWidget(part)
            part.hide()
            part.deleteLater()
        self.parts = []
        for shown in (self.alarm, self.said, self.mark):
            shown.hide()
        self.sums.setText("")

    def _show(self, result: object) -> None:
        if not isinstance(result, ReadShift):
            self._watch.stop()
            self.head.say(tr("This shift can't be shown"))
            self.message.warn(trouble_words(result))
        elif result.shift.chain == self._chain and self._person is not None:
            self._show_record(result, self._person)
        else:
            return  # another one has been asked for since
        self.loaded.emit()

    def _show_record(self, record: ReadShift, person: UserContext) -> None:
        self._clear()
        shift, found = record.shift, deviations(record.shift)
        self._head = shift.entries[-1].hash
        self._watch.start()
        self.head.show_shift(shift, person)
        self.head.scenario.hide()
        alarm = record.alarm()
        self.alarm.setVisible(bool(alarm))
        self.alarm.warn(alarm)
        self.mark.show_look(
            MarkState.STOP if alarm else MarkState.ACT if found else MarkState.IN_LIMITS
        )
        self.mark.show()
        self.sums.setText(_summed(found))
        self._say(found.said, person)
        for part in parts_of(shift, found, person):
            self.parts.append(Unfolding(part, self))
            self.scroller.column.insertWidget(len(self.parts) - 1, self.parts[-1])
        self.signing.show_record(record, person)

    def _say(self, sentences: tuple[Message, ...], person: UserContext) -> None:
        self.said.setText(" ".join(person.say(one) for one in sentences))
        self.said.setVisible(bool(sentences))

    @Slot()
    def _signed(self) -> None:
        self.message.say(tr("The signature is in the journal."))
        self.waits.setText("")
        self._read()
        self.signed.emit()

    @Slot()
    def _ask_record(self) -> None:
        self.record_asked.emit(self._chain)

    @property
    def unsaved(self) -> bool:
        """Whether a note stands here that no signature has."""
        return self.signing.form.isVisible() and bool(self.signing.note.text)

    @Slot()
    def _leave(self) -> None:
        leave_or_ask(self, self.left.emit, unsaved=self.unsaved)

    @Slot()
    def _step_back(self) -> None:
        leave_or_ask(self, partial(self.stepped.emit, -1), unsaved=self.unsaved)

    @Slot()
    def _step_on(self) -> None:
        leave_or_ask(self, partial(self.stepped.emit, 1), unsaved=self.unsaved)


def _summed(found: Deviations) -> str:
    if not found:
        return tr("Nothing deviates.")
    return tr("Deviates: {what}.", what=deviating_words(found))
