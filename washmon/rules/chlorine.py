"""Rules on free chlorine: too little, too much, and what was washed meanwhile."""

from washmon.chemistry.speciation import hocl_share
from washmon.line.flags import Level, StepKind
from washmon.line.judging import over_high, over_label
from washmon.line.message import Message, ppm
from washmon.line.mixing import standing_total
from washmon.line.setup import LabelBasis
from washmon.line.state import order
from washmon.rules.base import Finding, Protects, RuleContext, RuleScope, Seen, rule
from washmon.rules.levels import under_critical, under_low


@rule(
    "chlorine-critical",
    "free chlorine under the critical low",
    "Critical limit and corrective action: Schmidt and Newslow, UF/IFAS FS141; 21 CFR 120.10",
    RuleScope.CHLORINE,
    answers=(StepKind.CHANGE_WATER, StepKind.DOSE),
)
def under_critical_low(rule_context: RuleContext) -> Finding | None:
    """Stop where free chlorine is under the critical low."""
    return under_critical(rule_context, "chlorine-critical")


@rule(
    "chlorine-low",
    "re-dose",
    "Operating limit, stricter than the critical one: Schmidt and Newslow, UF/IFAS FS141; dose by "
    "mass balance: White, Handbook of Chlorination (1972)",
    RuleScope.CHLORINE,
    answers=(StepKind.CHANGE_WATER, StepKind.DOSE),
)
def under_operating_low(rule_context: RuleContext) -> Finding | None:
    """Press where free chlorine is under the operating low but not critical."""
    return under_low(rule_context, "chlorine-low", "chlorine-critical")


@rule(
    "chlorine-high",
    "too much chlorine",
    "No more than is needed: 21 CFR 173.315(b); worker comfort: Boyette et al. 1993, NC State "
    "Extension",
    RuleScope.CHLORINE,
    protects=Protects.WORK,
)
def over_operating_high(rule_context: RuleContext) -> Finding | None:
    """Say so where free chlorine is over the operating high but within the label."""
    seen, high_mg_l = rule_context.level(), rule_context.spec.chlorine.high_mg_l
    if seen is None or _over_label(rule_context) or not over_high(seen[0], rule_context.spec):
        return None
    level, reading = seen
    return Finding(
        Level.WATCH,
        Message(
            "{level} is over the operating high of {high}. Washing uses it up; if people cough or "
            "their eyes sting, air the room and exchange part of the water.",
            {"level": ppm(level), "high": ppm(high_mg_l)},
        ),
        reading.event.at,
        note=True,
    )


def label_reading(rule_context: RuleContext) -> Seen | None:
    """Return the highest chlorine value that counts of those the label maximum may speak of.

    Free chlorine is part of total chlorine, so where the label speaks of total, either counts. A
    total stands until one is read again, thinned by the exchanges that a reading has verified.
    """
    free, total = rule_context.level(), rule_context.fill.latest("total_mg_l")
    if rule_context.spec.chlorine.label_basis is not LabelBasis.TOTAL or total is None:
        return free
    read = [total] if free is None else [total, free[1]]
    upto = max(order(reading) for reading in read)
    standing = standing_total(rule_context.fill, rule_context.spec, upto)
    found = [one for one in (free, standing) if one is not None]
    return max(found, key=lambda one: one[0], default=None)


def _over_label(rule_context: RuleContext) -> Seen | None:
    """Return what was read over the label maximum, if anything was."""
    seen = label_reading(rule_context)
    return seen if seen is not None and over_label(seen[0], rule_context.spec) else None


@rule(
    "chlorine-label",
    "over the label maximum",
    "The product label is the limit: 21 CFR 173.315(b), 40 CFR 156",
    RuleScope.CHLORINE,
    answers=(StepKind.LOWER, StepKind.CHANGE_WATER),
    protects=Protects.LAW,
)
def over_label_maximum(rule_context: RuleContext) -> Finding | None:
    """Stop where chlorine is over the maximum on the label; exchanging water brings it down."""
    seen = _over_label(rule_context)
    if seen is None:
        return None
    level, reading = seen
    limits = rule_context.spec.chlorine
    return Finding(
        Level.STOP,
        Message(
            "{level} is over the label maximum of {maximum} {basis} chlorine. Water without "
            "chlorine in place of part of it brings it down.",
            {
                "level": ppm(level),
                "maximum": ppm(limits.label_max_mg_l),
                "basis": limits.label_basis or LabelBasis.FREE,
            },
        ),
        reading.event.at,
    )


def active_share_pct(ph: float, water_c: float) -> float:
    """Return the share of free chlorine, in percent, that is active HOCl (Morris 1966)."""
    return 100 * hocl_share(ph, water_c)
