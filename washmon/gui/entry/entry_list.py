"""The entries that can be corrected, newest first."""

from PySide6.QtCore import QEvent, QObject, QSize, Qt, Signal, Slot
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QFrame,
    QListWidget,
    QListWidgetItem,
    QWidget,
)

from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.boxes import STRETCH, hbox, vbox
from washmon.gui.kit.buttons import TOUCH_PX, PressButton, Rank
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.line.events import Correctable, Corrected, ReadingTaken
from washmon.line.fitness import made_with
from washmon.line.journal import Entry
from washmon.line.state import ShiftState
from washmon.rules.event_text import event_text

_ENTER = (Qt.Key.Key_Return, Qt.Key.Key_Enter)


def correctable(shift: ShiftState) -> list[tuple[Entry, Correctable]]:
    """Return the entries that can be corrected with what they say by now, newest first."""
    found = []
    decided = {hold.seq for hold in shift.holds if hold.released is not None}
    for entry in reversed(shift.entries):
        before = shift.corrections.get(entry.seq)
        says = entry.event if before is None else before.instead
        if isinstance(says, Correctable) and entry.seq not in decided:
            found.append((entry, says))
    return found


def original(shift: ShiftState, entry: Entry) -> Entry | None:
    """Return the entry that is meant when this one is to be corrected; nothing if none can be."""
    if isinstance(entry.event, Corrected):
        seq = entry.event.entry
        return next((one for one in shift.entries if one.seq == seq), None)
    return entry if isinstance(entry.event, Correctable) else None


class EntryList(QFrame):
    """Opens over the lower half of its parent; ``picked`` tells the entry."""

    picked = Signal(object)
    left = Signal()

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setObjectName("sheet")
        self._over = parent
        self.list = QListWidget(self)
        self.list.setObjectName("roster")
        self.list.setAccessibleName(tr("Entries of this shift"))
        self.list.setFont(theme.font(Size.BODY, tabular=True))
        self.list.setUniformItemSizes(True)
        self.empty = Text(tr("Nothing was entered yet."), tone=Tone.SOFT, parent=self)
        self.pick = PressButton(
            tr("Correct it"), Rank.PRIMARY, "Enter", bound=False, then=self._pick
        )
        self.leave = PressButton(tr("Leave"), Rank.SECONDARY, "Esc", bound=False, then=self._leave)
        vbox(
            Text(tr("Which entry was wrong?"), Size.TITLE, bold=True),
            self.empty,
            (self.list, 1),
            hbox(STRETCH, self.pick, self.leave),
            on=self,
            gap_px=10,
            margins_px=(20, 14, 20, 16),
        )
        self.list.itemActivated.connect(self._pick)
        parent.installEventFilter(self)
        self.hide()

    def open(self, shift: ShiftState, person: UserContext) -> None:
        """Offer the entries of a shift."""
        self.list.clear()
        for entry, says in correctable(shift):
            words = event_text(says, shift.setup, person.say) + _unfit(shift, entry, says)
            item = QListWidgetItem(f"{says.at:%H:%M}   {words}   {says.by}", self.list)
            item.setData(Qt.ItemDataRole.UserRole, entry)
            item.setSizeHint(QSize(0, TOUCH_PX))
        some = self.list.count() > 0
        self.list.setVisible(some)
        self.empty.setVisible(not some)
        self.pick.setEnabled(some)
        self.list.setCurrentRow(0)
        self._fit()
        self.show()
        self.raise_()
        (self.list if some else self.leave).setFocus()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Take Enter as the choice and Esc as leaving."""
        if event.key() == Qt.Key.Key_Escape:
            self._leave()
        elif event.key() in _ENTER:
            self._pick()
        else:
            super().keyPressEvent(event)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Keep to the lower half of the parent."""
        if watched is self._over and event.type() is QEvent.Type.Resize and self.isVisible():
            self._fit()
        return False

    @Slot()
    def _pick(self) -> None:
        item = self.list.currentItem()
        if item is not None and self.isVisible():
            self.hide()
            self.picked.emit(item.data(Qt.ItemDataRole.UserRole))

    @Slot()
    def _leave(self) -> None:
        self.hide()
        self.left.emit()

    def _fit(self) -> None:
        over = self._over
        height = max(over.height() // 2, min(self.sizeHint().height(), over.height()))
        self.setGeometry(0, over.height() - height, over.width(), height)


def _unfit(shift: ShiftState, entry: Entry, says: Correctable) -> str:
    """Return what a reading was made with that was not fit for use."""
    if not isinstance(says, ReadingTaken):
        return ""
    found = made_with(shift, entry.seq, says)
    told = {thing.name: tr(why.value) for _, thing, why in found if why is not None}
    said = (tr("not fit: {name}, {why}", name=name, why=why) for name, why in told.items())
    return "".join(f"   ({one})" for one in said)
