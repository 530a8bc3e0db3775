"""One field of an entry sheet: label, what is typed or chosen, unit, and its fault.

Lays the fields of a sheet out in as many columns as there is room for.
"""

from collections.abc import Callable

from PySide6.QtCore import QEvent, QObject, QSize, Qt, Signal, Slot
from PySide6.QtGui import QFocusEvent, QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLineEdit, QScrollArea, QSizePolicy, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.boxes import STRETCH, add, hbox, vbox
from washmon.gui.kit.buttons import ChoiceRow
from washmon.gui.kit.message_line import FaultLine, mark_fault
from washmon.gui.kit.sheet_spec import FieldKind, FieldSpec
from washmon.gui.kit.text import ShortText, Text, Tone, Weight
from washmon.gui.kit.theme import Size

DIGITS_ONLY = "digitsOnly"
"""A property of the line of a field beside which a pad of digits stands."""


class EntryField(QWidget):
    """Draws a ``FieldSpec``; ``entered`` tells of the focus, ``edited`` of a change."""

    entered = Signal(QObject)
    edited = Signal()

    def __init__(self, spec: FieldSpec, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.spec = spec
        self._head = self._make_head()
        column = vbox(self._head, on=self, gap_px=3)
        self._line: QLineEdit | None = None
        self._choices: ChoiceRow | None = None
        if spec.kind is FieldKind.CHOICE:
            self._choices = ChoiceRow(spec.choices, spec.value or spec.last, self)
            self._choices.chosen.connect(self._choose)
            self._choices.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            column.addWidget(self._choices)
        else:
            self._line = self._make_line()
            column.addWidget(self._line)
        self.input.installEventFilter(self)
        self.input.setAccessibleName(f"{spec.label} {spec.unit}".strip())
        self.fault = FaultLine(self)
        add(column, self.fault, STRETCH)
        self.setFocusProxy(self.input)
        policy = QSizePolicy.Policy
        self.setSizePolicy(policy.Expanding if self.is_wide else policy.Preferred, policy.Fixed)

    @property
    def input(self) -> QWidget:
        """What takes the focus."""
        chosen = self._line if self._line is not None else self._choices
        assert chosen is not None  # noqa: S101 (one of the two is always made)
        return chosen

    def hide_head(self) -> None:
        """Leave its name out, where it stands over the column."""
        for at in range(self._head.count()):
            item = self._head.itemAt(at)
            widget = None if item is None else item.widget()
            if widget is not None:
                widget.hide()

    @property
    def head_px(self) -> int:
        """How much room its name and hint take side by side."""
        return self._head.sizeHint().width()

    @property
    def is_wide(self) -> bool:
        """Whether it takes the room of several numbers."""
        return self.spec.kind is not FieldKind.NUMBER

    @property
    def text(self) -> str:
        """What was typed or chosen, raw."""
        if self._choices is not None:
            return self._choices.selected
        return self._line.text().strip() if self._line is not None else ""

    def put(self, text: str) -> None:
        """Put text or a choice in place, as if typed."""
        if self._line is not None:
            self._line.setText(text)
        elif self._choices is not None:
            self._choices.choose(text)

    def turn(self) -> None:
        """Choose the next of its choices, after the last the first."""
        keys = [key for key, _ in self.spec.choices]
        if self._choices is not None and keys:
            at = keys.index(self.text) if self.text in keys else -1
            self._choices.choose(keys[(at + 1) % len(keys)])
            self._change("")

    def type(self, sign: str) -> None:
        """Type one sign at the cursor."""
        if self._line is not None:
            self._line.insert(sign)

    def erase(self) -> None:
        """Take the last sign back."""
        if self._line is not None:
            self._line.backspace()

    def show_fault(self, sentence: str) -> None:
        """Show a sentence under the field; an empty one takes it away."""
        self.fault.say(sentence)
        if self._line is not None:
            mark_fault(self._line, at_fault=bool(sentence))

    def _make_head(self) -> QHBoxLayout:
        aside = self.spec.hint or (tr("needed") if self.spec.required else "")
        return hbox(
            ShortText(self.spec.label, Size.SMALL, bold=True, parent=self),
            Text(aside, Size.TINY, tone=Tone.SOFT, parent=self),
            STRETCH,
            gap_px=6,
        )

    def _make_line(self) -> QLineEdit:
        line = QLineEdit(self.spec.value, self)
        number = self.spec.kind is FieldKind.NUMBER
        line.setProperty(DIGITS_ONLY, number)
        size = Size.LARGE if number else Size.LEAD
        line.setFont(theme.font(size, Weight.DemiBold if number else Weight.Normal, tabular=number))
        line.setPlaceholderText(self.spec.last)
        line.setMaxLength(500 if self.spec.kind is FieldKind.TEXT else 40)
        if self.spec.unit:
            unit = Text(self.spec.unit, Size.SMALL, tone=Tone.SOFT, parent=line)
            unit.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
            hbox(STRETCH, unit, on=line, margins_px=(0, 0, 12, 0))
            line.setTextMargins(0, 0, unit.sizeHint().width() + 10, 0)
        line.setMinimumWidth(118)
        line.textChanged.connect(self._change)
        return line

    @Slot(str)
    def _choose(self, text: str) -> None:
        if not self.spec.aside:  # a finger on a toggle brings the walk here; aside it does not
            self.setFocus(Qt.FocusReason.MouseFocusReason)
        self._change(text)

    @Slot(str)
    def _change(self, _text: str) -> None:
        self.show_fault("")
        self.edited.emit()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Tell when the input takes the focus; let arrows and digits choose in a row of toggles."""
        if isinstance(event, QFocusEvent) and event.gotFocus():
            self.entered.emit(self)
        if self._choices is not None and watched is self._choices:
            if isinstance(event, QFocusEvent):
                self._choices.show_focus(on=event.gotFocus())
            if isinstance(event, QKeyEvent) and event.type() is QEvent.Type.KeyPress:
                return self._choose_by_key(self._choices, event)
        return False

    def _choose_by_key(self, row: ChoiceRow, event: QKeyEvent) -> bool:
        steps = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}
        key = Qt.Key(event.key())
        if key in steps:
            row.step(steps[key])
            return True
        if event.text().isdigit() and 1 <= int(event.text()) <= len(self.spec.choices):
            row.choose(self.spec.choices[int(event.text()) - 1][0])
            self._change("")
            return True
        return False


_COLUMN_PX = 138
_GAP_PX = 12
_LEAST_PX = 80
_LONG_PX = 170  # a number whose name and hint need more takes two columns


class FieldArea(QScrollArea):
    """Shows a grid as tall as it likes to be, and scrolls it where there is less room."""

    def __init__(self, grid: "FieldGrid", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._fields = grid
        grid.setObjectName("scrolled")
        self.setWidget(grid)
        self.setWidgetResizable(True)
        self.setFrameShape(QScrollArea.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Maximum)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Break the fields into as many columns as there is room for."""
        self._fields.break_at(self.viewport().width())
        super().resizeEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Leave the arrows to the sheet: they walk through the fields."""
        event.ignore()

    def sizeHint(self) -> QSize:
        """Return all that the grid needs at the width that it has."""
        hint = self._fields.sizeHint()
        if self._fields.hasHeightForWidth():
            hint.setHeight(self._fields.heightForWidth(max(self.width(), 1)))
        return hint

    def minimumSizeHint(self) -> QSize:
        """Return room for one field."""
        least = self._fields.minimumSizeHint().width()
        return QSize(least, min(self.sizeHint().height(), _LEAST_PX))


class FieldGrid(QWidget):
    """Holds ``EntryField``s by key, in the order in which Enter walks them."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.fields: dict[str, EntryField] = {}
        self._columns = 0
        self._room_px = 0
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(_GAP_PX)
        self._grid.setVerticalSpacing(8)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Minimum)

    def ask(
        self,
        specs: tuple[FieldSpec, ...],
        typed: dict[str, str],
        entered: Callable[[EntryField], None],
        edited: Callable[[], None],
    ) -> None:
        """Make the fields of ``specs``; keep in them what was ``typed`` already."""
        for old in self.fields.values():
            old.hide()
            self._grid.removeWidget(old)
            old.deleteLater()
        self.fields = {spec.key: EntryField(spec, self) for spec in specs}
        before: EntryField | None = None
        for key, field in self.fields.items():
            if typed.get(key):
                field.put(typed[key])
            field.entered.connect(entered)
            field.edited.connect(edited)
            if before is not None:
                QWidget.setTabOrder(before.input, field.input)
            before = field
        self._columns = 0
        self._arrange()

    @property
    def is_measured(self) -> bool:
        """Whether Enter visits any number."""
        specs = (field.spec for field in self.fields.values())
        return any(spec.kind is FieldKind.NUMBER and not spec.aside for spec in specs)

    def missing(self) -> dict[str, str]:
        """Return a sentence for each field that is needed and empty, by its key."""
        return {
            key: tr("Needed: type a value.") if field.spec.choices == () else tr("Choose one.")
            for key, field in self.fields.items()
            if field.spec.required and not field.text
        }

    def break_at(self, width_px: int) -> None:
        """Break into lines again when the room has changed."""
        self._room_px = width_px
        self._arrange()

    def _arrange(self) -> None:
        columns = max(1, (self._room_px + _GAP_PX) // (_COLUMN_PX + _GAP_PX))
        if columns == self._columns:
            return
        for at in range(max(columns, self._columns)):
            self._grid.setColumnStretch(at, 1 if at < columns else 0)
            self._grid.setColumnMinimumWidth(at, _COLUMN_PX if at < columns else 0)
        self._columns = columns
        row = column = 0
        for field in self.fields.values():
            span = min(self._span(field), columns)
            if column + span > columns:
                row, column = row + 1, 0
            self._grid.addWidget(field, row, column, 1, span, Qt.AlignmentFlag.AlignTop)
            field.show()
            column += span

    def _span(self, field: EntryField) -> int:
        if field.spec.kind is FieldKind.TEXT:
            return 3
        if field.spec.kind is FieldKind.CHOICE:
            return -(-(field.sizeHint().width() + _GAP_PX) // (_COLUMN_PX + _GAP_PX))
        return 2 if field.head_px > _LONG_PX else 1
