"""What is counted in one shift, and how counts of many shifts become shares with intervals."""

import math
from collections.abc import Callable, Sequence

import numpy as np
from msgspec import Struct

_DRAWS = 400


class Tally(Struct, kw_only=True):
    """Counts of one shift by one way of working; times in minutes."""

    seed: int
    who: str
    tanks: int
    slips: bool = False
    batches: int = 0
    tank_batches: int = 0
    minutes: float = 0.0
    """Of the whole shift, without breaks."""
    under_critical: int = 0
    """Batches that met a level under the critical low in any tank, by the true water."""
    under_beyond: int = 0
    """Of these, by more than the instrument's error under it."""
    under_in_stop: int = 0
    under_after_stop: int = 0
    """Before the next reading after a stop was found good, beyond the instrument's error."""
    checks: int = 0
    """Of one tank each, whatever was measured."""
    checks_ph_only: int = 0
    doses: int = 0
    acids: int = 0
    exchanges: int = 0
    changes: int = 0
    asked_changes: float = 0.0
    """The lives of the changed fills, by the schedule and the true cloudiness: 1 is used up."""
    past_schedule: int = 0
    """Batches (in each tank) past batches or hours of a fill."""
    past_cloudy: int = 0
    """Batches in water cloudier than its limit by more than the instrument's error."""
    lowest_ph: float = 14.0
    lowest_ph_by_acid: float = 14.0
    """Within ten minutes after acid."""
    over_label: int = 0
    """Times that a tank rose over label or law, beyond the error of its last reading."""
    overs: dict[str, int] = {}
    """The same by what was over."""
    worst_over: float = 0.0
    """Highest level as a share of the label maximum."""
    acid_meets_chlorine: int = 0
    """Additions of one within the mixing time of the other, in one tank or beside it."""
    stops: int = 0
    stops_dosed: list[float] = []
    stops_changed: list[float] = []
    flags: int = 0
    most_flags_10: int = 0
    hands: int = 0
    """Changes of what is to be done now that need a hand."""
    doubted: dict[str, int] = {}
    """Doubts that were asked of an entry that did what was advised."""
    refused: dict[str, int] = {}
    faults: list[str] = []
    most_repeats: int = 0
    """The same act in one tank without a batch in between."""
    flagged: dict[str, int] = {}
    """Flags that came up, by rule."""
    slipped: dict[str, int] = {}
    twinned: int = 0
    """Flags that were followed with a twin, and below those that changed what is to be done."""
    changed_now: int = 0
    idle: dict[str, int] = {}
    """Flags that changed nothing, by rule."""
    stuck: int = 0
    loops: int = 0
    looks: int = 0
    advise_ms: float = 0.0
    worst_advise_ms: float = 0.0
    forecast_ms: float = 0.0
    causes: dict[str, int] = {}
    """Why the acts were done, by the rule or kind."""
    seconds: float = 0.0
    """Of computing."""


Measure = Callable[[Sequence[Tally]], float]


def ratio(
    top: Callable[[Tally], float], bottom: Callable[[Tally], float], times: float = 1.0
) -> Measure:
    """Return a measure: a sum over a sum."""

    def measured(tallies: Sequence[Tally]) -> float:
        below = sum(bottom(one) for one in tallies)
        return times * sum(top(one) for one in tallies) / below if below else math.nan

    return measured


def interval(measure: Measure, tallies: Sequence[Tally]) -> tuple[float, float, float]:
    """Return a measure over many shifts with the 95 % interval of a bootstrap over them."""
    best = measure(tallies)
    if len(tallies) < 2:
        return best, math.nan, math.nan
    random = np.random.default_rng(5)
    found = []
    for _ in range(_DRAWS):
        places = random.integers(len(tallies), size=len(tallies))
        found.append(measure([tallies[place] for place in places]))
    kept = [value for value in found if not math.isnan(value)]
    if not kept:
        return best, math.nan, math.nan
    return best, float(np.quantile(kept, 0.025)), float(np.quantile(kept, 0.975))


def wilson(count: int, total: int) -> tuple[float, float, float]:
    """Return a share with its 95 % interval by Wilson (1927), J. Am. Stat. Assoc. 22:209."""
    if not total:
        return math.nan, math.nan, math.nan
    z = 1.96
    share = count / total
    middle = (share + z * z / (2 * total)) / (1 + z * z / total)
    half = z / (1 + z * z / total) * math.sqrt(share * (1 - share) / total + (z / (2 * total)) ** 2)
    return share, max(0.0, middle - half), min(1.0, middle + half)
