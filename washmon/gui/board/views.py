"""What the Board draws: plain frozen data, every text ready to be read.

Two views that are equal look the same, so a panel that is given an equal view does nothing.
"""

from enum import Enum

from msgspec import Struct

from washmon.gui.board.cautions import CautionText
from washmon.gui.kit.level_scale import ScaleView
from washmon.gui.kit.state_mark import Look
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
    look: Look = Look.IN_LIMITS
    old: bool = False
    hint: str = ""


class LineView(Struct, frozen=True):
    """A line of text that may itself cause the state."""

    text: str
    look: Look = Look.IN_LIMITS


class StepView(Struct, frozen=True):
    """The next step of a tank."""

    text: str
    kind: StepKind
    look: Look = Look.IN_LIMITS
    caution: CautionText | None = None


class PanelView(Struct, frozen=True):
    """One tank."""

    number: int
    name: str
    look: Look
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
    ahead: str = ""
    """How long the water stays good; empty where nobody looked ahead."""
    second: str = ""
    """How the second fill is, beside the tank; empty where there is no vessel for one."""
    state: str = ""
    """How it is, in other words than those of the look; empty for these."""

    @property
    def title(self) -> str:
        """Number and name, as on the flag."""
        return f"{self.number} {self.name}"


class FlagView(Struct, frozen=True):
    """One flag of the list. ``answer`` is the word on its first button, empty for none."""

    flag: Flag
    look: Look
    title: str
    step: str
    gist: str
    why: str
    source: str
    since: str
    caution: CautionText | None = None
    cautions: tuple[CautionText, ...] = ()
    answer: str = ""
    can_acknowledge: bool = False
    can_shelve: bool = False
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
    look: Look = Look.IN_LIMITS


class BoardView(Struct, frozen=True):
    """The whole Board."""

    phase: Phase
    panels: tuple[PanelView, ...] = ()
    flags: tuple[FlagView, ...] = ()
    shelved: tuple[ShelvedView, ...] = ()
    banners: tuple[BannerView, ...] = ()
    calm: str = ""
    """What the list says where there is no flag."""
