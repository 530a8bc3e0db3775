"""Fields with a label above and room for a fault below: text, choice, list, and many of a few."""

from collections.abc import Callable

from PySide6.QtCore import QEvent, QObject, Qt, Signal, Slot
from PySide6.QtGui import QFocusEvent, QKeyEvent, QWheelEvent
from PySide6.QtWidgets import (
    QComboBox,
    QLineEdit,
    QSizePolicy,
    QStyledItemDelegate,
    QWidget,
)

from washmon.gui.kit import theme
from washmon.gui.kit.boxes import STRETCH, hbox, vbox
from washmon.gui.kit.buttons import ChoiceRow, PressButton, Rank
from washmon.gui.kit.fault_line import FaultLine, mark_fault
from washmon.gui.kit.flow import FlowLayout
from washmon.gui.kit.spoken import SpokenRole, speak_as
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size


class FormField(QWidget):
    """Label, input, hint and fault, from top to bottom.

    Whoever makes the input hands it to ``_hold`` with the ways to read it and to write into it;
    before that there is nothing in the field, and nothing can be put there.
    """

    changed = Signal()

    def __init__(
        self, key: str, label: str, *, hint: str = "", parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.key = key
        self.label = Text(label, Size.SMALL, bold=True, parent=self)
        self.label.setVisible(bool(label))
        self.hint = Text(hint, Size.SMALL, tone=Tone.SOFT, wrapped=True, parent=self)
        self.hint.setVisible(bool(hint))
        self.fault = FaultLine(self)
        self._column = vbox(self.label, self.hint, self.fault, STRETCH, on=self, gap_px=3)
        self._read: Callable[[], str] = str  # nothing: the empty text
        self._write: Callable[[str], object] = str
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Minimum)

    @property
    def text(self) -> str:
        """What stands in the field, without blanks around it: typed words, or a choice's key."""
        return self._read()

    def put(self, text: str) -> None:
        """Put a value in place, without telling ``changed``."""
        self._write(text)

    def show_fault(self, sentence: str) -> None:
        """Show a sentence under the field; an empty one takes it away."""
        self.fault.say(sentence)
        proxy = self.focusProxy()
        if proxy is not None:
            mark_fault(proxy, at_fault=bool(sentence))

    def _hold(
        self,
        widget: QWidget,
        focus: QWidget,
        read: Callable[[], str],
        write: Callable[[str], object],
    ) -> None:
        """Put the input between label and hint."""
        self._read, self._write = read, write
        self._column.insertWidget(1, widget)
        focus.setAccessibleName(self.label.text())
        focus.setAccessibleDescription(self.hint.text())
        self.setFocusProxy(focus)

    @Slot()
    def _tell(self) -> None:
        self.show_fault("")
        self.changed.emit()


class TextField(FormField):
    """A line of text or a number, its unit at the right end."""

    def __init__(
        self,
        key: str,
        label: str,
        *,
        value: str = "",
        unit: str = "",
        hint: str = "",
        example: str = "",
        secret: bool = False,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(key, label, hint=hint, parent=parent)
        self.line = QLineEdit(value, self)
        self.line.setFont(theme.font(Size.BODY, tabular=True))
        self.line.setPlaceholderText(example)
        self.line.setMaxLength(500)
        if secret:
            self.line.setEchoMode(QLineEdit.EchoMode.Password)
        self._unit = Text(unit, Size.SMALL, tone=Tone.SOFT, parent=self.line)
        self._unit.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        hbox(STRETCH, self._unit, on=self.line, margins_px=(0, 0, 12, 0))
        self.set_unit(unit)
        self._hold(self.line, self.line, self._typed, self.line.setText)
        self.line.textEdited.connect(self._tell)

    def _typed(self) -> str:
        return self.line.text().strip()

    def set_unit(self, unit: str) -> None:
        """Show another unit at the right end."""
        self._unit.setText(unit)
        self._unit.setVisible(bool(unit))
        self.line.setTextMargins(0, 0, self._unit.sizeHint().width() + 8 if unit else 0, 0)


class ChoiceField(FormField):
    """A few alternatives as big toggles."""

    def __init__(
        self,
        key: str,
        label: str,
        choices: tuple[tuple[str, str], ...],
        *,
        value: str = "",
        hint: str = "",
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(key, label, hint=hint, parent=parent)
        self.row = ChoiceRow(choices, value, self)
        self.row.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self._hold(self.row, self.row, self._chosen, self.row.choose)
        self.row.chosen.connect(self._tell)
        self.row.installEventFilter(self)

    def _chosen(self) -> str:
        """Return the key of what is chosen, empty when nothing is."""
        return self.row.selected

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Show where the keyboard is, and let the arrows choose."""
        if watched is self.row and isinstance(event, QFocusEvent):
            self.row.show_focus(on=event.gotFocus())
        if isinstance(event, QKeyEvent) and event.type() is QEvent.Type.KeyPress:
            by = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}.get(Qt.Key(event.key()))
            if by is not None:
                self.row.step(by)
                return True
        return super().eventFilter(watched, event)


class StillCombo(QComboBox):
    """A list that the wheel does not turn: scrolling past it never changes a value."""

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Hand the wheel on to the form."""
        event.ignore()


class ListField(FormField):
    """One of many, in a list that drops down."""

    def __init__(
        self,
        key: str,
        label: str,
        choices: tuple[tuple[str, str], ...],
        *,
        value: str = "",
        hint: str = "",
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(key, label, hint=hint, parent=parent)
        self.combo = StillCombo(self)
        self.combo.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.combo.setSizeAdjustPolicy(
            QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon
        )
        self.combo.setMinimumContentsLength(8)
        self.combo.setItemDelegate(
            QStyledItemDelegate(self.combo)
        )  # rows as high as the sheet says
        self.offer(choices, value)
        self._hold(self.combo, self.combo, self._chosen, self._choose)
        self.combo.activated.connect(self._tell)

    def offer(self, choices: tuple[tuple[str, str], ...], value: str = "") -> None:
        """Offer other choices; nothing is chosen until a known ``value`` is."""
        self.combo.clear()
        for key, words in choices:
            self.combo.addItem(words, key)
        self._choose(value)

    def _chosen(self) -> str:
        """Return the key of what is chosen, empty when nothing is."""
        return str(self.combo.currentData() or "")

    def _choose(self, text: str) -> None:
        """Choose by key; an unknown one leaves nothing chosen."""
        self.combo.setCurrentIndex(self.combo.findData(text) if text else -1)


class ManyField(FormField):
    """Several of a few alternatives, as big toggles; their keys stand with commas between."""

    def __init__(
        self,
        key: str,
        label: str,
        choices: tuple[tuple[str, str], ...],
        *,
        value: str = "",
        hint: str = "",
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(key, label, hint=hint, parent=parent)
        self.row = QWidget(self)
        speak_as(self.row, SpokenRole.Grouping)
        lines = FlowLayout(self.row)
        self.buttons: dict[str, PressButton] = {}
        for one, words in choices:
            button = PressButton(words, Rank.TOGGLE, parent=self.row)
            button.setCheckable(True)
            button.clicked.connect(self._tell)
            lines.addWidget(button)
            self.buttons[one] = button
        first = next(iter(self.buttons.values()), self.row)
        self._hold(self.row, first, self._pressed, self._press)
        self.row.setAccessibleName(label)
        for button in self.buttons.values():
            button.setAccessibleName(button.text())
        self.put(value)

    def _pressed(self) -> str:
        return ",".join(key for key, button in self.buttons.items() if button.isChecked())

    def _press(self, text: str) -> None:
        wanted = text.split(",")
        for key, button in self.buttons.items():
            button.setChecked(key in wanted)
