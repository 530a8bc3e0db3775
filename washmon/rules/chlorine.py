"""Rules on free chlorine: too little, too much, and what was washed meanwhile."""

from washmon.chemistry.speciation import hocl_share
from washmon.line.flags import Level, StepKind
from washmon.line.message import Figure, Message, ppm
from washmon.line.mixing import standing_total
from washmon.line.setup import LabelBasis
from washmon.line.state import order
from washmon.rules.base import Finding, Seen, Sight, Water, rule
from washmon.rules.dosing import dose_to_target
from washmon.rules.levels import drain_to, level_deadband, under_critical, under_low
from washmon.rules.steps import say_step
from washmon.units import Kind


@rule(
    "chlorine-critical",
    "free chlorine under the critical low",
    "Critical limit and corrective action: Schmidt and Newslow, UF/IFAS FS141; 21 CFR 120.10",
    Water.CHLORINE,
)
def under_critical_low(sight: Sight) -> Finding | None:
    """Stop where free chlorine is under the critical low; the dose restores the target."""
    return under_critical(sight, "chlorine-critical", dose_to_target)


@rule(
    "chlorine-low",
    "re-dose",
    "Operating limit, stricter than the critical one: Schmidt and Newslow, UF/IFAS FS141; dose by "
    "mass balance: White, Handbook of Chlorination (1972)",
    Water.CHLORINE,
)
def under_operating_low(sight: Sight) -> Finding | None:
    """Ask for a dose where free chlorine is under the operating low but not critical."""
    return under_low(sight, "chlorine-low", "chlorine-critical", dose_to_target)


@rule(
    "chlorine-high",
    "too much chlorine",
    "No more than is needed: 21 CFR 173.315(b); worker comfort: Boyette et al. 1993, NC State "
    "Extension",
    Water.CHLORINE,
)
def over_operating_high(sight: Sight) -> Finding | None:
    """Say so where free chlorine is over the operating high but within the label."""
    seen, high_mg_l = sight.level(), sight.spec.chlorine.high_mg_l
    back = level_deadband(sight, "chlorine-high")
    if seen is None or seen[0] <= high_mg_l - back or _over_label(sight) is not None:
        return None
    level, reading = seen
    return Finding(
        Level.WATCH,
        Message(
            "{level} is over the operating high of {high}. Washing uses it up; if people cough or "
            "their eyes sting, air the room and exchange part of the water.",
            {"level": ppm(level), "high": ppm(high_mg_l)},
        ),
        say_step(StepKind.LOOK, "Add no hypochlorite; re-check before the next dose"),
        reading.event.at,
    )


def _label_reading(sight: Sight) -> Seen | None:
    """Return the highest chlorine value that counts of those the label maximum may speak of.

    Free chlorine is part of total chlorine, so where the label speaks of total, either counts. A
    total stands until one is read again, thinned by the exchanges that a reading has verified.
    """
    free, total = sight.level(), sight.fill.latest("total_mg_l")
    if sight.spec.chlorine.label_basis is not LabelBasis.TOTAL or total is None:
        return free
    read = [total] if free is None else [total, free[1]]
    upto = max(order(reading) for reading in read)
    standing = standing_total(sight.fill, sight.spec, upto)
    found = [one for one in (free, standing) if one is not None]
    return max(found, key=lambda one: one[0], default=None)


def _over_label(sight: Sight) -> Seen | None:
    """Return what was read over the label maximum, if anything was."""
    seen = _label_reading(sight)
    return seen if seen is not None and seen[0] > sight.spec.chlorine.label_max_mg_l else None


@rule(
    "chlorine-label",
    "over the label maximum",
    "The product label is the limit: 21 CFR 173.315(b), 40 CFR 156",
    Water.CHLORINE,
)
def over_label_maximum(sight: Sight) -> Finding | None:
    """Stop where chlorine is over the maximum on the label; exchanging water brings it down."""
    seen = _over_label(sight)
    if seen is None:
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
                "level": ppm(level),
                "maximum": ppm(limits.label_max_mg_l),
                "basis": limits.label_basis or LabelBasis.FREE,
                "drain": Figure(drain_l, Kind.VOLUME),
                "volume": Figure(sight.fill.volume_l, Kind.VOLUME),
                "target": ppm(limits.target_mg_l),
            },
        ),
        step,
        reading.event.at,
    )


def active_share_pct(ph: float, water_c: float | None) -> float:
    """Return the share of free chlorine, in percent, that is active HOCl (Morris 1966)."""
    return 100 * hocl_share(ph, 20.0 if water_c is None else water_c)
