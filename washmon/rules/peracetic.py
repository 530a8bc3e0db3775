"""Rules on peracetic acid: too little, too much, and what comes with it."""

from washmon.chemistry.checks import ChemistryError
from washmon.line.flags import Level, StepKind
from washmon.line.judging import (
    judge_hedp,
    judge_peroxide,
    most_mg_l,
    over_high,
    over_label,
)
from washmon.line.message import Message, ppm
from washmon.line.peracetic import Brought, brought
from washmon.line.setup import Tank
from washmon.rules.base import Finding, Protects, RuleContext, RuleScope, rule
from washmon.rules.levels import under_critical, under_low

LAW = "21 CFR 173.315(a)(5), the product label first"


@rule(
    "paa-critical",
    "peracetic acid under the critical low",
    "Critical limit and corrective action, as for chlorine: 21 CFR 120.10; the level: the label",
    RuleScope.PERACETIC,
    answers=(StepKind.CHANGE_WATER, StepKind.DOSE),
)
def under_critical_low(rule_context: RuleContext) -> Finding | None:
    """Stop where peracetic acid is under the critical low."""
    return under_critical(rule_context, "paa-critical")


@rule(
    "paa-low",
    "re-dose peracetic acid",
    f"Dose by mass balance, percent by weight and density; limits: {LAW}",
    RuleScope.PERACETIC,
    answers=(StepKind.CHANGE_WATER, StepKind.DOSE),
)
def under_operating_low(rule_context: RuleContext) -> Finding | None:
    """Press where peracetic acid is under the operating low but not critical."""
    return under_low(rule_context, "paa-low", "paa-critical")


def over_by_law(held: Brought, spec: Tank) -> Message | None:
    """Return which limit is broken by all that was dosed into a fill, if any is."""
    if (over := judge_peroxide(held.peroxide_mg_l, spec)) is not None:
        return Message(
            "All doses together bring {held} hydrogen peroxide, over the limit of {limit}; it "
            "stays behind as peracetic acid is used up.",
            {"held": ppm(held.peroxide_mg_l), "limit": ppm(over.limit)},
        )
    if (over := judge_hedp(held.hedp_mg_l, spec)) is not None:
        return Message(
            "All doses together bring {held} of the stabiliser HEDP, over the limit of {limit}; it "
            "stays behind as peracetic acid is used up.",
            {"held": ppm(held.hedp_mg_l), "limit": ppm(over.limit)},
        )
    return None


@rule(
    "paa-high",
    "too much peracetic acid",
    f"No more than is needed; its vapour stings eyes and airways: the label; {LAW}",
    RuleScope.PERACETIC,
)
def over_operating_high(rule_context: RuleContext) -> Finding | None:
    """Say so where peracetic acid is over the operating high but within label and law."""
    seen, spec = rule_context.level(), rule_context.spec
    if seen is None or over_label(seen[0], spec) or not over_high(seen[0], spec):
        return None
    return Finding(
        Level.WATCH,
        Message(
            "{level} is over the operating high of {high}. Washing uses it up; if eyes or noses "
            "sting, air the room and exchange part of the water.",
            {"level": ppm(seen[0]), "high": ppm(spec.limits.high_mg_l)},
        ),
        seen[1].event.at,
        note=True,
    )


@rule(
    "paa-limit",
    "peracetic acid over its limit",
    LAW,
    RuleScope.PERACETIC,
    answers=(StepKind.LOWER, StepKind.CHANGE_WATER),
    protects=Protects.LAW,
)
def over_limit(rule_context: RuleContext) -> Finding | None:
    """Stop where peracetic acid is over what label or law allow; fresh water brings it down."""
    seen = rule_context.level()
    if seen is None or not over_label(seen[0], rule_context.spec):
        return None
    return Finding(
        Level.STOP,
        Message(
            "{level} is over the most that label and law allow, {most}. Fresh water in place of "
            "part of it brings it down.",
            {"level": ppm(seen[0]), "most": ppm(most_mg_l(rule_context.spec))},
        ),
        seen[1].event.at,
    )


@rule(
    "peroxide-limit",
    "peroxide or stabiliser over its limit",
    LAW,
    RuleScope.PERACETIC,
    answers=(StepKind.CHANGE_WATER,),
    protects=Protects.LAW,
)
def over_peroxide_limit(rule_context: RuleContext) -> Finding | None:
    """Stop where peroxide was read over its limit; act where all doses together bring too much."""
    read = rule_context.reading("peroxide_mg_l")
    over = None if read is None else judge_peroxide(read[0], rule_context.spec)
    if read is not None and over is not None:
        told = Message(
            "{read} hydrogen peroxide is over the limit of {limit}. A product can keep the limit "
            "of peracetic acid and break this one.",
            {"read": ppm(read[0]), "limit": ppm(over.limit)},
        )
        return Finding(Level.STOP, told, read[1].event.at)
    if not rule_context.fill.doses:
        return None
    last = rule_context.fill.doses[-1]
    try:
        held = brought(rule_context.setup, rule_context.fill)
    except ChemistryError:
        return None
    if read is not None and read[1].event.at > last.event.at:
        held = Brought(read[0], held.hedp_mg_l)  # peroxide decays: what was read counts
    why = over_by_law(held, rule_context.spec)
    return None if why is None else Finding(Level.ACT, why, last.event.at)
