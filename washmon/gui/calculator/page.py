"""The calculator's page: calculations at the left, questions in the middle, the answer beside."""

from collections.abc import Callable, Mapping
from datetime import date
from itertools import pairwise

from PySide6.QtCore import QSize, Qt, QTimer, Signal, Slot
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QListWidget,
    QListWidgetItem,
    QStackedWidget,
    QWidget,
)

from washmon.chemistry.measures import METRIC_SET, US_SET
from washmon.gui.calculator.answer import AnswerPanel
from washmon.gui.calculator.ask_form import AskForm, written
from washmon.gui.context import UserContext, decimal_point
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import hbox, keep_width, vbox
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.form_fields import StillCombo
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.line.calculations import CALCULATIONS
from washmon.line.calculations.asking import Circumstances, Unready
from washmon.line.calculations.latest import READ, latest
from washmon.line.calculations.result import Calculation, Known, Result
from washmon.line.setup import LineSetup, Tank
from washmon.line.state import ShiftState
from washmon.units import UnitSystem

LIST_PX = 268
_ROW_PX = 50
_PATIENCE_MS = 700


def _today() -> date:
    return date.today()  # noqa: DTZ011 - the shed's own day


class Calculator(QWidget):
    """Works something out while one types; nothing of it is entered. ``left`` on Esc.

    What is asked in the same words by two calculations is typed only once.
    """

    left = Signal()

    def __init__(
        self, parent: QWidget | None = None, *, today: Callable[[], date] = _today
    ) -> None:
        super().__init__(parent)
        self._today = today
        self._person = UserContext("", UnitSystem.METRIC, decimal_point())
        self._setup: LineSetup | None = None
        self._shift: ShiftState | None = None
        self._read: Mapping[tuple[str, str], float | str] = {}
        self._texts: dict[tuple[str, str], str] = {}
        self._faults: dict[str, str] = {}
        self.forms: dict[str, AskForm] = {}
        self.list = QListWidget(self)
        self.title = Text("", Size.TITLE, bold=True)
        self.purpose = Text("", Size.SMALL, tone=Tone.SOFT, wrapped=True)
        self.stack = QStackedWidget(self)
        self.answer = AnswerPanel(self)
        self.tank_label = Text(tr("Fill in from"), Size.SMALL, tone=Tone.SOFT)
        self.tank = StillCombo(self)
        self.back = PressButton(tr("Back"), Rank.SECONDARY, "Esc", then=self.left)
        self._soon = QTimer(self, singleShot=True, interval=_PATIENCE_MS)
        self._lay_out()
        self._list_calculations()
        self.tank.activated.connect(self._fill_in)
        self.answer.go_on.connect(self._go_on)
        self._soon.timeout.connect(self._show_faults)
        self.list.currentRowChanged.connect(self._turn_to)
        self.list.itemActivated.connect(self._enter_form)
        self.list.setCurrentRow(0)

    @property
    def calculation(self) -> Calculation:
        """The one that is shown."""
        return CALCULATIONS[max(self.list.currentRow(), 0)]

    @property
    def form(self) -> AskForm:
        """The questions that are shown."""
        return self.forms[self.calculation.key]

    def open(
        self, setup: LineSetup | None, person: UserContext, shift: ShiftState | None = None
    ) -> None:
        """Show the page for this person; what is new in set-up and readings is filled in."""
        self._shift = shift
        if person != self._person:
            self._person = person
            self._texts.clear()  # a bare number would now mean another unit
            self._drop_forms()
        if setup != self._setup or not self._texts:
            self._setup = setup
            self._offer_tanks()
            self._fill_in()
        elif self._chosen is not None and latest(shift, self._chosen) != self._read:
            self._fill_in_readings(self._chosen)
        self._turn_to(self.list.currentRow())
        self.list.setFocus(Qt.FocusReason.OtherFocusReason)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go on to the next field with Enter."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.focusNextChild()
        else:
            super().keyPressEvent(event)

    def _lay_out(self) -> None:
        top = hbox(
            (Text(tr("Calculator"), Size.LARGE, bold=True), 1),
            self.tank_label,
            self.tank,
            self.back,
            gap_px=10,
        )
        self.tank.setMinimumWidth(220)
        across = hbox(
            self.list,
            (vbox(vbox(self.title, self.purpose, gap_px=0), (self.stack, 1), gap_px=8), 6),
            (self.answer, 5),
            gap_px=14,
        )
        vbox(top, (across, 1), on=self, gap_px=10, margins_px=12)
        self.setFocusProxy(self.list)

    def _list_calculations(self) -> None:
        self.list.setObjectName("roster")
        keep_width(self.list, LIST_PX)
        self.list.setAccessibleName(tr("Calculations"))
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        for calculation in CALCULATIONS:
            item = QListWidgetItem(tr(calculation.title), self.list)
            item.setToolTip(tr(calculation.purpose))
            item.setSizeHint(QSize(0, _ROW_PX))

    def _offer_tanks(self) -> None:
        self.tank.clear()
        for tank in self._setup.tanks if self._setup else ():
            self.tank.addItem(f"{tank.number}  {tank.name}", tank.number)
        self.tank.setVisible(self._setup is not None)
        self.tank_label.setVisible(self._setup is not None)
        self.tank.setAccessibleName(self.tank_label.text())

    @property
    def _chosen(self) -> int | None:
        number = self.tank.currentData()
        return None if number is None else int(number)

    @Slot()
    def _fill_in(self) -> None:
        """Write what is known of the chosen tank into every calculation."""
        if self._setup is None or self._chosen is None:
            return
        tank = self._setup.tank(self._chosen)
        self._list_what_suits(tank)
        for calculation in CALCULATIONS:
            self._write(calculation, calculation.known(self._setup, tank))
        self._fill_in_readings(tank.number)
        self._turn_to(self.list.currentRow())

    def _list_what_suits(self, tank: Tank) -> None:
        """Offer what says something of a tank's water: never chlorine for peracetic acid."""
        suits = [calculation.is_about(tank) for calculation in CALCULATIONS]
        for row, suited in enumerate(suits):
            self.list.item(row).setHidden(not suited)
        if not suits[max(self.list.currentRow(), 0)]:
            self.list.setCurrentRow(suits.index(True))

    def _fill_in_readings(self, tank: int) -> None:
        """Write what was last read in a tank; another tank's, or an older, goes."""
        self._read = latest(self._shift, tank)
        self._texts |= {field.topic: "" for field in READ}
        for calculation in CALCULATIONS:
            for field in calculation.fields:
                if field.topic in self._read:
                    value = self._read[field.topic]
                    self._texts[field.topic] = written(value, field.kind, self._person)

    def _write(self, calculation: Calculation, known: Known) -> None:
        for field in calculation.fields:
            if field.key in known:
                text = written(known[field.key], field.kind, self._person)
                self._texts[field.topic] = text

    @Slot(int)
    def _turn_to(self, row: int) -> None:
        if row < 0:
            return
        calculation = self.calculation
        if calculation.key not in self.forms:
            form = AskForm(calculation, self._person)
            form.changed.connect(self._take)
            self.forms[calculation.key] = form
            self.stack.addWidget(form)
        asked = (one for one in calculation.fields if one.topic in self._texts)
        self.form.put({field.key: self._texts[field.topic] for field in asked})
        self.stack.setCurrentWidget(self.form)
        self._chain()
        self.title.setText(tr(calculation.title))
        self.purpose.setText(tr(calculation.purpose))
        self._work_out()
        self._show_faults()

    def _chain(self) -> None:
        """Let Tab go from the list through the form to the answer, and last to the page's head."""
        # The fields stay where they came: moved, they would shut the rest of the window out.
        hands = [field.focusProxy() for field in self.form.fields.values()]
        order = (hands[-1], self.answer.next, self.answer.unfold, self.tank, self.back)
        for before, after in pairwise(widget for widget in order if widget is not None):
            QWidget.setTabOrder(before, after)

    def _drop_forms(self) -> None:
        for form in self.forms.values():
            self.stack.removeWidget(form)
            form.deleteLater()
        self.forms.clear()

    @Slot()
    def _enter_form(self) -> None:
        self.form.focus_first()

    @Slot(str)
    def _take(self, key: str) -> None:
        """Keep what was changed and work it out again; do not scold while somebody types."""
        for field in self.calculation.fields:
            if field.key == key:
                self._texts[field.topic] = self.form.fields[key].text
        self._work_out()
        typing = self._faults.get(key) and self.form.keeps_focus(key)
        self.form.show_faults(
            {k: text for k, text in self._faults.items() if k != key or not typing}
        )
        self._soon.start()

    def _outcome(self) -> Result | Unready:
        usual = US_SET if self._person.taste is UnitSystem.US else METRIC_SET
        owned = self._setup.measures if self._setup else ()
        circumstances = Circumstances(
            self._person.taste, owned or usual, self._today(), self._person.decimal_point
        )
        return self.calculation.work_out(self.form.texts(), circumstances)

    def _work_out(self) -> None:
        outcome = self._outcome()
        self._faults = {}
        if isinstance(outcome, Unready):
            faults = outcome.faults.items()
            self._faults = {key: self._person.say(text) for key, text in faults if key}
            self.answer.show_unready(outcome, self._person)
        else:
            self.answer.show_result(outcome, self._person, self._next_title())

    @Slot()
    def _show_faults(self) -> None:
        self._soon.stop()
        self.form.show_faults(self._faults)

    def _next_title(self) -> str:
        after = self.calculation.takes_over
        return next((tr(each.title) for each in CALCULATIONS if each.key == after), "")

    @Slot()
    def _go_on(self) -> None:
        """Carry what was found to the calculation that goes on with it."""
        found = self._outcome()
        if isinstance(found, Unready):
            return
        after = [each.key for each in CALCULATIONS].index(self.calculation.takes_over)
        self._write(CALCULATIONS[after], found.carry)
        self.list.setCurrentRow(after)
        self.form.focus_first()
