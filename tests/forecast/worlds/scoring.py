"""What a forecast said, held against what was so, over many shifts."""

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tests.forecast.worlds.plain import PlainFilter, theil_sen
from tests.forecast.worlds.shifts import FURTHEST, Look, Simulated, simulated
from washmon.forecast.learning import prior_from
from washmon.forecast.look_ahead import Forecast
from washmon.forecast.predict import run_ahead
from washmon.forecast.prior import Prior
from washmon.forecast.shift import FilterCache, forecast_shift
from washmon.line.events import ReadingTaken
from washmon.line.fold import begin, fold, step
from washmon.line.state import TankState
from washmon.rules.in_question import questioned

Floats = NDArray[np.float64]
SHARES = (0.5, 0.8, 0.95)
_DIVERGED = 0.15


@dataclass(frozen=True)
class Case:
    """One look ahead; batches until the operating low, cut off at 40."""

    seed: int
    world: str
    regime: str
    gauge: str
    batches: int
    """Washed so far."""
    first: bool
    """Whether it is the first reading of a fill."""
    after_step: bool
    truth: float
    critical: float
    middle: float
    spans: tuple[tuple[float, float], ...]
    """Ends of the ranges that should hold 50, 80 and 95 %."""
    crps: float
    below: float
    """The share of the forecast under the truth: evenly spread, if all is as said."""
    line: float | None
    plain: float
    plain_crps: float
    check: int
    width: float
    level_off: float
    """How far the middle of the level is off, as a share: off what was read, or off what is true by
    the time it was written down, whichever is nearer (in dirty water minutes lie between them)."""
    mixed: bool
    in_good: bool

    @property
    def open(self) -> bool:
        """Whether the limit lies ahead, within what was looked at."""
        return 0 < self.truth < FURTHEST

    @property
    def error(self) -> float:
        return abs(self.middle - min(self.truth, FURTHEST))

    def covers(self, place: int) -> bool:
        low, high = self.spans[place]
        return low <= self.truth <= high


@dataclass(frozen=True)
class Held:
    """A batch in question as a reading told of it."""

    seed: int
    gauge: str
    said: float
    bad: bool


@dataclass(frozen=True)
class Scored:
    """All that was said in one shift."""

    cases: tuple[Case, ...]
    held: tuple[Held, ...]


def score(
    told: Simulated, priors: dict[int, Prior] | None = None, furthest_looks: int = 1000
) -> Scored:
    """Judge every reading of a shift."""
    cache, plain = FilterCache(), PlainFilter(told.seed, told.setup.tanks[0].volume_l)
    shift = begin("worlds", told.entries[0])
    looks = {look.upto: look for look in told.looks[:furthest_looks]}
    cases, held = list[Case](), dict[int, Held]()
    for place, entry in enumerate(told.entries[1:], start=2):
        shift = step(shift, entry)
        plain.hear(entry.event)
        look = looks.get(place)
        if look is None or not isinstance(entry.event, ReadingTaken):
            continue
        ours = forecast_shift(shift, look.at, cache, priors)[1]
        tank = shift.tank(1)
        cases.append(_case(told, look, ours, tank, plain))
        critical = tank.spec.chlorine.critical_low_mg_l
        for seq in questioned(tank):
            if seq not in held and seq in ours.below:
                bad = told.met[seq] < critical
                held[seq] = Held(told.seed, told.gauge, ours.below[seq], bad)
    return Scored(tuple(cases), tuple(held.values()))


def _case(told: Simulated, look: Look, ours: Forecast, tank: TankState, plain: PlainFilter) -> Case:
    low = tank.spec.chlorine.low_mg_l
    fill = tank.fill
    assert fill is not None
    ahead = run_ahead(ours.particles, ours.pace, FURTHEST).until(low)[0]
    ways = np.sort(np.minimum(ahead, FURTHEST))
    theirs = np.sort(plain.until(low))
    truth = min(look.low, float(FURTHEST))
    until = ours.until_low.batches
    return Case(
        seed=told.seed,
        world=told.world,
        regime=told.regime,
        gauge=told.gauge,
        batches=look.batches,
        first=len(fill.readings) == 1,
        after_step=look.after_step,
        truth=truth,
        critical=look.critical,
        middle=min(until.mid, float(FURTHEST)),
        spans=tuple(_span(ways, share) for share in SHARES),
        crps=crps(ways, truth),
        below=float(np.mean(ways < truth) + 0.5 * np.mean(ways == truth)),
        line=theil_sen(tank, low),
        plain=float(np.median(theirs)),
        plain_crps=crps(theirs, truth),
        check=ours.check.batches,
        width=min(until.high, float(FURTHEST)) - until.low,
        level_off=min(
            abs(ours.level.mid - level) / max(level, 5.0)
            for level in (look.read_mg_l, look.true_mg_l)
        ),
        mixed=look.mixed,
        in_good="strip" not in told.gauge
        and abs(look.read_mg_l - look.true_mg_l) <= 0.15 * look.true_mg_l,
    )


def _span(ordered: Floats, share: float) -> tuple[float, float]:
    last = ordered.size - 1
    low = float(ordered[round((1 - share) / 2 * last)])
    high = float(ordered[round((1 + share) / 2 * last)])
    return low, high


def crps(ordered: Floats, truth: float) -> float:
    """Return the continuous ranked probability score of equally likely values, in rising order.

    Gneiting and Raftery, J. Am. Stat. Assoc. 102:359 (2007), eq. 21.
    """
    count = ordered.size
    ranks = 2 * np.arange(1, count + 1) - count - 1
    return float(np.mean(np.abs(ordered - truth)) - (ranks @ ordered) / count**2)


def diverged(cases: Iterable[Case]) -> set[int]:
    """Return the shifts in which the level was far off at three good readings in a row.

    Kit and meter only, mixed water only, no slips.
    """
    found, run = set[int](), dict[int, int]()
    for one in cases:
        if not one.in_good or not one.mixed:
            continue
        run[one.seed] = run.get(one.seed, 0) + 1 if one.level_off > _DIVERGED else 0
        if run[one.seed] >= 3:
            found.add(one.seed)
    return found


def score_seed(seed: int) -> Scored:
    """Judge the shift of a seed."""
    return score(simulated(seed))


def score_second(shed: int) -> tuple[Case, Case]:
    """Judge the first reading of a shift without, and with, one past shift of its shed."""
    past = simulated(900_000 + shed, shed=shed, regime="base")
    now = simulated(910_000 + shed, shed=shed, regime="base")
    priors = prior_from([fold("past", past.entries)])
    return score(now, None, 1).cases[0], score(now, priors, 1).cases[0]


def in_time(cases: Iterable[Case], limit: str) -> float:
    """Return how often the next check comes before a limit (``truth``: the operating low)."""
    good = [one for one in cases if getattr(one, limit) > 0]
    return float(np.mean([one.check <= getattr(one, limit) for one in good]))


# -- tables ------------------------------------------------------------------------------------


def row(name: str, some: list[Case]) -> str:
    """Return one line of the table: of looks with the limit ahead."""
    ahead = [one for one in some if one.open]
    if len(ahead) < 5:
        return f"{name:24} {len(ahead):5} looks"
    errors = np.array([one.error for one in ahead])
    line = [one for one in ahead if one.line is not None]
    crossing = [one for one in line if 0 < (one.line or 0) < FURTHEST]
    covers = " ".join(
        f"{np.mean([one.covers(place) for one in ahead]):.2f}" for place in range(len(SHARES))
    )
    plain = np.array([abs(one.plain - one.truth) for one in ahead])
    return (
        f"{name:24} {len(ahead):5} | {errors.mean():5.2f} {np.median(errors):5.2f} "
        f"crps {np.mean([one.crps for one in ahead]):5.2f} | {covers} | "
        f"TS {_ratio(line, np.mean):4.2f} x {_ratio(crossing, np.mean):4.2f} "
        f"med {_ratio(line, np.median):4.2f} xmed {_ratio(crossing, np.median):4.2f} | "
        f"plain {plain.mean():5.2f} {np.median(plain):5.2f} "
        f"crps {np.mean([one.plain_crps for one in ahead]):5.2f}"
    )


def _ratio(some: list[Case], middle: Callable[[list[float]], np.floating]) -> float:
    if len(some) < 5:
        return math.nan
    ours = float(middle([one.error for one in some]))
    return ours / max(float(middle([abs((one.line or 0.0) - one.truth) for one in some])), 1e-9)


def checks(some: list[Case]) -> str:
    """Return how often the next check is in time before each limit, and what it costs."""
    parts = []
    for limit in ("truth", "critical"):
        good = [one for one in some if getattr(one, limit) > 0]
        within = np.array([one.check for one in good])
        lasted = np.array([getattr(one, limit) for one in good])
        share = in_time(some, limit)
        fixed = max(every for every in range(FURTHEST) if np.mean(every <= lasted) >= share)
        cost = float(np.mean(1 / np.maximum(within, 1)))
        least = float(np.mean(1 / np.maximum(np.floor(np.minimum(lasted, FURTHEST)), 1)))
        parts.append(
            f"{'low' if limit == 'truth' else limit}: {share:.3f} of {len(good)} at {cost:.3f} "
            f"a batch (who knows the future: {least:.3f}), fixed as safe "
            f"{1 / max(fixed, 1) / cost:.2f} times"
        )
    return "; ".join(parts)


def chances(held: list[Held]) -> list[str]:
    """Return said against true by tenths, and the Brier score."""
    said = np.array([one.said for one in held])
    bad = np.array([one.bad for one in held], float)
    brier = np.mean((said - bad) ** 2)
    lines = [f"batches in question {said.size}, bad {bad.mean():.3f}, Brier {brier:.4f}"]
    tenth = np.minimum((said * 10).astype(int), 9)
    lines += [
        f"  {place / 10:.1f}: {here.sum():5} said {said[here].mean():.3f} "
        f"true {bad[here].mean():.3f}"
        for place in range(10)
        if (here := tenth == place).any()
    ]
    return lines


def table(scored: list[Scored]) -> str:
    """Return everything in one text."""
    cases = [one for shift in scored for one in shift.cases]
    held = [one for shift in scored for one in shift.held]
    lines = [row("all", cases)]
    for what in ("world", "gauge", "regime"):
        for kind in dict.fromkeys(getattr(one, what) for one in cases):
            some = [one for one in cases if getattr(one, what) == kind]
            lines += [row(kind, some)]
    lines.append(row("after a step", [one for one in cases if one.after_step]))
    lines.append(row("first of a fill", [one for one in cases if one.first]))
    for since in (0, 20, 40, 60):
        some = [one for one in cases if since <= one.batches < since + (20 if since < 60 else 99)]
        lines.append(row(f"batches from {since}", some))
    kits = {one.seed for one in cases if "strip" not in one.gauge}
    off = diverged(cases)
    lines.append(f"diverged: {len(off)} of {len(kits)} kit and meter shifts {sorted(off)[:12]}")
    lines.append("checks " + checks(cases))
    lines.append("first checks " + checks([one for one in cases if one.first]))
    return "\n".join(lines + chances(held))
