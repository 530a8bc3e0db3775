"""The bottom row: what can be entered, one key each; what has no room is in a menu."""

from enum import StrEnum

from msgspec import Struct
from PySide6.QtCore import QSize, Qt, Signal, Slot
from PySide6.QtGui import QAction, QKeySequence, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import hbox
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.curtain import Curtain


class Action(StrEnum):
    """What a button of the row asks for."""

    READING = "reading"
    BATCH = "batch"
    AGAIN = "same again"
    ROUND = "round"
    DOSE = "dose"
    ACID = "acid"
    WATER = "water change"
    HOLD = "hold"
    DECIDE = "release"
    NOTE = "note"
    WHAT_IF = "what if"
    UNDO = "undo"
    CORRECT = "correction"
    BENCH_SHEETS = "bench sheets"
    LOGBOOK = "logbook"
    END = "end shift"


class _Place(Struct, frozen=True):
    action: Action
    words: str
    key: str = ""
    rank: Rank = Rank.SECONDARY
    stretch: int = 1
    bound: bool = True
    """Whether its key acts wherever the keyboard is; else the Board takes it, at rest."""
    stays: int = 0
    """The higher, the longer it keeps its place in a narrow row; without it is in the menu."""


_PLACES = (
    _Place(Action.READING, "Reading", "F1", Rank.PRIMARY, 2, stays=9),
    _Place(Action.BATCH, "Batch", "F2", Rank.PRIMARY, 2, stays=9),
    _Place(Action.AGAIN, "Same again", "+", stays=6, bound=False),
    _Place(Action.ROUND, "Round", "F12", Rank.PRIMARY, 2, stays=8),
    _Place(Action.DOSE, "Dose", "F3", stays=8),
    _Place(Action.ACID, "Acid", "F4", stays=7),
    _Place(Action.WATER, "Water", "F5", stays=4),
    _Place(Action.HOLD, "Hold", "F6", stays=5),
    _Place(Action.DECIDE, "Decide about held product", "Shift+F6"),
    _Place(Action.NOTE, "Note", "F7", stays=3),
    _Place(Action.WHAT_IF, "What if", "Alt+W", stays=2),
    _Place(Action.UNDO, "Undo", "F8", stays=6),
    _Place(Action.CORRECT, "Correct"),
    _Place(Action.BENCH_SHEETS, "Bench sheets to print"),
    _Place(Action.LOGBOOK, "Logbook", "F9", stays=2),
    _Place(Action.END, "End shift", "F10", stays=1),
)
_GAP_PX = 8


class ActionBar(QWidget):
    """Big buttons; ``asked`` tells which was pressed, by hand, by key or in the menu.

    ``more_asked`` tells that the menu is wanted, which is to begin with :attr:`folded`.
    """

    asked = Signal(str)
    more_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.buttons: dict[Action, PressButton] = {}
        self.actions_: dict[Action, QAction] = {}
        self.curtain = Curtain(self, self._shown)
        self.more = PressButton(
            tr("More"), Rank.SECONDARY, "Alt+M", parent=self, then=self.more_asked
        )
        row = hbox(on=self, gap_px=_GAP_PX, margins_px=(12, 2, 12, 8))
        for place in _PLACES:
            self._make(place, row)
        row.addWidget(self.more)

    def _make(self, place: _Place, row: QHBoxLayout) -> None:
        button = PressButton(tr(place.words), place.rank, place.key, bound=False, parent=self)
        action = QAction(tr(place.words), self)
        for one in (button, action):
            one.setObjectName(place.action)
        button.setFocusPolicy(Qt.FocusPolicy.TabFocus)  # a press leaves the Board at rest
        if place.key and place.bound:  # its key acts whether there is room for its button or not
            action.setShortcut(QKeySequence(place.key))
        action.setAutoRepeat(False)  # a key that is held down says nothing more
        self.addAction(action)
        button.clicked.connect(action.trigger)
        action.triggered.connect(self._ask)
        self.buttons[place.action] = button
        self.actions_[place.action] = action
        row.addWidget(button, place.stretch)
        button.setVisible(place.stays > 0)

    @property
    def folded(self) -> list[QAction]:
        """What has no button now, in its order."""
        return [
            self.actions_[place.action]
            for place in _PLACES
            if self.buttons[place.action].isHidden() and self.actions_[place.action].isVisible()
        ]

    def allow(self, actions: frozenset[Action]) -> None:
        """Leave only these pressable."""
        for action, button in self.buttons.items():
            button.setEnabled(action in actions)
            self.actions_[action].setEnabled(action in actions)

    def _shown(self) -> object:
        """Return all that it is drawn from."""
        buttons = self.buttons.values()
        return [(one.label, one.isEnabled(), one.isHidden()) for one in buttons]

    def allows(self, action: Action) -> bool:
        """Tell whether this can be asked for now."""
        return self.actions_[action].isEnabled()

    def name_undo(self, words: str) -> None:
        """Say what the key of Undo does now."""
        if words != self.buttons[Action.UNDO].label:
            self.buttons[Action.UNDO].set_label(words)
            self.actions_[Action.UNDO].setText(words)
            self.fit()

    def leave_out(self, action: Action) -> None:
        """Offer this no more: neither in the row nor in the menu."""
        self.actions_[action].setVisible(False)
        self.actions_[action].setEnabled(False)
        self.fit()

    def minimumSizeHint(self) -> QSize:
        """Allow any width: what has no room is folded."""
        return QSize(1, super().minimumSizeHint().height())

    def fit(self) -> None:
        """Show the buttons that have room, those that are needed most before the others."""
        margins = self.contentsMargins()
        room = self.width() - 24 - margins.left() - margins.right() - self.more.sizeHint().width()
        offered = [place for place in _PLACES if self.actions_[place.action].isVisible()]
        for place in sorted(offered, key=lambda one: -one.stays):
            button = self.buttons[place.action]
            room -= button.sizeHint().width() + _GAP_PX
            button.setVisible(place.stays > 0 and room >= 0)
        for place in _PLACES:
            if not self.actions_[place.action].isVisible():
                self.buttons[place.action].hide()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Fold what has no room."""
        super().resizeEvent(event)
        self.fit()

    @Slot()
    def _ask(self) -> None:
        self.asked.emit(self.sender().objectName())
