"""What a trainer does during a lesson: changes that can be taken back, and questions."""

from collections.abc import Iterator
from datetime import datetime
from typing import NamedTuple

from msgspec.structs import replace
from PySide6.QtCore import QObject, Signal

from washmon.gui.i18n import tr
from washmon.gui.practice.debrief_words import asked_words, change_words
from washmon.gui.practice.practice_client import PracticeClient
from washmon.line.practice_events import Asked, BehindTheScenes, WorldChange
from washmon.line.state import ShiftState
from washmon.sessions.practice.attempt import BACKSTAGE
from washmon.sessions.practice.stage import PracticeStage

MOST_ANSWERS = 4


class LogLine(NamedTuple):
    """What the trainer did, and when."""

    at: datetime
    words: str


class _Done(NamedTuple):
    """A change, and how it was before."""

    change: WorldChange
    before: WorldChange


class TrainerDesk(QObject):
    """Works on one attempt; everything it does is in the journal, so that the debrief tells it.

    Signals:
        asked_changed(): a question is put, answered, revealed or taken away.
        undo_changed(): there is something to take back, or no longer.
    """

    asked_changed = Signal()
    undo_changed = Signal()

    def __init__(self, client: PracticeClient, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._client = client
        self._done: list[_Done] = []
        self._ran = False
        self.asked: Asked | None = None
        """The question on the trainee's screen."""
        self.revealed = False
        self.by_class = False
        """Whether the trainer counts the answers of a class."""

    # -- changes --------------------------------------------------------------------------------

    def change(self, change: WorldChange) -> None:
        """Make it so from now on; nothing where it is so already."""
        before = standing(self._client.stage, change)
        if before == change:
            return
        self._done.append(_Done(change, before))
        self._client.change_world(change)
        self.undo_changed.emit()

    @property
    def can_undo(self) -> bool:
        """Whether there is something to take back."""
        return bool(self._done)

    def undo(self) -> bool:
        """Take the last change back, from now on; False where it has changed since by itself."""
        done = self._done.pop()
        self.undo_changed.emit()
        now = standing(self._client.stage, done.change)
        still = {
            name: getattr(done.before, name)
            for name in WorldChange.__struct_fields__
            if getattr(done.change, name) is not None
            and getattr(now, name) == getattr(done.change, name)
            and getattr(now, name) != getattr(done.before, name)
        }
        if not still:
            return False
        self._client.change_world(WorldChange(**still))
        return True

    # -- questions ------------------------------------------------------------------------------

    def ask(self, question: Asked, *, by_class: bool) -> None:
        """Let the shift stand, and put a question on the trainee's screen."""
        clock = self._client.play_clock
        self._ran = clock.running
        clock.pause()
        self.asked = replace(question, counts=(0,) * len(question.answers))
        self.revealed, self.by_class = False, by_class
        self.asked_changed.emit()

    def count(self, answer: int, by: int = 1) -> None:
        """Count one more who gave this answer, or one fewer; after the reveal no more."""
        if self.asked is None or self.revealed:
            return
        counts = list(self.asked.counts)
        counts[answer] = max(0, counts[answer] + by)
        self.asked = replace(self.asked, counts=tuple(counts))
        self.asked_changed.emit()

    def choose(self, answer: int) -> None:
        """Take the trainee's one answer, which may still be changed until the reveal."""
        if self.asked is None or self.revealed or self.by_class:
            return
        chosen = tuple(int(at == answer) for at in range(len(self.asked.answers)))
        self.asked = replace(self.asked, counts=chosen)
        self.asked_changed.emit()

    def reveal(self) -> None:
        """Show which answer is right, and write down how it was answered."""
        if self.asked is None or self.revealed:
            return
        self.revealed = True
        self._write(self.asked)
        self.asked_changed.emit()

    def go_on(self) -> None:
        """Take the question away; time passes again if it did before."""
        if self.asked is None:
            return
        if not self.revealed:
            self._write(self.asked)
        self.asked = None
        self.asked_changed.emit()
        if self._ran:
            self._client.play_clock.toggle()

    def _write(self, asked: Asked) -> None:
        client = self._client
        client.enter(BehindTheScenes(at=client.clock(), by=BACKSTAGE, asked=asked))


def standing(stage: PracticeStage, change: WorldChange) -> WorldChange:
    """Return how things stand that a change is about, said as a change would say it."""
    world, line = stage.line.world, stage.line
    strength = line.strength_share / stage.scenario.world.strength_share
    of_strength = change.strength_share is not None or change.strength_times is not None
    return WorldChange(
        dirtiness=str(world.dirtiness) if change.dirtiness is not None else None,
        strip_share=world.strip_share if change.strip_share is not None else None,
        decay_share=world.decay_share if change.decay_share is not None else None,
        strength_share=round(strength, 9) if of_strength else None,
    )


def log_of(shift: ShiftState) -> Iterator[LogLine]:
    """Yield what the trainer did so far, as the journal has it."""
    for entry in shift.entries:
        event = entry.event
        if not isinstance(event, BehindTheScenes):
            continue
        if event.change is not None:
            yield LogLine(
                entry.recorded_at, tr("Made it so: {what}", what=change_words(event.change))
            )
        if isinstance(event.asked, Asked):
            yield LogLine(entry.recorded_at, asked_words(event.asked))
        if isinstance(event.hint, str):
            words = tr("The trainee wanted a hint: {hint}", hint=event.hint)
            yield LogLine(entry.recorded_at, words)
