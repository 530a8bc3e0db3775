"""A recorded shift on the Board, worked by the replay bar in place of the row of entries."""

from datetime import datetime

from PySide6.QtCore import Signal, Slot
from PySide6.QtGui import QHideEvent
from PySide6.QtWidgets import QWidget

from washmon.forecast.learning import Past
from washmon.gui.board.board import Board
from washmon.gui.context import UserContext, decimal_point
from washmon.gui.i18n import tr
from washmon.gui.kit.confirm import ask
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.practice.lesson_panel import LessonPanel
from washmon.gui.practice.practice_frame import PracticeFrame
from washmon.gui.practice.question_panel import QuestionPanel
from washmon.gui.replay.bar import ReplayBar
from washmon.gui.replay.replay_client import ReplayClient
from washmon.gui.replay.replay_worker import ReplayShown
from washmon.line.learned import OfProgram
from washmon.planning.snapshot import Snapshot
from washmon.sessions.file import Session
from washmon.sessions.practice.veil import Showing, veiled
from washmon.sessions.questions import Given, judge
from washmon.units import UnitSystem

_DEMO_SPEED = 60


class ReplayRoom(PracticeFrame):
    """Plays one session; can hide its flags and ask first. Practice stays within its stripes.

    Signals:
        left(): the person went back.
        snapshot_shown(Snapshot, Person): for the header.
    """

    left = Signal()
    snapshot_shown = Signal(object, object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._taste = UnitSystem.METRIC
        self._asking = False
        self._revealed = False
        self._place: ReplayShown | None = None
        self._noted = -1
        self._shown_off = False
        self.client = ReplayClient(self)
        self.board = Board(self)
        self.message = MessageLine(self)
        self.question = QuestionPanel(self)
        self.lessons = LessonPanel(self)
        self.bar = ReplayBar(self.client, self)
        self.set_framed(framed=False)
        self.inside.addWidget(self.board, 1)
        for widget in (self.message, self.question, self.lessons, self.bar):
            self.inside.addWidget(widget)
        self.setFocusProxy(self.bar)
        self.message.hide()
        self._connect()

    def _connect(self) -> None:
        self.client.opened.connect(self._play_at_once)
        self.client.moved.connect(self._stand)
        self.client.snapshot_changed.connect(self._show)
        self.client.failed.connect(self._say_failed)
        self.client.told.connect(self._say)
        self.bar.left.connect(self._leave)
        self.lessons.closed.connect(self._close_lessons)
        self.bar.asking_changed.connect(self._ask_or_tell)
        self.bar.teach_asked.connect(self.lessons.setVisible)
        self.question.answered.connect(self._judge)
        self.question.went_on.connect(self._go_on)
        self.lessons.said.connect(self._say)
        self.lessons.failed.connect(self._say_failed)

    def play(self, session: Session, past: Past = (), at: datetime | None = None) -> None:
        """Take up a session, with the shifts before it where they are known.

        It stands at a moment of the shift first, if one is given, else at its start.
        """
        self._shown_off = False
        self.message.hide()
        self.question.hide()
        self.question.start_anew()
        self.bar.teach.setChecked(False)
        self.lessons.take(session)
        self._noted = -1
        self.set_framed(framed=session.is_practice)
        self._taste = session.setup.taste
        self.client.open(session, past)
        if at is not None:
            self.client.seek_time(at)

    def show_off(self, session: Session) -> None:
        """Take up a session and play it at once, a minute of the shift in a second."""
        self.play(session)
        self.bar.choose_speed(_DEMO_SPEED)
        self._shown_off = True

    @Slot(object)
    def _play_at_once(self, _opened: object) -> None:
        """Play what is shown off as soon as it is open."""
        if self._shown_off:
            self._shown_off = False
            self.client.play()

    @property
    def _person(self) -> UserContext:
        return UserContext("", self._taste, decimal_point())

    @Slot()
    def _close_lessons(self) -> None:
        self.bar.teach.setChecked(False)
        self.bar.setFocus()

    @Slot()
    def _leave(self) -> None:
        if not self.lessons.unsaved:
            self.left.emit()
            return
        question = ask(
            self,
            tr("Leave without saving the lessons?"),
            tr("Leave"),
            tr("Stay"),
            tr("They are saved with the session, in a file of their own (Teach)."),
        )
        question.answered.connect(self._left_anyway)

    @Slot(bool)
    def _left_anyway(self, yes: bool) -> None:  # noqa: FBT001 - Qt's signal
        if yes:
            self.left.emit()

    @Slot(object)
    def _stand(self, shown: ReplayShown) -> None:
        """Ask where there is something to ask; say what a trainer noted."""
        moved = self._place is None or shown.position_s != self._place.position_s
        self._place = shown
        shift = shown.snapshot.shift
        if moved:
            self._revealed = False
            self.question.hide()
        if shift is None:
            return
        newest = max(entry.seq for entry in shift.entries if not isinstance(entry.event, OfProgram))
        self.lessons.stand_at(newest)
        self._note(newest)
        if self._asking and shown.at_end and moved and self.question.summary():
            self._say(tr("The end. {how}", how=self.question.summary()))
        if self._asking and shown.asked is not None and moved:
            self.question.ask(shown.asked, self._person, shift.setup)

    def _note(self, newest: int) -> None:
        if newest == self._noted:
            return
        self._noted = newest
        notes = self.lessons.notes_at(newest)
        if notes:
            self._say(tr("Trainer: {note}", note=" ".join(notes)))
        else:
            self.message.hide()

    @Slot(object)
    def _show(self, snapshot: Snapshot) -> None:
        if not self.isVisible():
            return
        hidden = self._asking and not self._revealed
        shown = veiled(snapshot, Showing.OFF) if hidden else snapshot
        self.board.show_snapshot(shown, self._person)
        self.snapshot_shown.emit(shown, self._person)

    @Slot(bool)
    def _ask_or_tell(self, asking: bool) -> None:  # noqa: FBT001 - Qt's signal
        self._asking, self._revealed = asking, False
        self.question.hide()
        if self._place is not None:
            self._show(self._place.snapshot)

    @Slot(object)
    def _judge(self, given: Given) -> None:
        place = self._place
        if place is None or place.asked is None:
            return
        advice = place.snapshot.advice
        self.question.show_verdict(judge(given, place.asked.question, advice, place.asked.done))
        self._revealed = True
        self._show(place.snapshot)

    @Slot()
    def _go_on(self) -> None:
        self.question.hide()
        self._revealed = False
        self.client.play()

    @Slot(str)
    def _say(self, words: str) -> None:
        self.message.say(words)
        self.message.show()

    @Slot(str)
    def _say_failed(self, why: str) -> None:
        self.message.warn(why)
        self.message.show()

    def hideEvent(self, event: QHideEvent) -> None:
        """Play nothing that nobody sees; a window that is only minimised keeps its place."""
        super().hideEvent(event)
        if event.spontaneous():
            self.client.pause()
        else:
            self.client.close()
