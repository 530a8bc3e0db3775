"""The start of a shift: who leads it, what is washed, and the check before the first crate.

The check list before the first batch: big toggles, one to a line.
"""

from collections.abc import Callable
from datetime import date

from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext
from washmon.gui.entry.sending import Sending
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import STRETCH, add, hbox, keep_width, vbox
from washmon.gui.kit.buttons import AnywayButton, PressButton, Rank
from washmon.gui.kit.card import Card
from washmon.gui.kit.form import FieldRow, Form, RepeatRows
from washmon.gui.kit.form_fields import ChoiceField, TextField
from washmon.gui.kit.message_line import FaultLine, MessageLine
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.training.due_line import asking, due_words
from washmon.line.events import Checked, ShiftStarted
from washmon.line.message import Message
from washmon.line.register_state import Stock, pressing
from washmon.line.registers import Thing, full_name
from washmon.line.registry import registers_of
from washmon.line.setup import LineSetup, Lot, Role
from washmon.line.training import DueAgain
from washmon.line.validate import cautions
from washmon.recorder import Saved
from washmon.store.store import Store

_LINE_PX = 52


def items() -> tuple[tuple[str, str], ...]:
    """Return each thing to check: as it is recorded, and in the language of the window."""
    return (
        ("tanks and line cleaned", tr("Tanks and line cleaned")),
        ("water is fit to drink", tr("Water is fit to drink")),
        ("strips in date, meter checked", tr("Strips in date, meter checked")),
        ("goggles and gloves on", tr("Goggles and gloves on")),
        ("product label read", tr("Product label read")),
    )


class CheckList(QWidget):
    """A toggle for each thing; pressed means done."""

    changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        column = vbox(on=self, gap_px=8)
        self.buttons: dict[str, PressButton] = {}
        self._words = dict(items())
        for item, words in self._words.items():
            button = PressButton(words, Rank.TOGGLE, parent=self, then=self._change)
            button.setCheckable(True)
            button.setMinimumHeight(_LINE_PX)
            button.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
            self.buttons[item] = button
            column.addWidget(button)

    def clear(self) -> None:
        """Take all ticks away."""
        for button in self.buttons.values():
            button.setChecked(False)
        self._mark()

    def checked(self) -> tuple[Checked, ...]:
        """Return the list as it is recorded."""
        return tuple(
            Checked(item=item, done=button.isChecked()) for item, button in self.buttons.items()
        )

    def undone(self) -> tuple[str, ...]:
        """Return what was not done, in words."""
        done = {item for item, button in self.buttons.items() if button.isChecked()}
        return tuple(words.lower() for item, words in self._words.items() if item not in done)

    @Slot()
    def _change(self) -> None:
        self._mark()
        self.changed.emit()

    def _mark(self) -> None:
        for item, button in self.buttons.items():
            words = self._words[item]
            button.set_label(f"✓  {words}" if button.isChecked() else words)


_CHECKS_PX = 460
FORM_PX = 780


_MOST_TOLD = 4


def _pressing(
    setup: LineSetup, today: date
) -> Callable[[Store], tuple[tuple[Thing, Message], ...]]:
    def query(store: Store) -> tuple[tuple[Thing, Message], ...]:
        stock = Stock(registers=registers_of(store.site()), setup=setup)
        return tuple(pressing(stock, today))

    return query


class LotFields(FieldRow):
    """A lot: its code, what it is, and where it came from."""

    def __init__(self, number: int, produce: str, parent: QWidget | None = None) -> None:
        self.code = TextField(f"lots.{number}", tr("Lot code"))
        self.produce = TextField(f"produce.{number}", tr("Produce"), value=produce)
        self.source = TextField(f"source.{number}", tr("From field or supplier"))
        super().__init__(self.code, self.produce, self.source, parent=parent)

    def lot(self) -> Lot | None:
        """Return the lot; nothing while it has no code."""
        if not self.code.text:
            return None
        return Lot(code=self.code.text, produce=self.produce.text, source=self.source.text)


class ShiftStart(QWidget):
    """Asks what a shift begins with.

    Signals:
        started(str): the shift is on the disk; its chain.
        left(): the person went back.
    """

    started = Signal(str)
    left = Signal()

    def __init__(self, client: RecorderClient, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._client = client
        self._setup: LineSetup | None = None
        self._decimal_point = "."
        self._begun = False
        self._made = 0
        self._produce = ""
        self._due: tuple[DueAgain, ...] = ()
        self._sending = Sending(client, self)
        self.title = Text(tr("Start a shift"), Size.LARGE, bold=True)
        self.form = Form()
        self.checks = CheckList()
        self.products = FaultLine()
        self.message = MessageLine()
        self.start = PressButton(
            tr("Start"), Rank.PRIMARY, "Ctrl+Enter", bound=False, then=self._start
        )
        self.leave = PressButton(tr("Back"), Rank.SECONDARY, "Esc", bound=False, then=self.left)
        self.anyway = AnywayButton(tr("Start all the same"))
        self._lay_out()
        self._ask_for((), "")
        self.anyway.clicked.connect(self._start_anyway)
        self.checks.changed.connect(self._forget_undone)
        self._sending.saved.connect(self._done)
        self._sending.refused.connect(self._show_faults)

    def open(self, setup: LineSetup, decimal_point: str = ".") -> None:
        """Ask anew, for the line of a set-up."""
        self._setup, self._begun = setup, False
        self._decimal_point = decimal_point
        self.title.setText(tr("Start a shift on {line}", line=setup.line))
        leads = [one for one in setup.people if one.role is not Role.LINE_WORKER]
        people = tuple((one.initials, one.name) for one in leads or setup.people)
        self._ask_for(people, setup.commodity)
        self.checks.clear()
        self._warn_of_supplies(UserContext("", setup.taste, decimal_point))
        known = (one.initials for one in setup.people)
        self._due = ()
        self._client.read(asking(known, self._client.clock().date()), self._take_training)
        self._forget_undone()
        (self._first_lot.code if self.supervisor.text else self.supervisor).setFocus()

    @property
    def unsaved(self) -> bool:
        """Whether a lot is named or something ticked, and the shift has not begun."""
        lots = any(row.lot() for row in self.lots.rows if isinstance(row, LotFields))
        return not self._begun and (lots or any(one.done for one in self.checks.checked()))

    @property
    def _first_lot(self) -> LotFields:
        return next(row for row in self.lots.rows if isinstance(row, LotFields))

    def _ask_for(self, people: tuple[tuple[str, str], ...], produce: str) -> None:
        self.form.clear()
        self._produce = produce
        only = people[0][0] if len(people) == 1 else ""
        self.supervisor = ChoiceField("by", "", people, value=only)
        self.supervisor.row.setAccessibleName(tr("Who leads it?"))
        self.lots = RepeatRows(self._lot_row, tr("Add a lot"), least=1, most=12)
        self.form.add_section(tr("Who leads it"))
        self.trained = Text("", Size.SMALL, tone=Tone.SOFT, wrapped=True)
        self.trained.hide()
        self.form.add(self.supervisor)
        self.form.add(self.trained)
        self.supervisor.row.chosen.connect(self._tell_training)
        self.form.add_section(tr("What is washed"), tr("More lots can be added with a batch."))
        self.form.add(self.lots)

    def _warn_of_supplies(self, person: UserContext) -> None:
        """Say which products are past their use-by date, and which instruments are unfit."""
        if self._setup is None:
            return
        found = cautions(self._setup, self._client.clock().date())
        old = [
            person.say(one.message)
            for one in found
            if one.path.endswith(".use_by") or one.path.startswith("instruments_unfit")
        ]
        self.products.say("\n".join(old))
        self._client.read(_pressing(self._setup, self._client.clock().date()), self._warn_of_more)

    def _warn_of_more(self, result: object) -> None:
        """Say what presses in the registers, too, the worst first."""
        if self._setup is None or not isinstance(result, tuple):
            return  # a journal that can't be read is told of elsewhere
        person = UserContext("", self._setup.taste, self._decimal_point)
        said = [f"{full_name(thing)}: {person.say(message)}" for thing, message in result]
        more = tr("And {count} more: see Registers.", count=len(said) - _MOST_TOLD)
        said = [*said[:_MOST_TOLD], more] if len(said) > _MOST_TOLD else said
        self.products.say("\n".join(filter(None, (self.products.text, *said))))

    def _take_training(self, found: object) -> None:
        if isinstance(found, tuple):  # a journal that can't be read is told of elsewhere
            self._due = found
            self._tell_training()

    @Slot()
    def _tell_training(self) -> None:
        """Say it beside the name where the training of who leads is due again."""
        today = self._client.clock().date()
        said = [due_words(one, today) for one in self._due if one.person == self.supervisor.text]
        self.trained.setText("".join(said))
        self.trained.setVisible(bool(said))

    def _lot_row(self) -> QWidget:
        self._made += 1
        return LotFields(self._made, self._produce)

    def _lay_out(self) -> None:
        card = Card(self, margin_px=20)
        keep_width(card, _CHECKS_PX)
        card.body.setSpacing(8)
        add(
            card.body,
            Text(tr("Before the first batch"), Size.TITLE, bold=True),
            self.checks,
            self.products,
        )
        keep_width(self.form, FORM_PX, most=True)
        for button in (self.anyway, self.start, self.leave):
            button.setMinimumHeight(56)
        vbox(
            self.title,
            (hbox((self.form, 4), (card, 0, Qt.AlignmentFlag.AlignTop), STRETCH, gap_px=32), 1),
            hbox(self.anyway, (self.message, 1), self.start, self.leave, gap_px=8),
            on=self,
            gap_px=16,
            margins_px=(24, 20, 24, 20),
        )

    def event_now(self) -> ShiftStarted | dict[str, str]:
        """Return the event that was filled in, or a sentence for each field that lacks."""
        faults = {}
        if not self.supervisor.text:
            faults["by"] = tr("Choose who leads this shift.")
        rows = [row for row in self.lots.rows if isinstance(row, LotFields)]
        lots = tuple(lot for row in rows if (lot := row.lot()) is not None)
        codes = [lot.code for lot in lots]
        for row in rows:
            if not lots and row is rows[0]:
                faults[row.code.key] = tr("Name at least one lot.")
            elif codes.count(row.code.text) > 1:
                faults[row.code.key] = tr("This lot stands there twice.")
        if faults or self._setup is None:
            return faults
        return ShiftStarted(
            at=self._client.clock(),
            by=self.supervisor.text,
            setup=self._setup,
            lots=lots,
            checks=self.checks.checked(),
        )

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Take Esc as going back, Enter as going on to the next field, Ctrl+Enter as starting."""
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            whole = event.modifiers() & Qt.KeyboardModifier.ControlModifier
            self._start() if whole else self.focusNextChild()
        else:
            super().keyPressEvent(event)

    @Slot()
    def _start(self) -> None:
        self._send(sure=False)

    @Slot()
    def _start_anyway(self) -> None:
        self._send(sure=True)

    def _send(self, *, sure: bool) -> None:
        made = self.event_now()
        if isinstance(made, dict):
            self._show_faults(made)
            return
        self.form.show_faults({})
        undone = self.checks.undone()
        if undone and not sure:
            self.anyway.show()
            self.message.doubt(tr("Not done, and recorded so: {items}.", items=", ".join(undone)))
            return
        person = UserContext(made.by, made.setup.taste, self._decimal_point)
        self._sending.send(made, person)

    @Slot(object)
    def _done(self, answer: Saved) -> None:
        self._begun = True
        self.started.emit(answer.chain)

    @Slot(object)
    def _show_faults(self, faults: dict[str, str]) -> None:
        fields = self.form.fields()
        if "lots" in faults:  # the recorder speaks of all lots: say it at the first
            rows = [row for row in self.lots.rows if isinstance(row, LotFields)]
            faults = {rows[0].code.key: faults["lots"]} | faults
        self.form.show_faults(faults)
        general = [said for key, said in faults.items() if key not in {*fields, "lots"}]
        self.message.warn(" ".join(general)) if general else self.message.clear()

    @Slot()
    def _forget_undone(self) -> None:
        self.anyway.hide()
        self.message.clear()
