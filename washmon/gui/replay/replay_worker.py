"""Plays a session on a thread of its own, so that looking again never holds up the window."""

from dataclasses import dataclass
from datetime import datetime
from enum import Enum, auto

from PySide6.QtCore import QObject, Signal, Slot

from washmon.forecast.learning import Past
from washmon.gui.replay.replay_timeline import timeline_of
from washmon.line.events import Event
from washmon.planning.snapshot import Snapshot
from washmon.sessions.file import Session
from washmon.sessions.player import Judged, News, Player
from washmon.sessions.questions import Question, done_then, questions


class Go(Enum):
    """Where a replay can be asked to go."""

    ON = auto()
    TO = auto()
    AT = auto()
    NEXT_ENTRY = auto()
    LAST_ENTRY = auto()
    NEXT_FLAG = auto()
    LAST_FLAG = auto()
    THEN = auto()
    TODAY = auto()


_JUDGED = {Go.THEN: Judged.THEN, Go.TODAY: Judged.TODAY}


@dataclass(frozen=True, slots=True)
class Move:
    """One wish; ``amount`` is seconds for ON, a fraction of the replay for TO; AT goes to ``at``.

    ``asking`` stops where a question is to be asked. THEN and TODAY stay at the place and choose
    whose word is shown there.
    """

    go: Go
    amount: float = 0.0
    asking: bool = False
    at: datetime | None = None


@dataclass(frozen=True, slots=True)
class QuestionAsked:
    """A question that the replay has come to, and what was done about it then."""

    question: Question
    done: Event | None


@dataclass(frozen=True, slots=True)
class ReplayShown:
    """Where the replay is and what the Board shows there."""

    snapshot: Snapshot
    position_s: float
    at_end: bool
    news: News
    asked: QuestionAsked | None = None


class ReplayWorker(QObject):
    """Holds the player; lives on the replay's thread and is talked to by signals only.

    Signals:
        opened(int, Timeline): a session is ready to be played.
        rejudged(int, Timeline): the same session, with the flags of then or of today.
        shown(int, Shown): where it is now.
        failed(int, str): the session could not be looked at, and why.
        untaught(int, str): the shifts before it could not be, so it goes by what is usual.

    The number is that under which the session was opened, so that words on an earlier one that
    are still on their way can be told apart.
    """

    opened = Signal(int, object)
    rejudged = Signal(int, object)
    shown = Signal(int, object)
    failed = Signal(int, str)
    untaught = Signal(int, str)

    def __init__(self) -> None:
        super().__init__()
        self._number = 0
        self._player: Player | None = None
        self._past: Past = ()
        self._played: dict[Judged, Player] = {}
        self._questions: tuple[Question, ...] = ()

    @Slot(int, object, object)
    def open(self, number: int, session: Session, past: Past) -> None:
        """Look at all of a session once as it was told, then stand at its start."""
        self._number, self._player, self._past = number, None, past
        self._played.clear()
        try:
            player = Player(session, past)
            self._questions = questions(player)
        except Exception as fault:  # noqa: BLE001 - a forged file must not end the thread
            self.failed.emit(number, f"{type(fault).__name__}: {fault}")
            return
        self._player = self._played[player.judged] = player
        self.opened.emit(number, timeline_of(player))
        self._show(player)
        why = player.untaught
        if why is not None:
            self.untaught.emit(number, f"{type(why).__name__}: {why}")

    @Slot(object)
    def move(self, wishes: tuple[Move, ...]) -> None:
        """Go where it is asked to, one wish after the other, and show the last place only."""
        if self._player is None:
            return
        asking = False
        for wish in wishes:
            asking = asking or wish.asking
            if wish.go in _JUDGED:
                self._judge(self._player, _JUDGED[wish.go])
            elif wish.asking and wish.go is Go.ON:
                self._on_to_question(self._player, wish.amount)
            else:
                _move(self._player, wish)
        self._show(self._player, asking=asking)

    def _judge(self, player: Player, judged: Judged) -> None:
        """Go on at the same place with the word of then or of today."""
        try:
            if judged not in self._played:
                self._played[judged] = Player(player.session, self._past, judged)
            other = self._played[judged]
            self._questions = questions(other)
        except Exception as fault:  # noqa: BLE001 - a forged file must not end the thread
            self.failed.emit(self._number, f"{type(fault).__name__}: {fault}")
            other = player
        other.seek_position(player.position)
        self._player = other
        self.rejudged.emit(self._number, timeline_of(other))

    def _on_to_question(self, player: Player, seconds: float) -> None:
        """Let time pass, but not beyond the next question."""
        due = next((q.offset_s for q in self._questions if q.offset_s > player.position), None)
        if due is not None and due <= player.position + seconds:
            player.seek_position(due)
        else:
            player.advance(seconds)

    def _show(self, player: Player, *, asking: bool = False) -> None:
        asked = self._asked(player) if asking else None
        shown = ReplayShown(player.snapshot, player.position, player.at_end, player.news, asked)
        self.shown.emit(self._number, shown)

    def _asked(self, player: Player) -> QuestionAsked | None:
        """Return the question at the very place where the replay stands; a trainer's own first."""
        here = [q for q in self._questions if q.offset_s == player.position]
        if not here:
            return None
        question = next((q for q in here if q.text), here[0])
        return QuestionAsked(question, done_then(player, question))


def _move(player: Player, wish: Move) -> None:
    match wish.go:
        case Go.ON:
            player.advance(wish.amount)
        case Go.TO:
            player.seek(wish.amount)
        case Go.AT if wish.at is not None:
            player.seek(wish.at)
        case Go.NEXT_ENTRY:
            player.step_event()
        case Go.LAST_ENTRY:
            player.back_event()
        case Go.NEXT_FLAG:
            player.next_flag()
        case Go.LAST_FLAG:
            player.previous_flag()
