"""What a trainer can change behind the scenes, and how much the trainee is told."""

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QFrame, QHBoxLayout, QVBoxLayout, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.buttons import ChoiceRow, PressButton, Rank
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.practice.veil import Showing
from washmon.line.practice_events import WorldChange
from washmon.sessions.practice.parameters import Dirtiness


class TrainerPanel(QFrame):
    """Buttons that change the world.

    Signals:
        change_asked(WorldChange): it is to become true now.
        showing_chosen(str): when the trainee sees flags; see :class:`Showing`.
    """

    change_asked = Signal(object)
    showing_chosen = Signal(str)

    def __init__(self, showing: Showing, load: Dirtiness, parent: QWidget | None = None) -> None:
        """``load`` is what comes in now."""
        super().__init__(parent)
        self.setObjectName("hint")
        self.loads = ChoiceRow(
            (
                (Dirtiness.CLEAN.value, tr("Clean load")),
                (Dirtiness.USUAL.value, tr("Usual load")),
                (Dirtiness.DIRTY.value, tr("Dirty load")),
                (Dirtiness.MUDDY.value, tr("Muddy load")),
            ),
            load.value,
        )
        self.weak = PressButton(tr("Bleach half as strong"), Rank.SECONDARY)
        self.faded = PressButton(tr("Strips fade"), Rank.SECONDARY)
        self.sun = PressButton(tr("Sun on the tanks"), Rank.SECONDARY)
        self.showing = ChoiceRow(
            (
                (Showing.ON.value, tr("Advice on")),
                (Showing.DELAYED.value, tr("10 min late")),
                (Showing.OFF.value, tr("Off")),
            ),
            showing.value,
        )
        self.done = Text("", Size.SMALL, tone=Tone.SOFT)
        self._lay_out()
        self.loads.chosen.connect(self._load)
        self.weak.clicked.connect(self._weaken)
        self.faded.clicked.connect(self._fade)
        self.sun.clicked.connect(self._shine)
        self.showing.chosen.connect(self.showing_chosen)

    def _lay_out(self) -> None:
        truth = QHBoxLayout()
        truth.setSpacing(8)
        words = Text(tr("For the trainer:"), Size.SMALL, tone=Tone.SOFT)
        truth.addWidget(words)
        truth.addWidget(self.loads)
        truth.addStretch(1)
        truth.addWidget(self.showing)
        more = QHBoxLayout()
        more.setSpacing(8)
        for button in (self.weak, self.faded, self.sun):
            more.addWidget(button)
        more.addWidget(self.done, 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(12, 6, 12, 6)
        column.setSpacing(6)
        column.addLayout(truth)
        column.addLayout(more)

    @Slot(str)
    def _load(self, dirtiness: str) -> None:
        self._ask(WorldChange(dirtiness=dirtiness), self.loads.button(dirtiness).toolTip())

    @Slot()
    def _weaken(self) -> None:
        self._ask(WorldChange(strength_share=0.5), tr("Bleach half as strong"))

    @Slot()
    def _fade(self) -> None:
        self._ask(WorldChange(strip_share=0.5), tr("Strips fade"))

    @Slot()
    def _shine(self) -> None:
        self._ask(WorldChange(decay_share=4.0), tr("Sun on the tanks"))

    def _ask(self, change: WorldChange, words: str) -> None:
        self.done.setText(tr("Done: {what}", what=words))
        self.change_asked.emit(change)
