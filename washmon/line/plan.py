"""What one tank needs: now, then, until when, and what should be read afterwards."""

from datetime import datetime

from msgspec import Struct

from washmon.line.flags import Step, StepKind
from washmon.line.message import Message


class Span(Struct, frozen=True):
    """The two ends between which a value is expected, in 8 of 10 cases."""

    low: float
    high: float


class Expected(Struct, frozen=True, kw_only=True):
    """What the person's own instrument should show at the next reading.

    ``level_mg_l`` is the level of the sanitizer; ``at`` is when the reading first tells of all that
    was added.
    """

    level_mg_l: Span | None = None
    ph: Span | None = None
    at: datetime | None = None


class Due(Struct, frozen=True, kw_only=True):
    """Until when a plan holds: so many more batches or a moment, whichever comes first."""

    batches: int | None = None
    at: datetime | None = None


class WeighedOption(Struct, frozen=True):
    """What else could have been done, and in one sentence why it was not chosen."""

    kind: StepKind
    why: Message


class Plan(Struct, frozen=True, kw_only=True):
    """What one tank needs, made from all that was found and is predicted of it.

    ``feed`` tells whether produce may go in meanwhile; ``wait_until`` when what was added has mixed
    in, while that is waited for. ``answers`` names the findings that the step answers.
    ``objective`` is the version of the weights by which it was chosen.
    """

    tank: int
    now: Step
    feed: bool = True
    brings: Message | None = None
    """What the step brings about, predicted."""
    how: Message | None = None
    """How the amount is measured out, where no measure of the shed comes near."""
    then: Message | None = None
    wait_until: datetime | None = None
    due: Due | None = None
    expected: Expected | None = None
    answers: tuple[str, ...] = ()
    surprise: Message | None = None
    """That the newest reading was not what had been expected."""
    weighed: tuple[WeighedOption, ...] = ()
    objective: int = 0
    since: datetime | None = None
    """When this step was first said."""

    @property
    def hand(self) -> bool:
        """Whether somebody has to lift a hand for it now."""
        return self.now.kind not in {StepKind.LOOK, StepKind.WAIT}

    @property
    def parts(self) -> tuple[Message, ...]:
        """What it asks for now, as parts of a sentence: tank, step, whether washing stops."""
        told = (Message("tank {tank} now", {"tank": self.tank}), self.now.say)
        if self.feed or self.now.kind is StepKind.LOOK:
            return told
        return (*told, Message("nothing is washed meanwhile"))
