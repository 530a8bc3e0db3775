"""What is shown while no shift runs: what can be begun, and on the very first start how."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import STRETCH, add, keep_width
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.card import Card
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.planning.snapshot import Mode, Snapshot

_WIDTH_PX = 560


class ReadyPage(QWidget):
    """A calm page with one main thing to do."""

    start_asked = Signal()
    replay_asked = Signal()
    practice_asked = Signal()
    setup_asked = Signal()
    logbook_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.title = Text(tr("No shift is running"), Size.LARGE, bold=True)
        self.facts = Text("", tone=Tone.SOFT, wrapped=True)
        self.start = PressButton(tr("Start a shift"), Rank.PRIMARY, "F1", then=self.start_asked)
        self.replay = PressButton(
            tr("Replay a recorded shift"), Rank.SECONDARY, "F2", then=self.replay_asked
        )
        self.practice = PressButton(tr("Practice"), Rank.SECONDARY, "F4", then=self.practice_asked)
        self.logbook = PressButton(tr("Logbook"), Rank.SECONDARY, "F9", then=self.logbook_asked)
        self.setup = PressButton(
            tr("Change the set-up"), Rank.SECONDARY, "F3", then=self.setup_asked
        )
        card = Card(self, margin_px=24)
        keep_width(card, _WIDTH_PX)
        card.body.setSpacing(12)
        add(card.body, self.title, self.facts, 8)
        for button in (self.start, self.replay, self.practice, self.logbook, self.setup):
            button.setMinimumHeight(56)
            card.body.addWidget(button)
        outer = QVBoxLayout(self)
        outer.addWidget(card, 0, Qt.AlignmentFlag.AlignCenter)

    def show_snapshot(self, snapshot: Snapshot, _person: UserContext) -> None:
        """Say which line is ready, and what was before."""
        writes, setup = snapshot.mode is Mode.LIVE, snapshot.setup
        self.start.setEnabled(setup is not None and writes)
        self.setup.setEnabled(writes)
        self.practice.setEnabled(writes)
        self.facts.setText(_facts(snapshot))


def _facts(snapshot: Snapshot) -> str:
    setup, shift = snapshot.setup, snapshot.shift
    if setup is None:
        return tr("No line is described yet.")
    tanks = ", ".join(tank.name for tank in setup.tanks)
    line = tr("{line} at {site}", line=setup.line, site=setup.site) if setup.site else setup.line
    facts = f"{line}: {tanks}."
    if shift is not None and shift.ended is not None:
        ended = f"{shift.ended.at:%Y-%m-%d %H:%M}"
        facts += " " + tr("The last shift ended {when}.", when=ended)
    return facts


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
