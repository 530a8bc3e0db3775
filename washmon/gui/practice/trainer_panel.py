"""What a trainer can change behind the scenes, and how much the trainee is told."""

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QFrame, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import FlowLayout, vbox
from washmon.gui.kit.buttons import ChoiceRow, PressButton, Rank
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.practice.debrief_words import change_words
from washmon.line.practice_events import WorldChange
from washmon.sessions.practice.parameters import Dirtiness
from washmon.sessions.practice.veil import Showing


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
                (Dirtiness.CLEAN.value, tr("Clean")),
                (Dirtiness.USUAL.value, tr("Usual")),
                (Dirtiness.DIRTY.value, tr("Dirty")),
                (Dirtiness.MUDDY.value, tr("Muddy")),
            ),
            load.value,
        )
        self.weak = PressButton(tr("Product half as strong"), Rank.SECONDARY, then=self._weaken)
        self.faded = PressButton(tr("Strips fade"), Rank.SECONDARY, then=self._fade)
        self.sun = PressButton(tr("Sun on the tanks"), Rank.SECONDARY, then=self._shine)
        self.showing = ChoiceRow(
            (
                (Showing.ON.value, tr("At once")),
                (Showing.DELAYED.value, tr("10 min late")),
                (Showing.OFF.value, tr("Never")),
            ),
            showing.value,
        )
        self.done = Text("", Size.SMALL, tone=Tone.SOFT)
        self._lay_out()
        self.loads.chosen.connect(self._load)
        self.showing.chosen.connect(self.showing_chosen)

    def _lay_out(self) -> None:
        more = FlowLayout()  # in rows where there is no room beside
        for button in (self.weak, self.faded, self.sun):
            more.addWidget(button)
        vbox(
            Text(tr("Load from now on"), Size.SMALL, tone=Tone.SOFT),
            self.loads,
            more,
            self.done,
            Text(tr("The trainee sees advice"), Size.SMALL, tone=Tone.SOFT),
            self.showing,
            on=self,
            gap_px=6,
            margins_px=(12, 8, 12, 10),
        )

    @Slot(str)
    def _load(self, dirtiness: str) -> None:
        self._ask(WorldChange(dirtiness=dirtiness))

    @Slot()
    def _weaken(self) -> None:
        self._ask(WorldChange(strength_share=0.5))

    @Slot()
    def _fade(self) -> None:
        self._ask(WorldChange(strip_share=0.5))

    @Slot()
    def _shine(self) -> None:
        self._ask(WorldChange(decay_share=4.0))

    def _ask(self, change: WorldChange) -> None:
        self.done.setText(tr("Done: {what}", what=change_words(change)))
        self.change_asked.emit(change)
