"""Rules on free chlorine: too little, too much, and what was washed meanwhile."""

from bisect import bisect_right
from datetime import datetime
from functools import lru_cache

from washmon.chemistry.checks import ChemistryError
from washmon.chemistry.dilution import drained_share
from washmon.chemistry.speciation import hocl_share
from washmon.line.events import Happened, ReadingTaken
from washmon.line.flags import Level, Step, StepKind
from washmon.line.message import Figure, Message, Moment
from washmon.line.same import Same
from washmon.line.setup import LabelBasis, Tank
from washmon.line.state import Placed, TankState
from washmon.rules.base import Finding, Sight, Water, rule
from washmon.rules.dosing import dose_to_target
from washmon.rules.steps import say_step, trouble_step
from washmon.units import Kind

Order = tuple[datetime, int]


def _ppm(value: float) -> Figure:
    return Figure(value, Kind.CONCENTRATION)


def _deadband(sight: Sight) -> float:
    return sight.margins.chlorine_deadband_fraction * sight.spec.chlorine.target_mg_l


@rule(
    "chlorine-critical",
    "free chlorine under the critical low",
    "Critical limit and corrective action: Schmidt and Newslow, UF/IFAS FS141; 21 CFR 120.10",
    Water.CHLORINE,
)
def under_critical_low(sight: Sight) -> Finding | None:
    """Stop where free chlorine is under the critical low; the dose restores the target."""
    seen = sight.reading("fac_mg_l")
    limits = sight.spec.chlorine
    margin = _deadband(sight) if sight.is_up("chlorine-critical") else 0.0
    if seen is None or seen[0] >= limits.critical_low_mg_l + margin:
        return None
    level, reading = seen
    advised = dose_to_target(sight, seen)
    return Finding(
        Level.STOP,
        Message(
            "{level} is under the critical low of {critical}: what is washed in this water may "
            "carry germs from one piece to the next. Stop feeding until a reading is good again.",
            {"level": _ppm(level), "critical": _ppm(limits.critical_low_mg_l)},
        ),
        advised.step,
        reading.event.at,
        advised.more,
    )


@rule(
    "chlorine-low",
    "re-dose",
    "Operating limit, stricter than the critical one: Schmidt and Newslow, UF/IFAS FS141; dose by "
    "mass balance: White, Handbook of Chlorination (1972)",
    Water.CHLORINE,
)
def under_operating_low(sight: Sight) -> Finding | None:
    """Ask for a dose where free chlorine is under the operating low but not critical."""
    seen = sight.reading("fac_mg_l")
    limits = sight.spec.chlorine
    margin = _deadband(sight) if sight.is_up("chlorine-low") else 0.0
    if seen is None or not limits.critical_low_mg_l <= seen[0] < limits.low_mg_l + margin:
        return None
    level, reading = seen
    if sight.is_up("chlorine-critical") and level < limits.critical_low_mg_l + _deadband(sight):
        return None
    advised = dose_to_target(sight, seen)
    why = Message("{level} is under {low}.", {"level": _ppm(level), "low": _ppm(limits.low_mg_l)})
    return Finding(Level.ACT, why, advised.step, reading.event.at, advised.more)


@rule(
    "chlorine-high",
    "too much chlorine",
    "No more than is needed: 21 CFR 173.315(b); worker comfort: Boyette et al. 1993, NC State "
    "Extension",
    Water.CHLORINE,
)
def over_operating_high(sight: Sight) -> Finding | None:
    """Say so where free chlorine is over the operating high but within the label."""
    seen = sight.reading("fac_mg_l")
    limits = sight.spec.chlorine
    margin = _deadband(sight) if sight.is_up("chlorine-high") else 0.0
    if seen is None or seen[0] <= limits.high_mg_l - margin or _over_label(sight):
        return None
    level, reading = seen
    return Finding(
        Level.WATCH,
        Message(
            "{level} is over the operating high of {high}. Washing uses it up; if people cough or "
            "their eyes sting, air the room and exchange part of the water.",
            {"level": _ppm(level), "high": _ppm(limits.high_mg_l)},
        ),
        say_step(StepKind.LOOK, "Add no hypochlorite; re-check before the next dose"),
        reading.event.at,
    )


def _label_reading(sight: Sight) -> tuple[float, Placed[ReadingTaken]] | None:
    """Return the newest chlorine value that the label maximum speaks of.

    Free chlorine is part of total chlorine, so where only free was measured it is the least that
    total can be.
    """
    free, total = sight.reading("fac_mg_l"), sight.reading("total_mg_l")
    if sight.spec.chlorine.label_basis is not LabelBasis.TOTAL or total is None:
        return free
    if free is None or (total[1].event.at, total[1].seq) >= (free[1].event.at, free[1].seq):
        return total
    return free


def _over_label(sight: Sight) -> bool:
    seen = _label_reading(sight)
    return seen is not None and seen[0] > sight.spec.chlorine.label_max_mg_l


@rule(
    "chlorine-label",
    "over the label maximum",
    "The product label is the limit: 21 CFR 173.315(b), 40 CFR 156",
    Water.CHLORINE,
)
def over_label_maximum(sight: Sight) -> Finding | None:
    """Stop where chlorine is over the maximum on the label; exchanging water brings it down."""
    seen = _label_reading(sight)
    if seen is None or not _over_label(sight):
        return None
    level, reading = seen
    limits = sight.spec.chlorine
    drain_l, step = drain_to(sight, level, limits.target_mg_l)
    return Finding(
        Level.STOP,
        Message(
            "{level} is over the label maximum of {maximum} {basis} chlorine. Water without "
            "chlorine in place of {drain} of {volume} brings it to about {target}.",
            {
                "level": _ppm(level),
                "maximum": _ppm(limits.label_max_mg_l),
                "basis": limits.label_basis or LabelBasis.FREE,
                "drain": Figure(drain_l, Kind.VOLUME),
                "volume": Figure(sight.fill.volume_l, Kind.VOLUME),
                "target": _ppm(limits.target_mg_l),
            },
        ),
        step,
        reading.event.at,
    )


def drain_to(sight: Sight, level: float, target: float) -> tuple[float, Step]:
    """Return how many litres to exchange to come down to a target, and the step that says so."""
    try:
        share = drained_share(level, target)
    except ChemistryError as trouble:
        return sight.fill.volume_l, trouble_step(trouble)
    drain_l = share * sight.fill.volume_l
    return drain_l, say_step(
        StepKind.LOWER,
        "Drain {drain}, refill with fresh water, re-check before washing on",
        drain=Figure(drain_l, Kind.VOLUME),
    )


def _is_good(event: ReadingTaken, spec: Tank) -> bool | None:
    """Tell whether a reading shows water that may wash, or nothing if it does not say."""
    if spec.peracetic is not None:
        paa, kept = event.paa_mg_l, spec.peracetic
        most = min(kept.label_max_mg_l, kept.legal_paa_mg_l)
        return None if paa is None else kept.critical_low_mg_l <= paa <= most
    if event.fac_mg_l is None:
        return None
    limits = spec.chlorine
    over = event.total_mg_l if limits.label_basis is LabelBasis.TOTAL else event.fac_mg_l
    return event.fac_mg_l >= limits.critical_low_mg_l and (over or 0) <= limits.label_max_mg_l


def batches_in_question(tank: TankState) -> tuple[int, ...]:
    """Return the journal places of all batches washed between good checks around a bad one.

    The window opens after the last good check (not at the bad one) and closes at the first good
    check after it. Before a fill's first good check, it opens where the fill began.
    """
    return _in_question(Same(tank))


@lru_cache(maxsize=64)
def _in_question(same: Same[TankState]) -> tuple[int, ...]:
    """Return the batches; kept, since each look of the rules asks again."""
    tank = same.part
    suspect: list[int] = []
    for place, fill in enumerate(tank.fills):
        over = tank.fills[place + 1].begun if place + 1 < len(tank.fills) else None
        opened, bad = _order(fill.begun), False
        for reading in fill.readings:
            good = _is_good(reading.event, tank.spec)
            if good and bad:
                suspect += _between(tank, opened, _order(reading))
            if good is not None:
                bad = not good
            if good:
                opened = _order(reading)
        if bad:
            suspect += _between(tank, opened, _order(over) if over else None)
    return tuple(dict.fromkeys(suspect))


def since_last_good_check(tank: TankState) -> tuple[int, ...]:
    """Return the journal places of the batches washed after the newest good check of this fill."""
    if tank.fill is None:
        return ()
    good = [reading for reading in tank.fill.readings if _is_good(reading.event, tank.spec)]
    return tuple(_between(tank, _order(good[-1] if good else tank.fill.begun), None))


def _between(tank: TankState, since: Order, until: Order | None) -> list[int]:
    """Return the places of the batches after one happening and before another."""
    washed = tank.washed  # in the order in which it happened
    first = bisect_right(washed, since, key=_order)
    last = len(washed) if until is None else bisect_right(washed, until, key=_order)
    return [batch.seq for batch in washed[first:last]]


def _order(placed: Placed[Happened]) -> Order:
    """Return when something happened; what stands later in the journal came later at one time."""
    return placed.event.at, placed.seq


@rule(
    "hold",
    "hold what was washed",
    "All product since the last good check: segregate, review, act, record, as in 21 CFR 120.10; "
    "washing again does not make it safe: J. Food Prot. 74(3):352 (2011)",
)
def product_to_hold(sight: Sight) -> Finding | None:
    """Ask for a hold on batches that were washed since the last good check before a bad one."""
    held = sight.shift.held_batches
    loose = tuple(seq for seq in batches_in_question(sight.tank) if seq not in held)
    if not loose:
        return None
    named = frozenset(loose)
    washed = [batch.event for batch in sight.tank.washed if batch.seq in named]
    text = "Hold {count} batches washed from {first} to {last}: set them aside and mark them"
    if len(loose) == 1:
        text = "Hold the batch washed at {first}: set it aside and mark it"
    step = Step(
        kind=StepKind.HOLD,
        say=Message(
            text,
            {
                "count": len(loose),
                "first": Moment(washed[0].at),
                "last": Moment(washed[-1].at),
            },
        ),
        batches=loose,
    )
    return Finding(
        Level.STOP,
        Message(
            "A check was not good. Nobody knows when the water turned, so every batch since the "
            "good check before it is in question: {lots}. Washing again does not by itself make "
            "it safe; somebody with the right to decide must.",
            {"lots": ", ".join(dict.fromkeys(event.lot for event in washed))},
        ),
        step,
        washed[0].at,
    )


def active_share_pct(ph: float, water_c: float | None) -> float:
    """Return the share of free chlorine, in percent, that is active HOCl (Morris 1966)."""
    return 100 * hocl_share(ph, 20.0 if water_c is None else water_c)
