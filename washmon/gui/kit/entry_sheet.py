"""The sheet that opens over the lower half of the window to take an entry in seconds."""

from PySide6.QtCore import Qt, QTimer, Signal, Slot
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QLineEdit, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.buttons import ChoiceRow
from washmon.gui.kit.sheet_frame import SheetFields
from washmon.gui.kit.sheet_spec import SheetSpec, TypedEntry

_HEAD_PX = 190  # what else stands beside the title
_ENTER = (Qt.Key.Key_Return, Qt.Key.Key_Enter)


class EntrySheet(SheetFields):
    """Asks for a tank and its fields, in place.

    A digit chooses the tank; Enter goes on and saves at the end; Up and Shift+Tab go back; PgDn
    turns the next choice, such as what is measured with; Esc leaves. On a line of one tank there is
    nothing to choose: a digit belongs to the first field.
    It stays open until the owner calls ``shut``: after ``submitted`` the owner either shuts it, or
    calls ``show_faults`` or ``ask_doubt``. ``changed`` tells that a tank was chosen or something
    typed.
    """

    submitted = Signal(object)
    left = Signal()

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._spec = SheetSpec("")
        self._tank = ""
        self._doubted = False
        self.tanks: ChoiceRow | None = None
        self.pad.went_on.connect(self._go_on)
        self.save.clicked.connect(self._submit)
        self.leave.clicked.connect(self._back_out)
        self.anyway.clicked.connect(self._save_anyway)

    # What the owner calls

    @property
    def spec(self) -> SheetSpec:
        """What is asked for."""
        return self._spec

    @property
    def tank(self) -> str:
        """The key of the chosen tank, empty before the choice."""
        return self._tank

    @property
    def doubted(self) -> bool:
        """Whether a doubt stands there, to be answered."""
        return self._doubted

    def open(self, spec: SheetSpec) -> None:
        """Ask for ``spec`` at once, empty."""
        self._spec = spec
        self._kept = False
        self._set_doubt(on=False)
        self.call_it(spec.title)
        self._offer_tanks()
        only = spec.tanks[0].key if len(spec.tanks) == 1 else ""
        self._tank = spec.tank or only
        self._say_note()
        self._ask_for(spec.fields_of(self._tank), {})
        self.grid.setEnabled(bool(self._tank) or not spec.tanks)
        self.pad.setVisible(bool(spec.tanks) or self.grid.is_measured)
        self.show()
        self._fit()
        self.raise_()
        self._begin()
        self.changed.emit()

    def shut(self) -> None:
        """Close without telling."""
        self.put_away()
        self._current = None

    def show_faults(self, faults: dict[str, str], general: str = "") -> None:
        """Show a sentence under each field at fault, and one for the whole; go to the first."""
        self._set_doubt(on=False)
        for key, field in self.grid.fields.items():
            field.show_fault(faults.get(key, ""))
        if general:
            self.message.warn(general)
        first = next((f for key, f in self.grid.fields.items() if key in faults), None)
        if first is not None:
            first.setFocus(Qt.FocusReason.OtherFocusReason)
            QTimer.singleShot(0, self, self._reveal)  # once the sentences have made their room
        self._fit()

    @Slot()
    def _reveal(self) -> None:
        if self._current is not None:
            self.area.ensureWidgetVisible(self._current, 0, 0)

    def ask_doubt(self, sentences: tuple[str, ...]) -> None:
        """Ask about unlikely values: Enter and Esc go back to change them.

        What saves them all the same stands elsewhere, with a key of its own: what was pressed to
        save must not save what nobody has read.
        """
        self._set_doubt(on=True)
        self.message.doubt(" ".join(sentences))
        self.save.setFocus()
        self._fit()

    def ready(self) -> None:
        """Let the first key replace what stands in the first field."""
        first = next((one for one in self.grid.fields.values() if not one.spec.aside), None)
        if first is not None and isinstance(first.input, QLineEdit):
            first.input.selectAll()

    # Keys and fingers

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Walk through the fields by keyboard."""
        key = Qt.Key(event.key())
        if key is Qt.Key.Key_Escape:
            self._back_out()
        elif key in _ENTER:
            whole = event.modifiers() & Qt.KeyboardModifier.ControlModifier
            if self._doubted and self.anyway.hasFocus():
                self._save_anyway()
            else:
                self._submit() if whole else self._go_on()
        elif key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self._step(-1 if key is Qt.Key.Key_Up else 1)
        elif key is Qt.Key.Key_PageDown:
            self._turn_choice()
        elif self._choosing_tank() and event.text().isdigit():
            self._choose_tank_by_digit(int(event.text()))
        else:
            super().keyPressEvent(event)

    def _choosing_tank(self) -> bool:
        return bool(self._spec.tanks) and not self._tank

    def _choose_tank_by_digit(self, digit: int) -> None:
        at = (digit or 10) - 1  # as the digits stand on a keyboard
        if at < len(self._spec.tanks):
            self._choose_tank(self._spec.tanks[at].key)

    @Slot(str)
    def _choose_tank(self, key: str) -> None:
        typed = self.values() if self._tank else {}
        self._tank = key
        self._say_note()
        if self.tanks is not None:
            self.tanks.choose(key)
        self._set_doubt(on=False)
        self._ask_for(self._spec.fields_of(key), typed)
        self.grid.setEnabled(True)
        self._fit()
        self._begin()
        self.changed.emit()

    def _say_note(self) -> None:
        note = self._spec.note_of(self._tank)
        self.note.setText(note)
        self.note.setVisible(bool(note))

    def _begin(self) -> None:
        first = next(iter(self._walk()), None)
        if self._choosing_tank() or first is None:
            self.setFocus()
            self.pad.set_typing(possible=self._choosing_tank())
            self.message.say(tr("Choose a tank.") if self._choosing_tank() else "")
        else:
            self.message.clear()
            self._current = first  # also where another window has the keyboard just now
            first.setFocus(Qt.FocusReason.OtherFocusReason)
        self._name_next()

    @Slot()
    def _go_on(self) -> None:
        if self._doubted:
            self._back_out()
        elif self._choosing_tank():
            self.message.warn(tr("Choose a tank first: press its number."))
        elif not self._step(1):
            self._submit()

    @Slot(str)
    def _type(self, sign: str) -> None:
        if self._choosing_tank():
            if sign.isdigit():
                self._choose_tank_by_digit(int(sign))
        else:
            super()._type(sign)

    @Slot()
    def _edit(self) -> None:
        self._set_doubt(on=False)
        super()._edit()

    # Saving and leaving

    @Slot()
    def _submit(self) -> None:
        if self._doubted:
            self._back_out()
        elif self._choosing_tank():
            self._go_on()
        elif missing := self.grid.missing():
            self.show_faults(missing)
        else:
            self.submitted.emit(TypedEntry(self._tank, self.values(), sure=False))

    @Slot()
    def _save_anyway(self) -> None:
        if self._doubted:
            self.submitted.emit(TypedEntry(self._tank, self.values(), sure=True))

    @Slot()
    def _back_out(self) -> None:
        if self._doubted:
            self._set_doubt(on=False)
            (self._current or self).setFocus(Qt.FocusReason.OtherFocusReason)
            return
        self.shut()
        self.left.emit()

    def _set_doubt(self, *, on: bool) -> None:
        self._doubted = on
        self.save.set_label(tr("Change it") if on else self._spec.save or tr("Save"))
        self.leave.setVisible(not on)
        self.anyway.setVisible(on)
        self.anyway.set_label(self._spec.anyway or tr("Save it all the same"))
        if not on:
            self.message.clear()
        self._name_next()

    def _next_word(self) -> str:
        if self._doubted:
            return tr("Change it")
        word = super()._next_word()
        return self._spec.save or word if word == tr("Save") else word

    # Lay-out

    def _offer_tanks(self) -> None:
        if self.tanks is not None:
            self.tanks.hide()
            self.tanks.deleteLater()
            self.tanks = None
        if len(self._spec.tanks) > 1:
            pairs = tuple((tank.key, tank.label) for tank in self._spec.tanks)
            digits = tuple(str((at + 1) % 10) for at in range(min(len(pairs), 10)))
            row = ChoiceRow(pairs, self._spec.tank, self, keys=digits)
            room, wide = self.column_px(), row.sizeHint().width()
            if wide > room:  # into two lines
                row.hide()
                row.deleteLater()
                across = (len(pairs) + 1) // 2
                row = ChoiceRow(pairs, self._spec.tank, self, keys=digits, across=across)
            self.tanks = row
            row.chosen.connect(self._choose_tank)
            if wide > room - self.title.sizeHint().width() - _HEAD_PX:
                self._column.insertWidget(1, row)
            else:
                self._head.insertWidget(1, row)
