"""Fields with a label above and room for a fault below: text, choice, list, and many of a few."""

from collections.abc import Callable, Sequence

from PySide6.QtCore import QEvent, QObject, Qt, QTimer, Signal, Slot
from PySide6.QtGui import QFocusEvent, QKeyEvent, QWheelEvent
from PySide6.QtWidgets import (
    QComboBox,
    QLineEdit,
    QScrollArea,
    QSizePolicy,
    QStyledItemDelegate,
    QWidget,
)

from washmon.gui.kit import theme
from washmon.gui.kit.boxes import STRETCH, FlowLayout, hbox, vbox
from washmon.gui.kit.buttons import ChoiceRow, PressButton, Rank
from washmon.gui.kit.message_line import FaultLine, mark_fault
from washmon.gui.kit.spoken import SpokenRole, speak_as
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size


class FormField(QWidget):
    """Label, input, and below it a hint or, in its place, a fault.

    Whoever makes the input hands it to ``_hold`` with the ways to read it and to write into it;
    before that there is nothing in the field, and nothing can be put there. Without a ``key`` it is
    one of many on a page that knows it by a name of its own: its label is quiet.

    Signals:
        changed(): the person changed what stands here.
        left(): the person went on from it.
    """

    changed = Signal()
    left = Signal()

    def __init__(
        self, key: str, label: str, *, hint: str = "", parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.key = key
        self.visited = False
        """Whether somebody has been here, so that nobody is scolded early."""
        quiet = not key
        tone = Tone.SOFT if quiet else Tone.PLAIN
        self.label = Text(label, Size.SMALL, bold=not quiet, tone=tone, wrapped=quiet, parent=self)
        self.label.setVisible(bool(label))
        self.hint = Text(hint, Size.SMALL, tone=Tone.SOFT, wrapped=True, parent=self)
        self.fault = FaultLine(self)
        self._column = vbox(self.label, self.hint, self.fault, STRETCH, on=self, gap_px=3)
        self._soon = QTimer(self, singleShot=True, interval=0)
        self._soon.timeout.connect(self._scroll_here)
        self._get: Callable[[], str] = str  # nothing: the empty text
        self._set: Callable[[str], object] = str
        self._target: QWidget | None = None
        if not quiet:
            self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Minimum)
        self.set_hint(hint)

    @property
    def text(self) -> str:
        """What stands in the field, without blanks around it: typed words, or a choice's key."""
        return self._get()

    @property
    def focusable(self) -> bool:
        """Whether there is something to fill in."""
        return self._target is not None

    def put(self, value: object) -> None:
        """Put a value in place, ``None`` for none, without telling ``changed``."""
        self._set("" if value is None else str(value))

    def read(self) -> object:
        """Return what stands here as the value that it means."""
        return self.text

    def problem(self) -> str:
        """Return why what is written cannot be read; empty when it can."""
        return ""

    def reveal(self) -> None:
        """Show faults from now on."""
        self.visited = True

    def show_fault(self, sentence: str) -> None:
        """Show a sentence in place of the hint; an empty one takes it away."""
        self.fault.say(sentence)
        self.hint.setVisible(bool(self.hint.text()) and not sentence)
        if self._target is not None:
            mark_fault(self._target, at_fault=bool(sentence))

    def set_hint(self, hint: str) -> None:
        """Change the hint; a fault that is shown stays."""
        self.hint.setText(hint)
        self.hint.setVisible(bool(hint) and not self.fault.text)

    def focus(self) -> None:
        """Take the keyboard, in sight."""
        self.setFocus(Qt.FocusReason.OtherFocusReason)
        self.come_into_sight()

    def come_into_sight(self) -> None:
        """Scroll to this field, once its page has been laid out."""
        self._soon.start()

    @Slot()
    def _scroll_here(self) -> None:
        parent = self.parentWidget()
        while parent is not None and not isinstance(parent, QScrollArea):
            parent = parent.parentWidget()
        if parent is not None:
            parent.ensureWidgetVisible(self, 0, 24)

    def _hold(
        self,
        widget: QWidget,
        focus: QWidget | None = None,
        read: Callable[[], str] = str,
        write: Callable[[str], object] = str,
    ) -> None:
        """Put the input between label and hint; ``focus`` is the part of it with the keyboard."""
        self._get, self._set, self._target = read, write, focus or widget
        self._column.insertWidget(1, widget)
        self._target.setAccessibleName(self.label.text())
        self._target.setAccessibleDescription(self.hint.text())
        self._target.installEventFilter(self)
        self.setFocusProxy(self._target)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Notice when the keyboard goes elsewhere."""
        if event.type() is QEvent.Type.FocusOut and watched is self._target:
            self._leave()
        return False

    @Slot()
    def _tell(self) -> None:
        self.show_fault("")
        self.changed.emit()

    @Slot()
    def _tell_chosen(self) -> None:
        self._tell()
        self._leave()

    @Slot()
    def _leave(self) -> None:
        self.visited = True
        self.left.emit()


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
        self.editor = QLineEdit(value, self)
        self.editor.setFont(theme.font(Size.BODY, tabular=bool(key)))
        self.editor.setPlaceholderText(example)
        self.editor.setMaxLength(500)
        if secret:
            self.editor.setEchoMode(QLineEdit.EchoMode.Password)
        self._unit = Text(unit, Size.SMALL, tone=Tone.SOFT, parent=self.editor)
        self._unit.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        hbox(STRETCH, self._unit, on=self.editor, margins_px=(0, 0, 12, 0))
        self.set_unit(unit)
        self._came = value
        self._hold(self.editor, None, self._typed, self._put_text)
        self.editor.textEdited.connect(self._tell)

    def read(self) -> str:
        """Return the text; blanks around it belong to it only as they came with it."""
        return self._came if self.editor.text() == self._came else self.text

    def _typed(self) -> str:
        return self.editor.text().strip()

    def _put_text(self, text: str) -> None:
        self._came = text
        self.editor.setText(text)

    def set_unit(self, unit: str) -> None:
        """Show another unit at the right end."""
        self._unit.setText(unit)
        self._unit.setVisible(bool(unit))
        self.editor.setTextMargins(0, 0, self._unit.sizeHint().width() + 8 if unit else 0, 0)


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
        self._hold(self.row, read=lambda: self.row.selected, write=self.row.choose)
        self.row.chosen.connect(self._tell)

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
    """One of many, in a list that drops down; ``of`` makes a value of a key that is not empty."""

    def __init__(
        self,
        key: str,
        label: str,
        choices: Sequence[tuple[str, str]],
        *,
        value: str = "",
        hint: str = "",
        of: Callable[[str], object] = str,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(key, label, hint=hint, parent=parent)
        self._of = of
        self.editor = StillCombo(self)
        self.editor.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.editor.setSizeAdjustPolicy(
            QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon
        )
        self.editor.setMinimumContentsLength(8)
        self.editor.setItemDelegate(
            QStyledItemDelegate(self.editor)
        )  # rows as high as the sheet says
        self.offer(choices, value)
        self._hold(self.editor, read=self._chosen, write=self._choose)
        self.editor.activated.connect(self._tell_chosen)

    def read(self) -> object:
        """Return what is chosen."""
        return self._of(self.text) if self.text else None

    def offer(self, choices: Sequence[tuple[str, str]], value: str = "") -> None:
        """Offer other choices; nothing is chosen until a known ``value`` is."""
        self.editor.clear()
        for key, words in choices:
            self.editor.addItem(words, key)
        self._choose(value)

    def _chosen(self) -> str:
        """Return the key of what is chosen, empty when nothing is."""
        return str(self.editor.currentData() or "")

    def _choose(self, text: str) -> None:
        """Choose by key; an unknown one leaves nothing chosen."""
        self.editor.setCurrentIndex(self.editor.findData(text))


class ManyField(FormField):
    """Several of a few alternatives, as big toggles; their keys stand with commas between.

    ``of`` makes a value of a key.
    """

    def __init__(
        self,
        key: str,
        label: str,
        choices: tuple[tuple[str, str], ...],
        *,
        value: str = "",
        hint: str = "",
        of: Callable[[str], object] = str,
        gap_px: int = 6,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(key, label, hint=hint, parent=parent)
        self._of = of
        self.row = QWidget(self)
        speak_as(self.row, SpokenRole.Grouping)
        lines = FlowLayout(self.row, gap_px=gap_px)
        self.buttons: dict[str, PressButton] = {}
        for one, words in choices:
            button = PressButton(words, Rank.TOGGLE, parent=self.row, then=self._tell_chosen)
            button.setCheckable(True)
            lines.addWidget(button)
            self.buttons[one] = button
        first = next(iter(self.buttons.values()), self.row)
        self._hold(self.row, first, self._pressed, self._press)
        self._target = self.row  # going from one toggle to the next is not leaving the field
        self.row.setAccessibleName(label)
        for button in self.buttons.values():
            button.setAccessibleName(button.text())
        self.put(value)

    def read(self) -> tuple[object, ...]:
        """Return what is pressed."""
        return tuple(self._of(key) for key, button in self.buttons.items() if button.isChecked())

    def put(self, value: object) -> None:
        """Press what a tuple of values or a text of keys names, and nothing else."""
        super().put(",".join(map(str, value)) if isinstance(value, tuple) else value)

    def _pressed(self) -> str:
        return ",".join(key for key, button in self.buttons.items() if button.isChecked())

    def _press(self, text: str) -> None:
        wanted = text.split(",")
        for key, button in self.buttons.items():
            button.setChecked(key in wanted)
