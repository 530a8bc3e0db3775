"""What is shown when the database can't be opened: why, and what can be done."""

from collections.abc import Callable

from PySide6.QtCore import Qt, Slot
from PySide6.QtWidgets import QVBoxLayout, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import add
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.card import Card
from washmon.gui.kit.state_mark import MarkState
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.store.errors import Damaged, StoreInUse, StoreUnavailable


class TroublePage(QWidget):
    """A window of its own; offers to try again, or to read only where that helps."""

    def __init__(self, trouble: StoreUnavailable, open_store: Callable[..., None]) -> None:
        super().__init__()
        self.setObjectName("paper")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self.setWindowTitle("washmon")
        self.resize(760, 420)
        self._open_store = open_store
        self.words = Text("", Size.LEAD, wrapped=True)
        self.comfort = Text(
            tr("Nothing that was saved is lost by this."), tone=Tone.SOFT, wrapped=True
        )
        self.again = PressButton(tr("Try again"), Rank.PRIMARY, then=self._try_again)
        self.look = PressButton(tr("Open it to read only"), Rank.SECONDARY, then=self._read_only)
        self.leave = PressButton(tr("Close"), Rank.SECONDARY, "Esc")
        card = Card(self, margin_px=24)
        card.show_look(MarkState.ACT)
        card.body.setSpacing(12)
        add(
            card.body,
            Text(tr("The records can't be opened"), Size.LARGE, bold=True),
            self.words,
            self.comfort,
            self.again,
            self.look,
            self.leave,
        )
        self._suit(trouble)
        QVBoxLayout(self).addWidget(card, 0, Qt.AlignmentFlag.AlignVCenter)
        self.leave.clicked.connect(self.close)

    def _suit(self, trouble: StoreUnavailable) -> None:
        self.words.setText(str(trouble))
        self.look.setVisible(isinstance(trouble, StoreInUse))
        self.comfort.setVisible(not isinstance(trouble, Damaged))

    @Slot()
    def _try_again(self) -> None:
        self._open(read_only=False)

    @Slot()
    def _read_only(self) -> None:
        self._open(read_only=True)

    def _open(self, *, read_only: bool) -> None:
        try:
            self._open_store(read_only=read_only)
        except StoreUnavailable as trouble:
            self._suit(trouble)
        else:
            self.close()
