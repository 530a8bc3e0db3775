"""The end of a shift: what is still open, who takes the holds, a last note."""

from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QWidget

from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext
from washmon.gui.entry.holding_sheet import hold_words
from washmon.gui.entry.sending import Sending
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import hbox, keep_width, vbox
from washmon.gui.kit.buttons import AnywayButton, PressButton, Rank
from washmon.gui.kit.form import Form
from washmon.gui.kit.form_fields import ChoiceField, TextField
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.state_mark import MarkState, StateMark
from washmon.gui.kit.text import Text
from washmon.gui.kit.theme import Size
from washmon.gui.shift.start import FORM_PX
from washmon.line.events import LotSent, ShiftEnded
from washmon.line.fill_water import FillWater
from washmon.line.sent import untold
from washmon.line.state import ShiftState, TankState
from washmon.planning.snapshot import Snapshot
from washmon.recorder import Saved
from washmon.rules.discharge import before_discharge
from washmon.rules.entering import unheld

_LOOKS = {"watch": MarkState.WATCH, "act": MarkState.ACT, "stop": MarkState.STOP}
Matter = tuple[MarkState, str]


def matters(snapshot: Snapshot, person: UserContext) -> tuple[Matter, ...]:
    """Return what is still open: flags, holds, water not measured at the end, or never used."""
    shift = snapshot.shift
    if shift is None:
        return ()
    names = {tank.number: f"{tank.number} {tank.spec.name}" for tank in shift.tanks}
    flags = [
        (_LOOKS[flag.level.value], f"{names[flag.tank]}: {person.say(flag.title)}")
        for flag in snapshot.advice.flags
    ]
    flags += [
        (
            _LOOKS[flag.level.value],
            tr(
                "{tank}: {what} (shelved)",
                tank=names[flag.tank],
                what=person.say(flag.title),
            ),
        )
        for flag in snapshot.advice.shelved
    ]
    holds = [
        (MarkState.STOP, tr("On hold: {what}", what=hold_words(hold))) for hold in shift.open_holds
    ]
    unmeasured = [
        (
            MarkState.UNKNOWN,
            tr("{tank}: not measured after the last batch", tank=names[tank.number]),
        )
        for tank in shift.tanks
        if _unmeasured(tank)
    ]
    waiting = [
        (MarkState.UNKNOWN, tr("{tank}: its second fill still waits", tank=names[tank.number]))
        for tank in shift.tanks
        if tank.second is not None
    ]
    loose = unheld(shift)
    first = [] if loose is None else [(MarkState.STOP, person.say(loose))]
    return (*first, *holds, *flags, *unmeasured, *waiting)


def letting_go(snapshot: Snapshot, person: UserContext) -> tuple[str, ...]:
    """Return for each tank what takes its chlorine out before the water is drained."""
    shift = snapshot.shift
    if shift is None:
        return ()
    return tuple(
        f"{tank.number} {tank.spec.name}: {person.say(said)}"
        for tank in shift.tanks
        for fill in (tank.fill, tank.second)
        if fill is not None
        for said in before_discharge(FillWater(shift.setup, tank.spec, fill))
    )


def _unmeasured(tank: TankState) -> bool:
    """Tell whether batches were washed after the last reading of the sanitizer."""
    if tank.fill is None or not tank.batches_in_fill:
        return False
    last = tank.fill.latest(tank.spec.level_field)
    return last is None or last.batches < tank.batches


class ShiftEnd(QWidget):
    """Asks what a shift ends with.

    Signals:
        ended(str): the end is on the disk; the chain of the shift.
        left(): the person went back to the Board.
    """

    ended = Signal(str)
    left = Signal()

    def __init__(self, client: RecorderClient, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._client = client
        self._shift: ShiftState | None = None
        self._person: UserContext | None = None
        self._sending = Sending(client, self)
        self.form = Form()
        keep_width(self.form, FORM_PX, most=True)
        self.holds_to: ChoiceField | None = None
        self.note = TextField("note", "")
        self.lots: dict[str, TextField] = {}
        """By code of those lots of which some batch is not told where it went."""
        self.message = MessageLine()
        self.end = PressButton(
            tr("End shift"), Rank.PRIMARY, "Ctrl+Enter", bound=False, then=self._end
        )
        self.leave = PressButton(tr("Back"), Rank.SECONDARY, "Esc", bound=False, then=self.left)
        self.anyway = AnywayButton(tr("End all the same"))
        for button in (self.anyway, self.end, self.leave):
            button.setMinimumHeight(56)
        vbox(
            Text(tr("End the shift"), Size.LARGE, bold=True),
            (self.form, 1),
            hbox(self.anyway, (self.message, 1), self.end, self.leave, gap_px=8),
            on=self,
            gap_px=16,
            margins_px=(24, 20, 24, 20),
        )
        self.anyway.clicked.connect(self._end_anyway)
        self._sending.saved.connect(self._done)
        self._sending.refused.connect(self._show_faults)
        self._sending.doubted.connect(self._ask)

    def open(self, snapshot: Snapshot, person: UserContext) -> None:
        """Ask for the end of the shift in a snapshot."""
        self._shift, self._person = snapshot.shift, person
        self.anyway.hide()
        self.message.clear()
        self.form.clear()
        found = matters(snapshot, person)
        self.form.add_section(
            tr("Still open"), "" if found else tr("Nothing: all tanks are in limits and measured.")
        )
        for look, words in found:
            self.form.add(_line(look, words))
        if waters := letting_go(snapshot, person):
            self.form.add_section(tr("Chlorine left in the water"))
            for said in waters:
                self.form.add(Text(said, wrapped=True))
        self.holds_to = None
        if snapshot.shift is not None and snapshot.shift.open_holds:
            people = tuple((one.initials, one.name) for one in snapshot.shift.setup.people)
            self.holds_to = ChoiceField("holds_to", "", people)
            self.holds_to.row.setAccessibleName(tr("Who takes over the open holds"))
            self.form.add_section(tr("Who takes over what is on hold"))
            self.form.add(self.holds_to)
        self.lots = {code: TextField(f"sent.{code}", _went(code)) for code in _untold(snapshot)}
        if self.lots:
            self.form.add_section(
                tr("Where the lots went"), tr("Customer or load; empty where it is not known yet.")
            )
            for field in self.lots.values():
                self.form.add(field)
        self.form.add_section(tr("For whoever comes next"))
        self.note = TextField("note", tr("Note"))
        self.form.add(self.note)
        (self.holds_to or self.note).setFocus()

    @property
    def unsaved(self) -> bool:
        """Whether something is written here of a shift that has not ended."""
        holds = self.holds_to is not None and bool(self.holds_to.text)
        sent = any(field.text for field in self.lots.values())
        return self._shift is not None and (holds or sent or bool(self.note.text))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Take Esc as going back, Ctrl+Enter as the end."""
        enter = event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter)
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        elif enter and event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self._end()
        elif enter:
            self.focusNextChild()
        else:
            super().keyPressEvent(event)

    @Slot()
    def _end(self) -> None:
        self._send(sure=False)

    @Slot()
    def _end_anyway(self) -> None:
        self._send(sure=True)

    def _send(self, *, sure: bool) -> None:
        if self._shift is None or self._person is None:
            return
        made = self._next_sent(self._person) or self._made(self._person)
        self._sending.send(made, self._person, chain=self._shift.chain, sure=sure)

    def _next_sent(self, person: UserContext) -> LotSent | None:
        """Return the next thing to be told of where a lot went: that comes before the end."""
        at = self._client.clock()
        told = ((code, field.text) for code, field in self.lots.items() if field.text)
        return next((LotSent(at=at, by=person.initials, lot=lot, to=to) for lot, to in told), None)

    def _made(self, person: UserContext) -> ShiftEnded:
        holds_to = self.holds_to.text if self.holds_to is not None else ""
        return ShiftEnded(
            at=self._client.clock(),
            by=person.initials,
            note=self.note.text,
            holds_to=holds_to or None,
        )

    @Slot(object)
    def _ask(self, doubts: tuple[str, ...]) -> None:
        """Ask whether the shift ends in spite of this; another button says so."""
        self.message.doubt(" ".join(doubts))
        self.anyway.show()

    @Slot(object)
    def _done(self, answer: Saved) -> None:
        if isinstance(answer.entry.event, LotSent):
            field = self.lots.pop(answer.entry.event.lot)
            field.setEnabled(False)  # it is saved
            self._send(sure=False)  # what the end is asked about is another matter
            return
        self._shift = None
        self.ended.emit(answer.chain)

    @Slot(object)
    def _show_faults(self, faults: dict[str, str]) -> None:
        self.form.show_faults(faults)
        known = self.form.fields()
        general = [said for key, said in faults.items() if key not in known]
        self.message.warn(" ".join(general)) if general else self.message.clear()


def _untold(snapshot: Snapshot) -> tuple[str, ...]:
    shift = snapshot.shift
    return () if shift is None or shift.started.practice else untold(shift)


def _went(code: str) -> str:
    return tr("Lot {code} went to", code=code)


def _line(look: MarkState, words: str) -> QWidget:
    line = QWidget()
    hbox(
        (StateMark(look, 22), 0, Qt.AlignmentFlag.AlignTop),
        (Text(words, Size.LEAD, wrapped=True), 1),
        on=line,
        gap_px=10,
    )
    return line
