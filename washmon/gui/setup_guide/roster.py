"""A list at the left and one form per entry at the right: for tanks and for products."""

from collections.abc import Iterator
from typing import Generic, TypeVar

from PySide6.QtCore import QSize, Qt, Signal, Slot
from PySide6.QtWidgets import (
    QHBoxLayout,
    QListWidget,
    QListWidgetItem,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from washmon.gui.i18n import tr
from washmon.gui.kit.buttons import PressButton
from washmon.gui.setup_guide.fields import Field
from washmon.gui.setup_guide.layout import Form

LIST_PX = 218


class Entry(Form):
    """A form that has a name in a list."""

    named = Signal()

    def label(self) -> str:
        """Return what the list says."""
        raise NotImplementedError


EntryT = TypeVar("EntryT", bound=Entry)


class Roster(QWidget, Generic[EntryT]):
    """Forms in order; what is typed in one stays while another is shown."""

    left = Signal()
    changed = Signal()
    removed = Signal()

    def __init__(self, prefix: str = "", *, movable: bool, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._prefix = prefix
        self.list = QListWidget(self)
        self.list.setFixedWidth(LIST_PX)
        self.list.setAccessibleName(tr("List"))
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.setTextElideMode(Qt.TextElideMode.ElideRight)
        self.stack = QStackedWidget(self)
        self.up = PressButton(tr("Up"), parent=self)
        self.down = PressButton(tr("Down"), parent=self)
        self.remove = PressButton(tr("Remove"), parent=self)
        self.adders = QVBoxLayout()
        self.adders.setSpacing(6)
        moves = QHBoxLayout()
        moves.setSpacing(6)
        for button in (self.up, self.down):
            button.setVisible(movable)
            moves.addWidget(button)
        side = QVBoxLayout()
        side.setSpacing(6)
        side.addWidget(self.list, 1)
        side.addLayout(self.adders)
        side.addLayout(moves)
        side.addWidget(self.remove)
        across = QHBoxLayout(self)
        across.setContentsMargins(0, 0, 0, 0)
        across.setSpacing(12)
        across.addLayout(side)
        across.addWidget(self.stack, 1)
        self.list.currentRowChanged.connect(self._turn_to)
        self.up.clicked.connect(self._move_up)
        self.down.clicked.connect(self._move_down)
        self.remove.clicked.connect(self._remove_current)

    @property
    def forms(self) -> list[EntryT]:
        """The forms in the order of the list."""
        found = []
        for at in range(self.list.count()):
            found.append(self.list.item(at).data(Qt.ItemDataRole.UserRole))
        return found

    @property
    def at(self) -> int:
        """The place of the form that is shown; -1 when there is none."""
        return self.list.currentRow()

    def add(self, form: EntryT, at: int | None = None) -> None:
        """Add a form at the end, or at a place, and show it."""
        item = QListWidgetItem()
        item.setSizeHint(QSize(0, 48))
        item.setData(Qt.ItemDataRole.UserRole, form)
        self.stack.addWidget(form)
        self.list.insertItem(self.list.count() if at is None else at, item)
        form.left.connect(self.left)
        form.changed.connect(self.changed)
        form.named.connect(self.rename)
        self.rename()
        self.list.setCurrentItem(item)

    def clear(self) -> None:
        """Take all forms away."""
        for form in self.forms:
            self.stack.removeWidget(form)
            form.deleteLater()
        self.list.clear()
        self.rename()

    def turn_to(self, at: int) -> None:
        """Show the form at a place."""
        self.list.setCurrentRow(at)

    def turn_on(self) -> bool:
        """Show the next form; False when the last one is shown."""
        if self.at + 1 >= self.list.count():
            return False
        self.turn_to(self.at + 1)
        return True

    def fields(self, root: str) -> Iterator[tuple[str, Field]]:
        """Yield the fields of all forms with their paths under a root."""
        for at, form in enumerate(self.forms):
            yield from form.fields(f"{root}.{at}")

    @Slot()
    def rename(self) -> None:
        """Write the list anew."""
        count = self.list.count()
        for at, form in enumerate(self.forms):
            number = f"{at + 1}  " if self._prefix else ""
            self.list.item(at).setText(f"{number}{form.label()}")
        self.remove.setEnabled(count > 0)
        self.up.setEnabled(self.at > 0)
        self.down.setEnabled(0 <= self.at < count - 1)

    @Slot(int)
    def _turn_to(self, at: int) -> None:
        if at >= 0:
            self.stack.setCurrentWidget(self.list.item(at).data(Qt.ItemDataRole.UserRole))
        self.rename()

    @Slot()
    def _move_up(self) -> None:
        self._move(-1)

    @Slot()
    def _move_down(self) -> None:
        self._move(1)

    def _move(self, by: int) -> None:
        at = self.at
        item = self.list.takeItem(at)
        self.list.insertItem(at + by, item)
        self.list.setCurrentRow(at + by)
        self.rename()
        self.changed.emit()
        self.left.emit()

    @Slot()
    def _remove_current(self) -> None:
        item = self.list.takeItem(self.at)
        form = item.data(Qt.ItemDataRole.UserRole)
        self.stack.removeWidget(form)
        form.deleteLater()
        self.rename()
        self.removed.emit()
        self.changed.emit()
        self.left.emit()
