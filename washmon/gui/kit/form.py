"""A form for the set-up guide: labelled fields in sections, faults beside them, rows to repeat."""

from collections.abc import Callable

from PySide6.QtCore import Qt, QTimer, Signal, Slot
from PySide6.QtWidgets import (
    QBoxLayout,
    QFrame,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import STRETCH, Scrolled, add, hbox, keep_width, vbox
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.form_fields import FormField
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size

_FORM_PX = 760


class FieldRow(QWidget):
    """Fields side by side, their labels on one line."""

    def __init__(self, *fields: FormField, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        hbox(*((field, 1, Qt.AlignmentFlag.AlignTop) for field in fields), on=self, gap_px=12)


class RepeatRows(QWidget):
    """A list of like rows; people add one and take one away.

    ``make`` returns a new row. ``added`` and ``removed`` hand over the row itself; a removed row
    is deleted once its receivers have run.
    """

    added = Signal(QWidget)
    removed = Signal(QWidget)

    def __init__(
        self,
        make: Callable[[], QWidget],
        add_words: str,
        *,
        least: int = 0,
        most: int = 99,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._make = make
        self._least = least
        self._most = most
        self.rows: list[QWidget] = []
        self._removers: dict[QWidget, PressButton] = {}
        self.add_button = PressButton(
            add_words, Rank.SECONDARY, parent=self, then=self._add_by_hand
        )
        self._column = vbox((self.add_button, 0, Qt.AlignmentFlag.AlignLeft), on=self, gap_px=8)
        for _ in range(least):
            self.add()

    def add(self) -> QWidget:
        """Put a new row at the end and return it."""
        row = self._make()
        line = QFrame(self)
        line.setObjectName("repeated")
        remover = PressButton(tr("Remove"), Rank.QUIET, parent=line, then=self._remove_by_hand)
        level = QVBoxLayout()  # in line with the inputs, which stand under their labels
        add(level, max(row.sizeHint().height() - remover.sizeHint().height(), 0), remover, STRETCH)
        hbox((row, 1), level, on=line, gap_px=8)
        self._column.insertWidget(self._column.count() - 1, line)
        self.rows.append(row)
        self._removers[row] = remover
        self._allow()
        self.added.emit(row)
        return row

    def remove(self, row: QWidget) -> None:
        """Take a row away."""
        line = row.parentWidget()
        self.rows.remove(row)
        del self._removers[row]
        if line is not None:
            self._column.removeWidget(line)
            line.hide()
            line.deleteLater()
        self._allow()
        self.removed.emit(row)

    def remover(self, row: QWidget) -> PressButton:
        """The button that takes a row away."""
        return self._removers[row]

    def _allow(self) -> None:
        self.add_button.setVisible(len(self.rows) < self._most)
        for remover in self._removers.values():
            remover.setVisible(len(self.rows) > self._least)

    @Slot()
    def _add_by_hand(self) -> None:
        row = self.add()
        first = row.nextInFocusChain()
        if first is not None:
            first.setFocus(Qt.FocusReason.OtherFocusReason)

    @Slot()
    def _remove_by_hand(self) -> None:
        sender = self.sender()
        row = next((row for row, button in self._removers.items() if button is sender), None)
        if row is not None:
            self.remove(row)


class Form(QScrollArea):
    """A scrolling column of sections and fields, of a width that is easy to read."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._reveal_next: FormField | None = None
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._inside = Scrolled()
        self._inside.setObjectName("scrolled")
        column = QWidget(self._inside)
        keep_width(column, _FORM_PX, most=True)
        column.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Minimum)
        hbox((column, 1, Qt.AlignmentFlag.AlignTop), on=self._inside, margins_px=(2, 2, 14, 16))
        self._column = vbox(on=column, gap_px=12)
        self.setWidget(self._inside)

    def add_section(self, title: str, words: str = "") -> None:
        """Begin a section, with a quiet sentence under its title where that helps."""
        if self._column.count():
            self._column.addSpacing(10)
        head = QWidget()
        lines = vbox(Text(title, Size.TITLE, bold=True), on=head, gap_px=0)
        if words:
            lines.addWidget(Text(words, Size.SMALL, tone=Tone.SOFT, wrapped=True))
        self._column.addWidget(head)

    def add(self, widget: QWidget) -> None:
        """Add a field, or anything else, at the foot."""
        self._column.addWidget(widget)

    def add_row(self, *fields: FormField) -> None:
        """Add fields side by side."""
        self._column.addWidget(FieldRow(*fields))

    def fields(self) -> dict[str, FormField]:
        """Return the fields now in the form, by key, those in repeated rows too."""
        found = self._inside.findChildren(FormField)
        return {field.key: field for field in found if field.isVisibleTo(self._inside)}

    def show_faults(self, faults: dict[str, str]) -> bool:
        """Show each sentence under its field and go to the first; tell whether all found one."""
        fields = self.fields()
        for key, field in fields.items():
            field.show_fault(faults.get(key, ""))
        first = next((field for key, field in fields.items() if key in faults), None)
        if first is not None:
            first.setFocus(Qt.FocusReason.OtherFocusReason)
            self._reveal_next = first
            QTimer.singleShot(0, self, self._reveal)  # once the sentences have made their room
        return set(faults) <= set(fields)

    @Slot()
    def _reveal(self) -> None:
        if self._reveal_next is not None:
            self.ensureWidgetVisible(self._reveal_next, 0, 24)
            self._reveal_next = None

    def clear(self) -> None:
        """Take everything out."""
        self._reveal_next = None
        while (item := self._column.takeAt(0)) is not None:
            widget = item.widget()
            if widget is not None:
                widget.hide()
                widget.deleteLater()

    @property
    def column(self) -> QBoxLayout:
        """The lay-out that holds the fields, for what this class has no method for."""
        return self._column
