"""What the Board draws: plain frozen data, every text ready to be read.

Two views that are equal look the same, so a panel that is given an equal view does nothing.

Keeps what was written last of each thing, and writes it anew only from something new.
"""

from collections.abc import Callable, Hashable
from datetime import datetime
from enum import Enum
from typing import Generic, TypeVar

from msgspec import Struct

from washmon.gui.board.cautions import CautionText
from washmon.gui.kit.level_scale import ScaleView
from washmon.gui.kit.state_mark import MarkState
from washmon.gui.kit.trend_view import TrendView
from washmon.line.flags import Flag, StepKind


class Phase(Enum):
    """What there is to show."""

    NO_SETUP = "no set-up"
    NO_SHIFT = "no shift"
    RUNNING = "running"
    ENDED = "ended"


class ValueView(Struct, frozen=True):
    """A small value under the scale; ``look`` is the state that it causes, calm if none.

    ``old``: it was measured before the newest chlorine reading.
    """

    name: str
    text: str
    look: MarkState = MarkState.IN_LIMITS
    old: bool = False
    hint: str = ""


class LineView(Struct, frozen=True):
    """A line of text that may itself cause the state."""

    text: str
    look: MarkState = MarkState.IN_LIMITS


class WaitView(Struct, frozen=True):
    """What was added mixes in, from ``since`` to ``until``."""

    since: datetime
    until: datetime
    clock: str
    """``until`` as a time of day."""

    def share(self, now: datetime) -> float:
        """Return how much of the wait is over, from 0 to 1."""
        whole = (self.until - self.since).total_seconds()
        if whole <= 0:
            return 1.0
        return min(max((now - self.since).total_seconds() / whole, 0.0), 1.0)

    def left(self, now: datetime) -> str:
        """Return what is left of the wait, in minutes and seconds."""
        seconds = max(0, round((self.until - now).total_seconds()))
        return f"{seconds // 60}:{seconds % 60:02d}"


class StepView(Struct, frozen=True):
    """The plan of a tank: what to do now, what it brings about, and what comes then."""

    text: str
    kind: StepKind
    look: MarkState = MarkState.IN_LIMITS
    quiet: str = ""
    """What it brings about and what comes then."""
    brings: str = ""
    """What it brings about alone, where there is no room for both."""
    how: str = ""
    """How the amount is measured out; empty where a measure of the shed's own does."""
    surprise: str = ""
    caution: CautionText | None = None
    cautions: tuple[CautionText, ...] = ()
    wait: WaitView | None = None
    answer: str = ""
    """The word on the button of who has done it; empty where there is nothing to enter."""
    first: bool = False
    """It is the first of the whole line that can be answered."""
    weighed: tuple[str, ...] = ()
    """What else could have been done, and why it was not chosen."""


class AlsoView(Struct, frozen=True):
    """What was found besides, which the plan does not answer yet."""

    text: str
    look: MarkState


class PanelView(Struct, frozen=True):
    """One tank."""

    number: int
    name: str
    look: MarkState
    facts: LineView
    level: LineView
    """The free chlorine alone, as text; a dash where it is not known."""
    caption: str
    measured: LineView
    """Method and age."""
    scale: ScaleView
    limits: str
    values: tuple[ValueView, ...]
    step: StepView
    trend: TrendView
    also: tuple[AlsoView, ...] = ()
    why: bool = False
    """Whether there is anything to explain."""
    second: str = ""
    """How the second fill is, beside the tank; empty where there is no vessel for one."""
    state: str = ""
    """How it is, in other words than those of the look; empty for these."""

    @property
    def title(self) -> str:
        """Number and name, as on the flag."""
        return f"{self.number} {self.name}"


class FlagView(Struct, frozen=True):
    """One finding. ``answered`` is the step of the plan that answers it, empty for none."""

    flag: Flag
    look: MarkState
    title: str
    gist: str
    why: str
    source: str
    since: str
    answered: str = ""
    can_acknowledge: bool = False
    can_shelve: bool = False
    note: bool = False
    """It asks for nobody's hand."""
    seen: str = ""

    @property
    def key(self) -> tuple[int, str]:
        """What makes it the same flag from one look to the next."""
        return self.flag.key


class ShelvedView(Struct, frozen=True):
    """One flag that is put aside for a while; ``told`` says until when, by whom and why."""

    key: tuple[int, str]
    title: str
    told: str
    can_bring_back: bool = False


class BannerView(Struct, frozen=True):
    """One line over the columns."""

    text: str
    look: MarkState = MarkState.IN_LIMITS


class TurnView(Struct, frozen=True):
    """One tank in the strip of who is first; ``when`` is empty while a wait counts down."""

    tank: int
    look: MarkState
    title: str
    what: str
    when: str = ""
    wait: WaitView | None = None
    pressing: bool = False
    """Somebody is needed now, or at the end of a wait."""


class WhyView(Struct, frozen=True):
    """All that stands behind the plan of one tank."""

    tank: int
    title: str
    look: MarkState
    step: StepView
    flags: tuple[FlagView, ...] = ()
    shelved: tuple[ShelvedView, ...] = ()


class BoardView(Struct, frozen=True):
    """The whole Board."""

    phase: Phase
    panels: tuple[PanelView, ...] = ()
    agenda: tuple[TurnView, ...] = ()
    flags: tuple[FlagView, ...] = ()
    shelved: tuple[ShelvedView, ...] = ()
    banners: tuple[BannerView, ...] = ()

    @property
    def pressing(self) -> tuple[FlagView, ...]:
        """The flags that stand, without what is only noted."""
        return tuple(one for one in self.flags if not one.note)

    def why(self, tank: int) -> WhyView | None:
        """Return what stands behind the plan of a tank; nothing where the line has none such."""
        panel = next((one for one in self.panels if one.number == tank), None)
        if panel is None:
            return None
        return WhyView(
            tank,
            panel.title,
            panel.look,
            panel.step,
            tuple(one for one in self.flags if one.key[0] == tank),
            tuple(one for one in self.shelved if one.key[0] == tank),
        )


Key = TypeVar("Key", bound=Hashable)
Told = TypeVar("Told")
View = TypeVar("View")


class KeptViews(Generic[Key, Told, View]):
    """The newest view under each key, with all that it was written from.

    ``write`` must be pure: from the same it writes the same.
    """

    def __init__(self, write: Callable[[Told], View]) -> None:
        self._write = write
        self._views: dict[Key, tuple[Told, View]] = {}

    def view(self, key: Key, told: Told) -> View:
        """Return the view of what is told; the very one as before where the same was told."""
        before = self._views.get(key)
        if before is None or before[0] != told:
            before = self._views[key] = (told, self._write(told))
        return before[1]
