"""The screen of a practice shift: the very same Board and keypad, under the practice clock.

What the trainee was told before, and hints that are shown one by one when asked.
"""

from PySide6.QtCore import Qt, QTimer, Signal, Slot
from PySide6.QtWidgets import QMenu, QWidget

from washmon.gui.action_bar import Action
from washmon.gui.board_page import BoardPage
from washmon.gui.board_sheets import BoardSheets
from washmon.gui.context import UserContext, decimal_point
from washmon.gui.entry.entry_client import EntryClient
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import hbox, vbox
from washmon.gui.kit.buttons import PressButton
from washmon.gui.kit.confirm import ask
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.practice.bench_sheet import BenchSheet, PracticeEntryClient
from washmon.gui.practice.lesson import LiveLesson
from washmon.gui.practice.play_bar import PlayBar
from washmon.gui.practice.practice_client import PracticeClient
from washmon.line.events import Event, Method, ShiftEnded
from washmon.line.kinds import EntryKind
from washmon.line.message import Message
from washmon.line.practice_events import BehindTheScenes
from washmon.line.quantities import BY_FIELD
from washmon.line.setup import Look
from washmon.planning.snapshot import Snapshot
from washmon.recorder import Answer, Doubtful, Failed, Refused, Saved
from washmon.sessions.practice.attempt import BACKSTAGE
from washmon.sessions.practice.parameters import PracticeError
from washmon.sessions.practice.scenario import Scenario
from washmon.sessions.practice.standing import AttemptStanding, Standings
from washmon.sessions.practice.veil import Showing, veiled
from washmon.units import Kind, show


class Briefing(QWidget):
    """Stands over the Board while it is wanted.

    Signals:
        hint_wanted(str): one more hint is shown.
    """

    hint_wanted = Signal(str)

    def __init__(self, scenario: Scenario, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._hints = scenario.hints
        self._shown = 0
        words = " ".join(scenario.briefing.split())
        told = tr("{goal} {briefing}", goal=scenario.goal, briefing=words)
        self.words = Text(told, Size.BODY, wrapped=True)
        self.hints = Text("", Size.BODY, tone=Tone.HAND, wrapped=True)
        self.more = PressButton("", then=self._show_next)
        vbox(
            self.words,
            hbox((self.hints, 1), self.more),
            on=self,
            gap_px=4,
            margins_px=(14, 2, 14, 6),
        )
        self._tell()

    @Slot()
    def _show_next(self) -> None:
        self.show_hints(self._shown + 1)
        self.hint_wanted.emit(self._hints[self._shown - 1])

    def show_hints(self, count: int) -> None:
        """Show so many hints, and none of them less than before."""
        self._shown = min(max(count, self._shown), len(self._hints))
        self._tell()

    def _tell(self) -> None:
        self.hints.setText("\n".join(self._hints[: self._shown]))
        self.hints.setVisible(bool(self._shown))
        left = len(self._hints) - self._shown
        self.more.set_label(tr("A hint ({left} left)", left=left))
        self.more.setVisible(left > 0)


class PracticeSheets(BoardSheets):
    """The sheets of the Board, with the bench of this practice shift.

    Signals:
        test_asked(int, str, str): as of :class:`BenchSheet`.
    """

    test_asked = Signal(int, str, str)

    def make_entries(self) -> EntryClient:
        """Return what asks for entries on this bench."""
        made = PracticeEntryClient(self._client, self._over)
        if isinstance(made.sheet, BenchSheet) and isinstance(self._client, PracticeClient):
            made.sheet.bench = self._client.stage.scenario.bench
            made.sheet.test_asked.connect(self.test_asked)
        return made


class PracticeBoard(BoardPage):
    """The Board page on which readings are tested and a batch has its ticket."""

    def __init__(self, client: PracticeClient, parent: QWidget | None = None) -> None:
        super().__init__(client, parent)
        self._practice = client
        if isinstance(self.sheets, PracticeSheets):
            self.sheets.test_asked.connect(self._test)
        self.bar.leave_out(Action.LOGBOOK)  # it has nothing to do with practice
        self.bar.leave_out(Action.AGAIN)  # each batch has its ticket
        self.bar.leave_out(Action.BENCH_SHEETS)
        self.bar.leave_out(Action.WHAT_IF)  # it would tell what the trainee is to find out
        self.more_asked.connect(self._offer_more)

    def make_sheets(self) -> BoardSheets:
        """Return the sheets with the one on which readings are tested."""
        return PracticeSheets(self._client, self.board, self)

    @Slot(str)
    def _ask(self, action: str) -> None:
        if Action(action) is Action.BATCH:
            self.open_batch()
        else:
            super()._ask(action)

    @Slot()
    def _offer_more(self) -> None:
        """Offer what has no button; the menu of the window stands over the room."""
        menu = QMenu(self)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        menu.addActions(self.bar.folded)
        menu.popup(self.bar.more.mapToGlobal(self.bar.more.rect().topLeft()))

    def open_batch(self) -> None:
        """Open the sheet of the batch that waits, with what stands on its ticket."""
        waiting, person = self._practice.stage.waiting, self._person
        if waiting is None or person is None:
            self.message.warn(tr("No batch waits yet."))
            return
        self.open_entry(EntryKind.BATCH)
        fields = self.entries.sheet.grid.fields
        if "lot" in fields:
            fields["lot"].put(waiting.lot)
        if "weight_kg" in fields:
            fields["weight_kg"].put(_bare(waiting.weight_kg, Kind.PRODUCE_MASS, person))

    @Slot(int, str, str)
    def _test(self, tank: int, field: str, method: str) -> None:
        sheet, person = self.entries.sheet, self._person
        if not isinstance(sheet, BenchSheet) or person is None:
            return
        try:
            tested = self._practice.test(tank, field, Method(method) if method else Method.METER)
        except PracticeError as trouble:
            sheet.message.warn(str(trouble))
            return
        value = tested.value
        kind = BY_FIELD[field].kind
        if isinstance(value, Look):
            sheet.put_tested(field, value.value)
        elif kind is not None:
            sheet.put_tested(field, _bare(value, kind, person))
        took = person.show(tested.minutes, Kind.TIME)
        sheet.message.say(tr("That test took {time}.", time=took))


KEPT_EVERY_MS = 1000
"""So often it is remembered how an attempt stands: no more is lost when the program is killed."""


class PlayPage(QWidget):
    """One attempt being worked on.

    Signals:
        left(): interrupted; it can be resumed.
        ended(str): the attempt with this chain is over.
    """

    left = Signal()
    ended = Signal(str)

    def __init__(
        self,
        client: PracticeClient,
        parent: QWidget | None = None,
        standings: Standings | None = None,
    ) -> None:
        """``standings`` know how the attempt stood, where it goes on."""
        super().__init__(parent)
        self.setObjectName("paper")
        client.setParent(self)
        self.client = client
        self._standings = standings or Standings(None)
        stood = self._standings.find(client.chain)
        if stood is not None:
            client.go_on_from(stood)
        self._snapshot: Snapshot | None = None
        self._ending = False
        self._showing = _showing_of(stood, client.attempt.advice)
        self._keeper = QTimer(self, interval=KEPT_EVERY_MS)
        self._keeper.timeout.connect(self.keep_standing)
        self._kept: AttemptStanding | None = None
        setup = client.stage.setup
        self.person = UserContext(client.attempt.trainee, setup.taste, decimal_point())
        self.bar = PlayBar(client, self.person, self)
        self.briefing = Briefing(client.stage.scenario, self)
        self.board = PracticeBoard(client, self)
        vbox(self.bar, self.briefing, (self.board, 1), on=self, gap_px=0)
        self.briefing.hide()
        self.lesson = LiveLesson(client, self.person, self._showing, self)
        self.lesson.stand_over(self.bar, self.briefing, self.board)
        self._connect()
        self._choose_showing(self._showing.value)
        self._keeper.start()

    def _connect(self) -> None:
        self.client.snapshot_changed.connect(self._show)
        self.client.said.connect(self._say)
        self.bar.send_asked.connect(self._send_on)
        self.bar.left.connect(self.left)
        self.bar.finished.connect(self._ask_to_finish)
        self.bar.briefing.toggled.connect(self.briefing.setVisible)
        self.briefing.hint_wanted.connect(self._write_hint)
        self.bar.trainer.clicked.connect(self.lesson.open)
        self.lesson.showing_chosen.connect(self._choose_showing)
        self.board.action_asked.connect(self._act)

    @Slot()
    def keep_standing(self) -> None:
        """Remember how it stands, where that changed."""
        client = self.client
        speed = client.play_clock.speed
        now = AttemptStanding(client.stage.minutes, self._showing.value, client.stopped, speed)
        if now != self._kept:
            self._kept = now
            self._standings.keep(client.chain, now)

    @Slot(object)
    def _show(self, snapshot: Snapshot) -> None:
        self._snapshot = snapshot
        self.board.show_snapshot(veiled(snapshot, self._showing), self.person)

        if snapshot.shift is not None:
            self.briefing.show_hints(sum(is_hint(one.event) for one in snapshot.shift.entries))

    @Slot(str)
    def _write_hint(self, hint: str) -> None:
        client = self.client
        client.enter(BehindTheScenes(at=client.clock(), by=BACKSTAGE, hint=hint))

    @Slot(str)
    def _choose_showing(self, showing: str) -> None:
        self._showing = Showing(showing)
        self.client.stops_at_flags = self._showing is Showing.ON
        if self._snapshot is not None:
            self._show(self._snapshot)

    @Slot(str)
    def _say(self, words: str) -> None:
        self.board.message.doubt(words)

    @Slot()
    def _send_on(self) -> None:
        self.client.send_on(self.person.initials, self._say_refused)

    @Slot(str)
    def _act(self, action: str) -> None:
        if Action(action) is Action.END:
            self._ask_to_finish()

    @Slot()
    def _ask_to_finish(self) -> None:
        self.client.play_clock.pause()
        question = ask(
            self,
            tr("Finish this attempt?"),
            tr("Finish"),
            tr("Go on"),
            tr("The debrief follows. An attempt that is only interrupted can be resumed later."),
        )
        question.answered.connect(self._finish)

    @Slot(bool)
    def _finish(self, yes: bool) -> None:  # noqa: FBT001 - Qt's signal
        if yes:
            self._end(sure=False)

    @Slot(bool)
    def _finish_all_the_same(self, yes: bool) -> None:  # noqa: FBT001 - Qt's signal
        if yes:
            self._end(sure=True)

    def _end(self, *, sure: bool) -> None:
        shift = self._snapshot.shift if self._snapshot is not None else None
        if shift is None or self._ending:
            return
        who = self.person.initials
        end = ShiftEnded(at=self.client.clock(), by=who, holds_to=who if shift.open_holds else None)
        self._ending = True
        self.client.enter(end, self._ended, sure=sure)

    def _ask_all_the_same(self, doubts: tuple[Message, ...]) -> None:
        """Ask what a real shift is asked at its end."""
        question = ask(
            self,
            tr("Finish all the same?"),
            tr("Finish all the same"),
            tr("Go on"),
            " ".join(self.person.say(doubt) for doubt in doubts),
        )
        question.answered.connect(self._finish_all_the_same)

    def _ended(self, answer: Answer) -> None:
        self._ending = isinstance(answer, Saved)
        match answer:
            case Saved():
                self._keeper.stop()
                self._standings.forget(answer.chain)
                self._standings = Standings(None)
                self.ended.emit(answer.chain)
            case Doubtful():
                self._ask_all_the_same(answer.doubts)
        self._say_refused(answer)

    def _say_refused(self, answer: Answer) -> None:
        match answer:
            case Refused():
                self.board.message.warn(self.person.say(answer.faults[0].message))
            case Failed():
                self.board.message.warn(self.person.say(answer.sentence))


def is_hint(event: Event) -> bool:
    """Tell whether an entry is a hint that the trainee wanted."""
    return isinstance(event, BehindTheScenes) and isinstance(event.hint, str)


def _showing_of(stood: AttemptStanding | None, begun_with: str) -> Showing:
    try:
        return Showing(stood.showing if stood is not None else begun_with)
    except ValueError:
        return Showing(begun_with)


def _bare(value: float, kind: Kind, person: UserContext) -> str:
    """Return a number as it would be typed."""
    text = show(value, kind, person.taste, person.decimal_point, with_unit=False)
    return text.replace("\N{MINUS SIGN}", "-")
