"""The sheet that opens over the lower half of the window to take an entry in seconds."""

from PySide6.QtCore import QEvent, QObject, Qt, Signal, Slot
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QVBoxLayout, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.buttons import ChoiceRow, PressButton, Rank
from washmon.gui.kit.entry_field import EntryField
from washmon.gui.kit.field_grid import FieldGrid
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.number_pad import NumberPad
from washmon.gui.kit.sheet_spec import Entry, Kind, SheetSpec
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size

_HEIGHT_PX = 430
_BESIDE = 5  # as many tanks find room beside the title
_ACROSS = 6  # and as many in a line below it: more go into two
_ENTER = (Qt.Key.Key_Return, Qt.Key.Key_Enter)


class EntrySheet(QFrame):
    """Asks for a tank and its fields, in place.

    A digit chooses the tank; Enter goes on and saves at the end; Up and Shift+Tab go back; Esc
    leaves. It stays open until the owner calls ``shut``: after ``submitted`` the owner either
    shuts it, or calls ``show_faults`` or ``ask_doubt``.
    """

    submitted = Signal(object)
    left = Signal()

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setObjectName("sheet")
        self._over = parent
        self._spec = SheetSpec("")
        self._tank = ""
        self._current: EntryField | None = None
        self._doubted = False
        self.title = Text("", Size.TITLE, bold=True)
        self.note = Text("", Size.SMALL, tone=Tone.SOFT, wrapped=True)
        self.tanks: ChoiceRow | None = None
        self.grid = self.make_grid()
        self.message = MessageLine()
        self.pad = NumberPad()
        self.save = PressButton(tr("Save"), Rank.PRIMARY)
        self.leave = PressButton(tr("Leave"), Rank.SECONDARY, "Esc", bound=False)
        self._lay_out()
        self.pad.typed.connect(self._type)
        self.pad.erased.connect(self._erase)
        self.pad.went_on.connect(self._go_on)
        self.save.clicked.connect(self._submit)
        self.leave.clicked.connect(self._back_out)
        parent.installEventFilter(self)
        self.hide()

    def make_grid(self) -> FieldGrid:
        """Return what lays the fields out."""
        return FieldGrid(self)

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
        self._set_doubt(on=False)
        self.title.setText(spec.title)
        self._offer_tanks()
        only = spec.tanks[0].key if len(spec.tanks) == 1 else ""
        self._tank = spec.tank or only
        self._say_note()
        self.grid.ask(spec.fields_of(self._tank), {}, self._enter_field, self._edit)
        self.grid.setEnabled(bool(self._tank) or not spec.tanks)
        self.show()
        self._fit()
        self.raise_()
        self._begin()

    def shut(self) -> None:
        """Close without telling."""
        self.hide()
        self._current = None

    def field(self, key: str) -> EntryField:
        """Return one field by its key.

        Raises:
            KeyError: the sheet has no such field now.
        """
        return self.grid.fields[key]

    def values(self) -> dict[str, str]:
        """Return what stands in the fields, raw."""
        return {key: field.text for key, field in self.grid.fields.items()}

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
        self._fit()

    def ask_doubt(self, sentences: tuple[str, ...]) -> None:
        """Ask once about unlikely values: Enter again saves, Esc goes back to change them."""
        self._set_doubt(on=True)
        self.message.doubt(" ".join(sentences))
        self.save.setFocus()
        self._fit()

    # Keys and fingers

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Walk through the fields by keyboard."""
        key = Qt.Key(event.key())
        if key is Qt.Key.Key_Escape:
            self._back_out()
        elif key in _ENTER:
            whole = event.modifiers() & Qt.KeyboardModifier.ControlModifier
            self._submit() if whole or self._doubted else self._go_on()
        elif key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self._step(-1 if key is Qt.Key.Key_Up else 1)
        elif self._choosing_tank() and event.text().isdigit():
            self._choose_tank_by_digit(int(event.text()))
        else:
            super().keyPressEvent(event)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Keep to the lower half of the parent."""
        if watched is self._over and event.type() is QEvent.Type.Resize and self.isVisible():
            self._fit()
        return False

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
        self.grid.ask(self._spec.fields_of(key), typed, self._enter_field, self._edit)
        self.grid.setEnabled(True)
        self._fit()
        self._begin()

    def _say_note(self) -> None:
        note = self._spec.note_of(self._tank)
        self.note.setText(note)
        self.note.setVisible(bool(note))

    def _begin(self) -> None:
        first = next(iter(self._walk()), None)
        if self._choosing_tank() or first is None:
            self._current = None
            self.setFocus()
            self.pad.set_typing(possible=self._choosing_tank())
            self.message.say(tr("Choose a tank.") if self._choosing_tank() else "")
        else:
            self.message.clear()
            first.setFocus(Qt.FocusReason.OtherFocusReason)
        self._name_next()

    def _walk(self) -> list[EntryField]:
        """Return the fields that Enter visits, in order."""
        return [field for field in self.grid.fields.values() if not field.spec.aside]

    @Slot()
    def _go_on(self) -> None:
        if self._doubted:
            self._submit()
        elif self._choosing_tank():
            self.message.warn(tr("Choose a tank first: press its number."))
        elif not self._step(1):
            self._submit()

    def _step(self, by: int) -> bool:
        """Move to the next or the last field; tell whether there was one."""
        fields = list(self.grid.fields.values())
        at = fields.index(self._current) if self._current in fields else -1
        ahead = fields[at + 1 :] if by > 0 else fields[:at][::-1] if at > 0 else []
        goal = next((field for field in ahead if not field.spec.aside), None)
        if goal is not None:
            goal.setFocus(Qt.FocusReason.TabFocusReason)
        return goal is not None

    @Slot(str)
    def _type(self, sign: str) -> None:
        if self._choosing_tank():
            if sign.isdigit():
                self._choose_tank_by_digit(int(sign))
        elif self._current is not None:
            self._current.type(sign)

    @Slot()
    def _erase(self) -> None:
        if self._current is not None:
            self._current.erase()

    @Slot(QObject)
    def _enter_field(self, field: QObject) -> None:
        if isinstance(field, EntryField):
            self._current = field
            self.pad.set_typing(possible=field.spec.kind is Kind.NUMBER)
            self._name_next()

    @Slot()
    def _edit(self) -> None:
        self._set_doubt(on=False)

    # Saving and leaving

    @Slot()
    def _submit(self) -> None:
        if self._choosing_tank():
            self._go_on()
            return
        if missing := self.grid.missing():
            self.show_faults(missing)
            return
        self.submitted.emit(Entry(self._tank, self.values(), sure=self._doubted))

    @Slot()
    def _back_out(self) -> None:
        if self._doubted:
            self._set_doubt(on=False)
            if self._current is not None:
                self._current.setFocus(Qt.FocusReason.OtherFocusReason)
            return
        self.shut()
        self.left.emit()

    def _set_doubt(self, *, on: bool) -> None:
        self._doubted = on
        self.save.set_label(tr("Save it all the same") if on else self._spec.save or tr("Save"))
        self.leave.set_label(tr("Change it") if on else tr("Leave"))
        if not on:
            self.message.clear()
        self._name_next()

    def _name_next(self) -> None:
        walk = self._walk()
        last = self._doubted or (bool(walk) and self._current is walk[-1])
        self.pad.name_next(tr("Save") if last else tr("Next"))

    # Lay-out

    def _lay_out(self) -> None:
        self._head = QHBoxLayout()
        self._head.setSpacing(16)
        self._head.addWidget(self.title)
        self._head.addStretch(1)
        foot = QHBoxLayout()
        foot.setSpacing(8)
        foot.addWidget(self.message, 1)
        foot.addWidget(self.save)
        foot.addWidget(self.leave)
        self._column = column = QVBoxLayout()
        column.setSpacing(10)
        column.addLayout(self._head)
        column.addWidget(self.note)
        column.addWidget(self.grid)
        column.addStretch(1)
        column.addLayout(foot)
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(20, 14, 20, 16)
        self._row.setSpacing(24)
        self._row.addLayout(column, 1)
        self._row.addWidget(self.pad)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)  # a click beside a field leaves it its focus

    def _offer_tanks(self) -> None:
        if self.tanks is not None:
            self.tanks.hide()
            self.tanks.deleteLater()
            self.tanks = None
        if len(self._spec.tanks) > 1:
            pairs = tuple((tank.key, tank.label) for tank in self._spec.tanks)
            digits = tuple(str((at + 1) % 10) for at in range(min(len(pairs), 10)))
            across = (len(pairs) + 1) // 2 if len(pairs) > _ACROSS else 0
            self.tanks = ChoiceRow(pairs, self._spec.tank, self, keys=digits, across=across)
            self.tanks.chosen.connect(self._choose_tank)
            if len(pairs) > _BESIDE:
                self._column.insertWidget(1, self.tanks)
            else:
                self._head.insertWidget(1, self.tanks)

    def _fit(self) -> None:
        """Cover the lower half of the parent: less where it is tall, more if fields need it."""
        room = self._over.rect()
        # The width first: it decides into how many lines the fields break.
        self.resize(room.width(), self.height())
        self.grid.updateGeometry()  # the lay-outs around it may remember other lines than these
        self._row.activate()
        half = min(room.height() // 2, _HEIGHT_PX)
        height = min(max(half, self.sizeHint().height()), room.height())
        self.setGeometry(0, room.height() - height, room.width(), height)
