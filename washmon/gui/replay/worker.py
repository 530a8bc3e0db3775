"""Plays a session on a thread of its own, so that looking again never holds up the window."""

from dataclasses import dataclass
from enum import Enum, auto

from PySide6.QtCore import QObject, Signal, Slot

from washmon.gui.replay.timeline import timeline_of
from washmon.rules.snapshot import Snapshot
from washmon.sessions.file import Session
from washmon.sessions.player import News, Player


class Go(Enum):
    """Where a replay can be asked to go."""

    ON = auto()
    TO = auto()
    NEXT_ENTRY = auto()
    LAST_ENTRY = auto()
    NEXT_FLAG = auto()
    LAST_FLAG = auto()


@dataclass(frozen=True, slots=True)
class Move:
    """One wish; ``amount`` is seconds for ON, a fraction of the replay for TO."""

    go: Go
    amount: float = 0.0


@dataclass(frozen=True, slots=True)
class Shown:
    """Where the replay is and what the Board shows there."""

    snapshot: Snapshot
    position_s: float
    at_end: bool
    news: News


class Worker(QObject):
    """Holds the player; lives on the replay's thread and is talked to by signals only.

    Signals:
        opened(int, Timeline): a session is ready to be played.
        shown(int, Shown): where it is now.
        failed(int, str): the session could not be looked at, and why.

    The number is that under which the session was opened, so that words on an earlier one that
    are still on their way can be told apart.
    """

    opened = Signal(int, object)
    shown = Signal(int, object)
    failed = Signal(int, str)

    def __init__(self) -> None:
        super().__init__()
        self._number = 0
        self._player: Player | None = None

    @Slot(int, object)
    def open(self, number: int, session: Session) -> None:
        """Look at all of a session once, then stand at its start."""
        self._number, self._player = number, None
        try:
            player = Player(session)
        except Exception as fault:  # noqa: BLE001 - a forged file must not end the thread
            self.failed.emit(number, f"{type(fault).__name__}: {fault}")
            return
        self._player = player
        self.opened.emit(number, timeline_of(player))
        self._show(player)

    @Slot(object)
    def move(self, wishes: tuple[Move, ...]) -> None:
        """Go where it is asked to, one wish after the other, and show the last place only."""
        if self._player is None:
            return
        for wish in wishes:
            _move(self._player, wish)
        self._show(self._player)

    def _show(self, player: Player) -> None:
        shown = Shown(player.snapshot, player.position, player.at_end, player.news)
        self.shown.emit(self._number, shown)


def _move(player: Player, wish: Move) -> None:
    match wish.go:
        case Go.ON:
            player.advance(wish.amount)
        case Go.TO:
            player.seek(wish.amount)
        case Go.NEXT_ENTRY:
            player.step_event()
        case Go.LAST_ENTRY:
            player.back_event()
        case Go.NEXT_FLAG:
            player.next_flag()
        case Go.LAST_FLAG:
            player.previous_flag()
