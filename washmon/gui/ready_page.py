"""What is shown while no shift runs: what can be begun."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.card import Card
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.line.setup import LineSetup

_WIDTH_PX = 560


class ReadyPage(QWidget):
    """A calm page with one main thing to do."""

    start_asked = Signal()
    replay_asked = Signal()
    setup_asked = Signal()
    logbook_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.title = Text("", Size.LARGE, bold=True)
        self.facts = Text("", tone=Tone.SOFT, wrapped=True)
        self.start = PressButton(tr("Start a shift"), Rank.PRIMARY, "F1")
        self.replay = PressButton(tr("Replay a recorded shift"), Rank.SECONDARY, "F2")
        self.logbook = PressButton(tr("Logbook"), Rank.SECONDARY, "F9")
        self.setup = PressButton(tr("Change the set-up"), Rank.SECONDARY, "F3")
        self.message = MessageLine()
        card = Card(self, margin_px=24)
        card.setFixedWidth(_WIDTH_PX)
        card.body.setSpacing(12)
        for widget in (self.title, self.facts, self.message):
            card.body.addWidget(widget)
        card.body.addSpacing(8)
        for button in (self.start, self.replay, self.logbook, self.setup):
            button.setMinimumHeight(56)
            card.body.addWidget(button)
        outer = QVBoxLayout(self)
        outer.addWidget(card, 0, Qt.AlignmentFlag.AlignCenter)
        self.start.clicked.connect(self.start_asked)
        self.replay.clicked.connect(self.replay_asked)
        self.logbook.clicked.connect(self.logbook_asked)
        self.setup.clicked.connect(self.setup_asked)

    def show_setup(self, setup: LineSetup | None, *, read_only: bool) -> None:
        """Say which line is ready."""
        self.start.setEnabled(setup is not None and not read_only)
        self.setup.setEnabled(not read_only)
        self.title.setText(tr("No shift is running"))
        if setup is None:
            self.facts.setText(tr("No line is described yet."))
            return
        tanks = ", ".join(tank.name for tank in setup.tanks)
        self.facts.setText(
            tr("{line} at {site}: {tanks}", line=setup.line, site=setup.site, tanks=tanks)
        )
