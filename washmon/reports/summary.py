"""The summary of a shift: one record per tank, of what was washed, measured, used and done."""

from collections.abc import Iterable
from datetime import datetime

import msgspec
from msgspec import Struct

from washmon.line.events import (
    Decision,
)
from washmon.line.flags import Amount
from washmon.line.signing import SigningStage
from washmon.reports.corrective import Corrective
from washmon.reports.costs import Cost, summed
from washmon.reports.depletion import Lost

VERSION = 6
"""Of the record, and of what its columns mean: another version is made anew from the journal."""


class ShiftHead(Struct, frozen=True, kw_only=True):
    """Which shift a summary is of; ``supervisor`` are the initials of who began it.

    ``batches`` counts each batch once, whichever tanks it went through.
    """

    chain: str
    practice: bool
    site: str
    location: str
    line: str
    commodity: str
    started_at: datetime
    ended_at: datetime | None
    supervisor: str
    supervisor_name: str
    lots: tuple[str, ...]
    batches: int
    signing: SigningStage = SigningStage.UNSIGNED
    signed_by: str = ""
    signed_at: datetime | None = None
    reviewed_by: str = ""
    reviewed_at: datetime | None = None
    corrected_after_signing: int = 0
    head: str = ""
    """The hash that the shift's journal ends with."""
    imported: str = ""
    """The file that the shift was taken over from, if it was."""
    currency: str = ""
    """Of what it cost; empty where the set-up names no prices."""
    review_days: int | None = None
    """Working days that its first review took."""


class LevelSummary(Struct, frozen=True, kw_only=True):
    """What readings of one quantity said; the shares go from 0 to 1 of ``count``."""

    count: int
    lowest: float
    median: float
    highest: float
    within: float
    """From operating low to operating high."""
    at_least_critical: float
    """At the critical low or above it; always 1 for pH."""


class TimeShares(Struct, frozen=True, kw_only=True):
    """Of the time in which a tank was in use, 0 to 1; see :mod:`washmon.reports.timeline`.

    ``within`` + ``outside`` + ``unknown`` is 1. ``critical`` is the share with free chlorine known
    to be under the critical low, which is part of ``outside``; 0 for pH.
    """

    watched_s: float
    within: float
    outside: float
    critical: float
    unknown: float
    longest_gap_s: float


class Used(Struct, frozen=True, kw_only=True):
    """How much of a product went into a tank (mL of a liquid, g of a solid), in how many goes."""

    product: str
    name: str
    amount: Amount
    times: int
    cost: float | None = None
    """In the currency of the shift; None is not known."""


class TankSummary(Struct, frozen=True, kw_only=True):
    """One tank in one shift. Free chlorine in mg/L as Cl2; None where there are no data.

    Everything is counted with corrections applied.
    """

    version: int = VERSION
    shift: ShiftHead
    tank: int
    tank_name: str
    stage: str
    batches: int
    washed_kg: float
    """Of the batches that were weighed."""
    batches_not_weighed: int
    fills: int
    exchanges: int
    water_l: float
    """Filled and exchanged."""
    readings: int
    fac: LevelSummary | None
    ph: LevelSummary | None
    fac_time: TimeShares | None
    ph_time: TimeShares | None
    doses: int
    sanitizer_used: tuple[Used, ...]
    acid_additions: int
    acid_used: tuple[Used, ...]
    flags_watch: int
    """A flag that rose from one level to the next counts in both."""
    flags_act: int
    flags_stop: int
    holds: int
    open_holds: int
    batches_held: int
    decisions: tuple[Decision, ...]
    """Of the holds that are decided, in order."""
    corrective: tuple[Corrective, ...]
    corrections: int
    """Entries of this tank that were corrected, counted once for each correction."""
    paa: LevelSummary | None = None
    """Peracetic acid, mg/L; its tanks have no time shares of free chlorine and pH."""
    paa_time: TimeShares | None = None
    redose_lows: tuple[float, ...] = ()
    """The sanitizer's level, mg/L, as last read before each dose into water that was in use."""
    lost: Lost | None = None
    flags_by_rule: tuple[tuple[str, int], ...] = ()
    """How often each rule's flag came up, most often first."""
    water_cost: float | None = None

    @property
    def water_known(self) -> bool:
        """Whether it is recorded when and how far the tank was filled: an imported log says not."""
        return not (self.shift.imported and self.fills)

    @property
    def cost(self) -> Cost:
        """What its chemicals and its water cost; a tank that was never used cost nothing."""
        water = self.water_cost if self.water_l or not self.water_known else 0.0
        used = (*self.sanitizer_used, *self.acid_used)
        return summed([water, *(one.cost for one in used)])


def summary_bodies(summaries: Iterable[TankSummary]) -> list[tuple[int, str]]:
    """Return tank numbers with their summaries as JSON, for keeping."""
    return [(one.tank, msgspec.json.encode(one).decode()) for one in summaries]


def read_summary(body: str) -> TankSummary | None:
    """Return a kept summary; None if another version made it, or it is none."""
    try:
        summary = msgspec.json.decode(body, type=TankSummary)
    except msgspec.DecodeError:
        return None
    return summary if summary.version == VERSION else None


class _Batches(Struct):
    batches: int


class _Counted(Struct):
    shift: _Batches


def read_batches(body: str) -> int | None:
    """Return how many batches a shift washed, from a summary that any version kept."""
    try:
        return msgspec.json.decode(body, type=_Counted).shift.batches
    except msgspec.DecodeError:
        return None
