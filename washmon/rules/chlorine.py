"""Rules on free chlorine: too little, too much, and what was washed meanwhile."""

from washmon.chemistry.checks import ChemistryError
from washmon.chemistry.dilution import drained_share
from washmon.chemistry.speciation import hocl_share
from washmon.line.events import ReadingTaken
from washmon.line.flags import Level, Step, StepKind
from washmon.line.message import Figure, Message
from washmon.line.setup import LabelBasis
from washmon.line.state import Placed
from washmon.rules.base import Finding, Sight, Water, rule
from washmon.rules.dosing import dose_to_target
from washmon.rules.mixing import standing_total
from washmon.rules.steps import say_step, trouble_step
from washmon.units import Kind


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
    seen = sight.level()
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
    seen = sight.level()
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
    seen = sight.level()
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
    """Return the highest chlorine value that counts of those the label maximum may speak of.

    Free chlorine is part of total chlorine, so where the label speaks of total, either counts. A
    total stands until one is read again, thinned by the exchanges that a reading has verified.
    """
    free, total = sight.level(), sight.fill.latest("total_mg_l")
    if sight.spec.chlorine.label_basis is not LabelBasis.TOTAL or total is None:
        return free
    read = [total] if free is None else [total, free[1]]
    upto = max((reading.event.at, reading.seq) for reading in read)
    standing = standing_total(sight.fill, sight.spec, upto)
    found = [one for one in (free, standing) if one is not None]
    return max(found, key=lambda one: one[0], default=None)


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


def active_share_pct(ph: float, water_c: float | None) -> float:
    """Return the share of free chlorine, in percent, that is active HOCl (Morris 1966)."""
    return 100 * hocl_share(ph, 20.0 if water_c is None else water_c)
