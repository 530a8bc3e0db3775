"""A list at the left and one form per entry at the right: for tanks and for products."""

from collections.abc import Callable, Iterator
from typing import Any, Generic, TypeVar

from PySide6.QtCore import QSignalBlocker, QSize, Qt, Signal, Slot
from PySide6.QtWidgets import (
    QListWidget,
    QListWidgetItem,
    QStackedWidget,
    QWidget,
)

from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import hbox, keep_width, vbox
from washmon.gui.kit.buttons import PressButton
from washmon.gui.kit.confirm import ask
from washmon.gui.kit.form_fields import FormField, TextField
from washmon.gui.setup_guide.layout import FieldForm

LIST_PX = 218


class Listed(FieldForm):
    """A form that a list has a line for; ``named`` tells that the line reads otherwise now."""

    named = Signal()

    @property
    def label(self) -> str:
        """What the list says."""
        return ""


class RosterForm(Listed):
    """A form whose first field is the name that it has in a list."""

    def __init__(self, caption: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.name = self.enter("name", TextField("", caption))
        self.name.changed.connect(self.named)

    @property
    def label(self) -> str:
        """What the list says."""
        return self.name.text or tr("(no name)")


EntryT = TypeVar("EntryT", bound=Listed)


class Roster(QWidget, Generic[EntryT]):
    """Forms in order; what is typed in one stays while another is shown."""

    left = Signal()
    changed = Signal()

    def __init__(self, *, in_order: bool, parent: QWidget | None = None) -> None:
        """``in_order`` numbers the entries and lets them be moved."""
        super().__init__(parent)
        self._numbered = in_order
        self._forms: list[EntryT] = []
        self.list = QListWidget(self)
        self.list.setObjectName("roster")
        keep_width(self.list, LIST_PX)
        self.list.setAccessibleName(tr("List"))
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.setTextElideMode(Qt.TextElideMode.ElideRight)
        self.stack = QStackedWidget(self)
        self.up = PressButton(tr("Up"), parent=self, then=self._move_up)
        self.down = PressButton(tr("Down"), parent=self, then=self._move_down)
        self.remove = PressButton(tr("Remove"), parent=self, then=self._ask_to_remove)
        self.adders = vbox(gap_px=6)
        moves = hbox(gap_px=6)
        for button in (self.up, self.down):
            button.setVisible(in_order)
            moves.addWidget(button)
        hbox(
            vbox((self.list, 1), self.adders, moves, self.remove, gap_px=6),
            (self.stack, 1),
            on=self,
            gap_px=12,
        )
        self.list.currentRowChanged.connect(self._turn_to)

    @property
    def forms(self) -> tuple[EntryT, ...]:
        """The forms in the order of the list."""
        return tuple(self._forms)

    @property
    def at(self) -> int:
        """The place of the form that is shown; -1 when there is none."""
        return self.list.currentRow()

    def add(self, form: EntryT, at: int | None = None) -> None:
        """Add a form at the end, or at a place, and show it."""
        place = len(self._forms) if at is None else at
        self._forms.insert(place, form)
        self.stack.addWidget(form)
        item = QListWidgetItem()
        item.setSizeHint(QSize(0, 48))
        with QSignalBlocker(self.list):
            self.list.insertItem(place, item)
        form.left.connect(self.left)
        form.changed.connect(self.changed)
        form.named.connect(self.rename)
        self.turn_to(place)

    def clear(self) -> None:
        """Take all forms away."""
        with QSignalBlocker(self.list):
            self.list.clear()
        while self._forms:
            self._drop(self._forms[0])
        self._turn_to(-1)

    def turn_to(self, at: int) -> None:
        """Show the form at a place."""
        with QSignalBlocker(self.list):
            self.list.setCurrentRow(at)
        self._turn_to(at)

    def turn_on(self) -> bool:
        """Show the next form; False when the last one is shown."""
        if self.at + 1 >= self.list.count():
            return False
        self.turn_to(self.at + 1)
        return True

    def fields(self, root: str) -> Iterator[tuple[str, FormField]]:
        """Yield the fields of all forms with their paths under a root."""
        for at, form in enumerate(self._forms):
            yield from form.fields(f"{root}.{at}")

    def arrange(self, order: Callable[[EntryT], Any]) -> None:
        """Put the forms in order; the one that is shown stays in front."""
        shown = self._forms[self.at] if 0 <= self.at < len(self._forms) else None
        self._forms.sort(key=order)
        if shown is not None:
            self.turn_to(self._forms.index(shown))

    @Slot()
    def rename(self) -> None:
        """Write the list anew."""
        for at, form in enumerate(self._forms):
            number = f"{at + 1}   " if self._numbered else ""
            self.list.item(at).setText(number + form.label)
        self.remove.setEnabled(bool(self._forms))
        self.up.setEnabled(self.at > 0)
        self.down.setEnabled(0 <= self.at < len(self._forms) - 1)

    @Slot(int)
    def _turn_to(self, at: int) -> None:
        if 0 <= at < len(self._forms):
            self.stack.setCurrentWidget(self._forms[at])
        self.rename()

    @Slot()
    def _move_up(self) -> None:
        self._move(-1)

    @Slot()
    def _move_down(self) -> None:
        self._move(1)

    def _move(self, by: int) -> None:
        at = self.at
        self._forms.insert(at + by, self._forms.pop(at))
        self.turn_to(at + by)
        self._tell()

    @Slot()
    def _ask_to_remove(self) -> None:
        name = self._forms[self.at].label
        question = ask(self, tr("Remove {name}?", name=name), tr("Remove"), tr("Keep"))
        question.answered.connect(self._answer)

    @Slot(bool)
    def _answer(self, yes: bool) -> None:  # noqa: FBT001 (a signal's argument)
        if yes:
            at = self.at
            with QSignalBlocker(self.list):
                self.list.takeItem(at)
            self._drop(self._forms[at])
            self.turn_to(min(at, len(self._forms) - 1))
            self._tell()

    def _drop(self, form: EntryT) -> None:
        self._forms.remove(form)
        self.stack.removeWidget(form)
        form.hide()
        form.deleteLater()

    def _tell(self) -> None:
        self.changed.emit()
        self.left.emit()
