"""The very first screen, while no line is described: three ways to begin."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import STRETCH, add
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.card import Card
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size

_WIDTH_PX = 560


class FirstPage(QWidget):
    """Watch, practise, or set up; all three may be taken, in any order."""

    demo_asked = Signal()
    practice_asked = Signal()
    setup_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.demo = PressButton(
            tr("Watch a demo shift"), Rank.SECONDARY, "F1", then=self.demo_asked
        )
        self.practice = PressButton(
            tr("Practise on simulated water"), Rank.SECONDARY, "F2", then=self.practice_asked
        )
        self.setup = PressButton(tr("Set up my line"), Rank.PRIMARY, "F3", then=self.setup_asked)
        card = Card(self, margin_px=24)
        card.setFixedWidth(_WIDTH_PX)
        card.body.setSpacing(4)
        add(
            card.body,
            Text(tr("Welcome"), Size.LARGE, bold=True),
            Text(tr("No line is described yet. Where would you like to begin?"), tone=Tone.SOFT),
        )
        ways = (
            (self.demo, tr("A recorded shift plays by itself, as the Board showed it.")),
            (self.practice, tr("Wash, measure and dose: the water is simulated, nothing counts.")),
            (self.setup, tr("About two minutes, with the containers of your products at hand.")),
        )
        for button, words in ways:
            button.setMinimumHeight(60)
            button.setAccessibleDescription(words)
            add(card.body, 10, button, Text(words, Size.SMALL, tone=Tone.SOFT, wrapped=True))
        outer = QVBoxLayout(self)
        add(outer, STRETCH, (card, 0, Qt.AlignmentFlag.AlignHCenter), STRETCH)
