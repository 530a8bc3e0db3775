"""The line above every screen: which line and shift, who enters, what is saved, the time."""

from PySide6.QtCore import Qt, QTimer, Signal, Slot
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QMenu, QWidget

from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import hbox
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.message_line import CalmLine
from washmon.gui.kit.text import ShortText, Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.review.waiting_line import WaitingLine
from washmon.line.setup import LineSetup
from washmon.line.setup import Person as Member
from washmon.line.state import ShiftState
from washmon.planning.snapshot import Mode, Snapshot
from washmon.recorder import Clock


class Header(QWidget):
    """Names the line and the shift; a press on the initials chooses who enters."""

    person_chosen = Signal(str)
    menu_asked = Signal()
    sound_pressed = Signal()

    def __init__(self, clock: Clock, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._clock = clock
        self._shown_minute = ""
        self._people: tuple[Member, ...] = ()
        self.line = Text("", Size.LARGE, bold=True)
        self.facts = ShortText("", Size.SMALL, tone=Tone.SOFT)
        self.saved = Text("", Size.SMALL, tone=Tone.SOFT)
        self.who = PressButton("", Rank.QUIET, then=self._offer_people)
        self.time = Text("", Size.LARGE, bold=True, tabular=True)
        self.time.setMinimumWidth(self.time.fontMetrics().horizontalAdvance("00:00") + 2)
        self.menu = PressButton(tr("Menu"), Rank.QUIET, "Alt+M", then=self.menu_asked)
        self.sound = PressButton("", Rank.SECONDARY, then=self.sound_pressed)
        self.waiting = WaitingLine(self)
        self.training = CalmLine(self)
        self.people = QMenu(self)
        hbox(
            self.line,
            (self.facts, 1),
            self.waiting,
            self.training,
            self.sound,
            self.saved,
            self.who,
            self.menu,
            self.time,
            on=self,
            gap_px=12,
            margins_px=(12, 0, 12, 0),
        )
        self.people.triggered.connect(self._choose)
        self.sound.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.show_sound(muted=False, rings=False)
        self._second = QTimer(self, interval=1000)
        self._second.timeout.connect(self._tell_time)
        self._second.start()
        self._tell_time()

    def show_snapshot(self, snapshot: Snapshot, person: UserContext) -> None:
        """Say what a snapshot says of line and shift."""
        shift = snapshot.shift
        if shift is not None and shift.ended is not None and snapshot.mode is Mode.LIVE:
            shift = None  # it is over: what can be begun is on the newest set-up
        setup = shift.setup if shift else snapshot.setup
        self.line.setText(setup.line if setup else "washmon")
        troubled = snapshot.trouble is not None
        self.facts.setText(
            person.say(snapshot.trouble) if snapshot.trouble else "  ·  ".join(_facts(setup, shift))
        )
        self.facts.set_tone(Tone.STOP if troubled else Tone.SOFT)
        self.saved.setText(_saved_words(snapshot))
        self.who.set_label(
            tr("Entering: {who}", who=person.initials) if person.initials else tr("Who enters?")
        )
        self.who.setVisible(setup is not None and snapshot.mode is Mode.LIVE)
        self._offer(setup.people if setup else ())
        if snapshot.mode is Mode.REPLAY:
            self._show_time(f"{snapshot.now:%H:%M}")
            self._second.stop()
        else:
            self._tell_time()
            if not self._second.isActive():
                self._second.start()

    def show_sound(self, *, muted: bool, rings: bool) -> None:
        """Say that nothing is heard, or how to silence what rings; else say nothing."""
        self.sound.set_label(tr("Sound is off") if muted else tr("Silence: any key"))
        self.sound.setVisible(muted or rings)

    def _offer(self, people: tuple[Member, ...]) -> None:
        """Fill the menu of people, unless it has them: it may be open just now."""
        if people == self._people:
            return
        self._people = people
        self.people.clear()
        for one in people:
            action = self.people.addAction(f"{one.initials}  {one.name}, {tr(one.role)}")
            action.setData(one.initials)

    @Slot()
    def _offer_people(self) -> None:
        below = self.who.mapToGlobal(self.who.rect().bottomLeft())
        self.people.popup(below)

    @Slot(QAction)
    def _choose(self, action: QAction) -> None:
        self.person_chosen.emit(str(action.data()))

    @Slot()
    def _tell_time(self) -> None:
        self._show_time(f"{self._clock():%H:%M}")

    def _show_time(self, text: str) -> None:
        if text != self._shown_minute:
            self._shown_minute = text
            self.time.setText(text)


def _facts(setup: LineSetup | None, shift: ShiftState | None) -> list[str]:
    facts = [setup.place] if setup and setup.place else []
    if shift:
        facts.append(tr("shift of {day}", day=f"{shift.started.at:%Y-%m-%d %H:%M}"))
        facts.append(tr("in charge {who}", who=shift.in_charge))
        if shift.paused is not None:
            since = f"{shift.paused.placed.at:%H:%M}"
            facts.append(
                tr("paused since {time}: {why}", time=since, why=tr(shift.paused.placed.reason))
            )
        if codes := shift.lot_codes:
            facts.append(tr("lot {codes}", codes=", ".join(codes)))
    return facts


def _saved_words(snapshot: Snapshot) -> str:
    if snapshot.mode is Mode.REPLAY:
        return tr("Replay: nothing is recorded")
    if snapshot.mode is Mode.READ_ONLY:
        return tr("Read only: another window writes")
    if snapshot.trouble is not None:
        return tr("Trouble")
    return "\N{CHECK MARK} " + tr("all entries saved")
