"""The bottom row: what can be entered, one key each."""

from enum import StrEnum

from msgspec import Struct
from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QHBoxLayout, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.buttons import PressButton, Rank


class Action(StrEnum):
    """What a button of the row asks for."""

    READING = "reading"
    BATCH = "batch"
    DOSE = "dose"
    ACID = "acid"
    WATER = "water change"
    HOLD = "hold"
    NOTE = "note"
    CORRECT = "correct"
    LOGBOOK = "logbook"
    END = "end shift"


class _Place(Struct, frozen=True):
    action: Action
    words: str
    key: str
    rank: Rank = Rank.SECONDARY
    stretch: int = 1


_PLACES = (
    _Place(Action.READING, "Reading", "F1", Rank.PRIMARY, 2),
    _Place(Action.BATCH, "Batch", "F2", Rank.PRIMARY, 2),
    _Place(Action.DOSE, "Dose", "F3"),
    _Place(Action.ACID, "Acid", "F4"),
    _Place(Action.WATER, "Water change", "F5"),
    _Place(Action.HOLD, "Hold", "F6"),
    _Place(Action.NOTE, "Note", "F7"),
    _Place(Action.CORRECT, "Correct", "F8"),
    _Place(Action.LOGBOOK, "Logbook", "F9"),
    _Place(Action.END, "End shift", "F10"),
)


class ActionBar(QWidget):
    """Big buttons; ``asked`` tells which was pressed, by hand or by key."""

    asked = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.buttons: dict[Action, PressButton] = {}
        row = QHBoxLayout(self)
        row.setContentsMargins(12, 2, 12, 8)
        row.setSpacing(8)
        for place in _PLACES:
            button = PressButton(tr(place.words), place.rank, place.key, parent=self)
            button.setObjectName(place.action)
            button.clicked.connect(self._ask)
            self.buttons[place.action] = button
            row.addWidget(button, place.stretch)

    def allow(self, actions: frozenset[Action]) -> None:
        """Leave only these pressable."""
        for action, button in self.buttons.items():
            button.setEnabled(action in actions)

    @Slot()
    def _ask(self) -> None:
        self.asked.emit(self.sender().objectName())
