"""Shows the guide from an empty line to the first batch: a card for each tank.

The guided filling with the sheets that it opens.
"""

from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QGridLayout, QWidget

from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext
from washmon.gui.entry.entry_client import EntryClient
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import STRETCH, add, hbox, vbox
from washmon.gui.kit.buttons import TOUCH_PX, PressButton, Rank
from washmon.gui.kit.card import Card
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.state_mark import MarkState, StateBadge
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.shift.filling import FillingStage, TankGuide, guide
from washmon.line.journal import Entry
from washmon.line.kinds import EntryKind
from washmon.planning.snapshot import Snapshot

_COLUMNS = 4
_ANSWER_PX = 56
_CARD_PX = 250


class TankCard(Card):
    """What one tank needs next; ``pressed`` hands over its guide."""

    pressed = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent, margin_px=16)
        self._guide: TankGuide | None = None
        self.name = Text("", Size.TITLE, bold=True)
        self.way = Text("", Size.SMALL, tone=Tone.SOFT, wrapped=True)
        self.words = Text("", Size.TITLE, wrapped=True)
        self.caution = Text("", Size.BODY, bold=True, wrapped=True)
        self.ready = StateBadge(MarkState.IN_LIMITS)
        self.answer = PressButton("", Rank.PRIMARY, parent=self, then=self._press)
        self.answer.setMinimumHeight(_ANSWER_PX)
        self.body.setSpacing(10)
        self.setMinimumHeight(_CARD_PX)
        for widget in (self.name, self.way, self.words, self.caution, self.ready):
            self.body.addWidget(widget)
        add(self.body, STRETCH, self.answer)

    def show_guide(self, said: TankGuide) -> None:
        """Show what is said of the tank; does nothing when it is the same."""
        if said == self._guide:
            return
        self._guide = said
        self.name.setText(said.name)
        self.way.setText(_way_words(said))
        self.words.setText(said.words)
        self.caution.setText(said.caution)
        self.caution.setVisible(bool(said.caution))
        self.ready.setVisible(said.stage is FillingStage.READY)
        self.answer.set_label(said.answer)
        self.answer.setVisible(bool(said.answer))

    @Slot()
    def _press(self) -> None:
        if self._guide is not None:
            self.pressed.emit(self._guide)


def _way_words(said: TankGuide) -> str:
    names = (tr("Fill"), tr("Dose"), tr("Measure"), tr("Ready"))
    done = ("✓ " if at < said.place else "" for at in range(len(names)))
    return "   ·   ".join(mark + name for mark, name in zip(done, names, strict=True))


class FillingGuide(QWidget):
    """The guide. It keeps nothing of its own: all of it is read from the snapshot.

    Signals:
        asked(EntryKind, int, Flag | None): open this entry for this tank.
        left(): go to the Board.
    """

    asked = Signal(object, int)
    left = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.title = Text(tr("Make up the tanks"), Size.LARGE, bold=True)
        self.facts = Text("", tone=Tone.SOFT)
        self.go = PressButton(
            tr("Go to the Board"), Rank.SECONDARY, "Esc", bound=False, then=self.left
        )
        self.go.setMinimumHeight(_ANSWER_PX)
        self.cards: list[TankCard] = []
        self._grid = QGridLayout()
        self._grid.setSpacing(12)
        vbox(
            self.title,
            self._grid,
            STRETCH,
            hbox((self.facts, 1), self.go),
            on=self,
            gap_px=16,
            margins_px=(24, 20, 24, 20),
        )

    def show_snapshot(self, snapshot: Snapshot, person: UserContext) -> None:
        """Show what each tank needs now."""
        said = guide(snapshot, person)
        self._make_cards(len(said))
        for card, one in zip(self.cards, said, strict=True):
            card.show_guide(one)
        ready = sum(one.stage is FillingStage.READY for one in said)
        self.facts.setText(tr("{ready} of {count} tanks are ready.", ready=ready, count=len(said)))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Take Esc as going to the Board."""
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)

    def _make_cards(self, count: int) -> None:
        while len(self.cards) > count:
            card = self.cards.pop()
            self._grid.removeWidget(card)
            card.hide()
            card.deleteLater()
        while len(self.cards) < count:
            card = TankCard(self)
            card.pressed.connect(self._ask)
            at = len(self.cards)
            self._grid.addWidget(card, at // _COLUMNS, at % _COLUMNS)
            self._grid.setColumnStretch(at % _COLUMNS, 1)
            self.cards.append(card)

    @Slot(object)
    def _ask(self, said: TankGuide) -> None:
        self.asked.emit(said.kind, said.tank)


class FillingRoom(QWidget):
    """From an empty line to the first batch; may be left for the Board at any time."""

    left = Signal()

    def __init__(self, client: RecorderClient, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._latest: tuple[Snapshot, UserContext] | None = None
        self._last_saved: Entry | None = None
        self.guide = FillingGuide(self)
        self.message = MessageLine(self)
        self.message.setContentsMargins(24, 0, 24, 8)
        self.message.setMinimumHeight(TOUCH_PX + 8)  # no button moves when something is said
        self.entries = EntryClient(client, self)
        vbox((self.guide, 1), self.message, on=self)
        self.setFocusProxy(self.guide)
        self.guide.asked.connect(self._open)
        self.guide.left.connect(self.left)
        self.entries.saved.connect(self._say_saved)
        self.message.acted.connect(self._correct_last)

    def show_snapshot(self, snapshot: Snapshot, person: UserContext) -> None:
        """Show what each tank needs now."""
        self._latest = (snapshot, person)
        if snapshot.shift is not None:
            self.guide.show_snapshot(snapshot, person)

    @Slot(object, int)
    def _open(self, kind: EntryKind, tank: int) -> None:
        if self._latest is not None:
            self.message.clear()
            self.entries.open(kind, *self._latest, tank=tank, done=True)

    @Slot(object, str)
    def _say_saved(self, entry: Entry, said: str) -> None:
        self._last_saved = entry
        self.message.say(said, tr("Correct"))

    @Slot()
    def _correct_last(self) -> None:
        if self._latest is not None and self._last_saved is not None:
            self.entries.open(EntryKind.CORRECTION, *self._latest, correcting=self._last_saved)
