"""Trends over shifts: the points of the control charts, and what each week came to."""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from enum import StrEnum
from typing import NamedTuple

from washmon.line.flags import Amount
from washmon.reports.summary import TankSummary, TimeShares


class Quantity(StrEnum):
    """What is charted; each gives points that do not follow from one another."""

    REDOSE_LOW = "re-dose low"
    PH = "pH"
    LOST_PER_KG = "lost per kg"
    LOST_PER_BATCH = "lost per batch"
    DOSES = "doses"


class TrendPoint(NamedTuple):
    """One value of one tank: when its shift began, and which shift that was."""

    at: datetime
    chain: str
    value: float
    imported: bool = False


def _redose_low(tank: TankSummary) -> Sequence[float]:
    return tank.redose_lows


def _ph(tank: TankSummary) -> Sequence[float]:
    return (tank.ph.median,) if tank.ph else ()


def _lost_per_kg(tank: TankSummary) -> Sequence[float]:
    return (tank.lost.mg_l / tank.lost.kg,) if tank.lost and tank.lost.kg else ()


def _lost_per_batch(tank: TankSummary) -> Sequence[float]:
    return (tank.lost.mg_l / tank.lost.batches,) if tank.lost else ()


def _doses(tank: TankSummary) -> Sequence[float]:
    return (float(tank.doses),) if tank.fills else ()


_VALUES: dict[Quantity, Callable[[TankSummary], Sequence[float]]] = {
    Quantity.REDOSE_LOW: _redose_low,
    Quantity.PH: _ph,
    Quantity.LOST_PER_KG: _lost_per_kg,
    Quantity.LOST_PER_BATCH: _lost_per_batch,
    Quantity.DOSES: _doses,
}


def points(
    quantity: Quantity, summaries: Iterable[TankSummary], line: str, tank: int
) -> list[TrendPoint]:
    """Return the points of one tank of one line in order of time; practice does not count.

    Re-dose lows have a point for each re-dose; all else one for each shift (pH: the median).
    """
    mine = [one for one in summaries if one.tank == tank and _counts(one, line)]
    mine.sort(key=lambda one: one.shift.started_at)
    return [
        TrendPoint(one.shift.started_at, one.shift.chain, value, bool(one.shift.imported))
        for one in mine
        for value in _VALUES[quantity](one)
    ]


@dataclass(frozen=True)
class Week:
    """What the tanks of a line (or one of them) came to in a week that begins on ``monday``.

    Shares go from 0 to 1 of the time in which tanks were in use, and are None where none was.
    """

    monday: date
    shifts: int
    within: float | None
    unknown: float | None
    water_l: float
    used: tuple[tuple[str, Amount], ...]
    """Sanitizers and acids by name."""
    flags: tuple[tuple[str, int], ...]
    """Ids of rules with how often their flag came up, most often first."""


@dataclass
class _Sum:
    chains: set[str] = field(default_factory=set)
    watched_s: float = 0.0
    within_s: float = 0.0
    unknown_s: float = 0.0
    water_l: float = 0.0
    used: defaultdict[tuple[str, str], float] = field(default_factory=lambda: defaultdict(float))
    flags: Counter[str] = field(default_factory=Counter)

    def take(self, tank: TankSummary) -> None:
        self.chains.add(tank.shift.chain)
        time: TimeShares | None = tank.paa_time or tank.fac_time
        if time is not None:
            self.watched_s += time.watched_s
            self.within_s += time.within * time.watched_s
            self.unknown_s += time.unknown * time.watched_s
        self.water_l += tank.water_l
        for one in (*tank.sanitizer_used, *tank.acid_used):
            self.used[one.name, one.amount.unit] += one.amount.value
        self.flags.update(dict(tank.flags_by_rule))


def weeks(summaries: Iterable[TankSummary], line: str, tank: int | None = None) -> list[Week]:
    """Return what each week came to, oldest first; of all tanks of the line unless one is named."""
    sums: dict[date, _Sum] = {}
    for one in summaries:
        if _counts(one, line) and tank in {None, one.tank}:
            day = one.shift.started_at.date()
            monday = day - timedelta(days=day.weekday())
            sums.setdefault(monday, _Sum()).take(one)
    return [_week(monday, found) for monday, found in sorted(sums.items())]


def _week(monday: date, found: _Sum) -> Week:
    watched_s = found.watched_s
    return Week(
        monday=monday,
        shifts=len(found.chains),
        within=found.within_s / watched_s if watched_s else None,
        unknown=found.unknown_s / watched_s if watched_s else None,
        water_l=found.water_l,
        used=tuple((name, Amount(sum_, unit)) for (name, unit), sum_ in sorted(found.used.items())),
        flags=tuple(found.flags.most_common()),
    )


def _counts(one: TankSummary, line: str) -> bool:
    return not one.shift.practice and line in {"", one.shift.line}
