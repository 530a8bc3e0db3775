"""Trends over shifts: the points of the control charts, and what each week came to.

A tank has its own chart. What is lost and how often was dosed can be charted for a whole line, too:
doses add up, and so does what is lost in milligrams, since the produce goes through one tank after
the other. Lows and pH of different tanks are different things, and have no chart together.
"""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from enum import StrEnum
from typing import NamedTuple

from washmon.line.flags import Amount
from washmon.reports.costs import Cost, summed
from washmon.reports.summary import TankSummary, TimeShares


class TrendQuantity(StrEnum):
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
    rests_on: tuple[int, int] | None = None
    """Of what was lost: on how many of the shift's batches the value rests."""


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


_VALUES: dict[TrendQuantity, Callable[[TankSummary], Sequence[float]]] = {
    TrendQuantity.REDOSE_LOW: _redose_low,
    TrendQuantity.PH: _ph,
    TrendQuantity.LOST_PER_KG: _lost_per_kg,
    TrendQuantity.LOST_PER_BATCH: _lost_per_batch,
    TrendQuantity.DOSES: _doses,
}


def points(
    quantity: TrendQuantity, summaries: Iterable[TankSummary], line: str, tank: int
) -> list[TrendPoint]:
    """Return the points of one tank of one line in order of time; practice does not count.

    Re-dose lows have a point for each re-dose; all else one for each shift (pH: the median).
    """
    mine = [one for one in summaries if one.tank == tank and _counts(one, line)]
    mine.sort(key=lambda one: one.shift.started_at)
    return [
        TrendPoint(
            one.shift.started_at,
            one.shift.chain,
            value,
            bool(one.shift.imported),
            _rests_on(quantity, one),
        )
        for one in mine
        for value in _VALUES[quantity](one)
    ]


def _rests_on(quantity: TrendQuantity, tank: TankSummary) -> tuple[int, int] | None:
    if (
        quantity not in {TrendQuantity.LOST_PER_KG, TrendQuantity.LOST_PER_BATCH}
        or tank.lost is None
    ):
        return None
    return tank.lost.batches, tank.batches


def weighed_shifts(summaries: Iterable[TankSummary], line: str, tank: int) -> tuple[int, int]:
    """Return of how many shifts what is lost is known by the kilogram, and of how many at all.

    It is where each batch between two readings was weighed.
    """
    lost = [one.lost for one in summaries if one.tank == tank and _counts(one, line) and one.lost]
    return sum(one.kg is not None for one in lost), len(lost)


LINE_QUANTITIES = frozenset(
    {TrendQuantity.LOST_PER_KG, TrendQuantity.LOST_PER_BATCH, TrendQuantity.DOSES}
)
"""What a whole line can be charted by; lost in mg per kg or per batch, not in mg/L."""


def line_points(
    quantity: TrendQuantity, summaries: Iterable[TankSummary], line: str
) -> list[TrendPoint]:
    """Return the points of a whole line, one for each shift, in order of time.

    A shift of which one tank in use does not tell its part has no point.

    Raises:
        ValueError: the quantity is none of :data:`LINE_QUANTITIES`.
    """
    if quantity not in LINE_QUANTITIES:
        raise ValueError(f"{quantity} of several tanks does not add up.")
    shifts: dict[str, list[TankSummary]] = {}
    for one in summaries:
        if _counts(one, line) and one.fills:
            shifts.setdefault(one.shift.chain, []).append(one)
    found = []
    for tanks in shifts.values():
        value = summed([_part_of_line(quantity, tank) for tank in tanks if _in_use(quantity, tank)])
        if value.total is not None and any(_in_use(quantity, tank) for tank in tanks):
            head = tanks[0].shift
            found.append(TrendPoint(head.started_at, head.chain, value.total, bool(head.imported)))
    return sorted(found, key=lambda point: point.at)


def _in_use(quantity: TrendQuantity, tank: TankSummary) -> bool:
    return quantity is TrendQuantity.DOSES or tank.batches > 0


def _part_of_line(quantity: TrendQuantity, tank: TankSummary) -> float | None:
    if quantity is TrendQuantity.DOSES:
        return float(tank.doses)
    if tank.lost is None:
        return None
    if quantity is TrendQuantity.LOST_PER_BATCH:
        return tank.lost.mg / tank.lost.batches
    return tank.lost.mg / tank.lost.kg if tank.lost.kg else None


WATER = ""
"""Stands for water among the names of products."""


@dataclass(frozen=True)
class Spent:
    """What a product (or :data:`WATER`) cost in a week, in one currency."""

    name: str
    currency: str
    cost: Cost


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
    spent: tuple[Spent, ...] = ()
    """By name, water last; of each currency that the shifts of the week had (mostly one)."""

    def cost(self, currency: str) -> Cost:
        """Return what the week cost in a currency; not whole where a shift had no prices at all."""
        mine = [one.cost for one in self.spent if one.currency == currency]
        priced = all(one.currency for one in self.spent)
        return Cost(sum(one.known for one in mine), priced and all(one.whole for one in mine))


@dataclass
class _Sum:
    chains: set[str] = field(default_factory=set)
    watched_s: float = 0.0
    within_s: float = 0.0
    unknown_s: float = 0.0
    water_l: float = 0.0
    used: defaultdict[tuple[str, str], float] = field(default_factory=lambda: defaultdict(float))
    flags: Counter[str] = field(default_factory=Counter)
    spent: defaultdict[tuple[str, str], list[float | None]] = field(
        default_factory=lambda: defaultdict(list)
    )

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
            self.spent[tank.shift.currency, one.name].append(one.cost)
        if tank.water_l or not tank.water_known:
            self.spent[tank.shift.currency, WATER].append(tank.water_cost)
        self.flags.update(dict(tank.flags_by_rule))


def weeks(summaries: Iterable[TankSummary], line: str, tank: int | None = None) -> list[Week]:
    """Return what each week came to, oldest first; of all tanks of the line unless one is named.

    A week without a shift stands between the others, as one in which nothing happened.
    """
    sums: dict[date, _Sum] = {}
    for one in summaries:
        if _counts(one, line) and tank in {None, one.tank}:
            day = one.shift.started_at.date()
            monday = day - timedelta(days=day.weekday())
            sums.setdefault(monday, _Sum()).take(one)
    if not sums:
        return []
    first, last = min(sums), max(sums)
    mondays = (first + timedelta(weeks=at) for at in range((last - first).days // 7 + 1))
    return [_week(monday, sums.get(monday) or _Sum()) for monday in mondays]


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
        spent=tuple(
            Spent(name, currency, summed(costs))
            for (currency, name), costs in sorted(found.spent.items(), key=_water_last)
        ),
    )


def _water_last(item: tuple[tuple[str, str], object]) -> tuple[bool, str, str]:
    (currency, name), _ = item
    return name == WATER, name, currency


def currencies(weeks: Iterable[Week]) -> list[str]:
    """Return the currencies of these weeks, that of the newest first; none for no prices."""
    newest_first = sorted(weeks, key=lambda week: week.monday, reverse=True)
    named = (one.currency for week in newest_first for one in week.spent)
    return [currency for currency in dict.fromkeys(named) if currency]


def _counts(one: TankSummary, line: str) -> bool:
    return not one.shift.practice and line in {"", one.shift.line}
