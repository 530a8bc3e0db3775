"""A sanitizer's level against its limits: what holds of chlorine and of peracetic acid alike."""

from washmon.line import judging
from washmon.line.flags import Level
from washmon.line.message import Message, ppm
from washmon.rules.base import Finding, RuleContext


def under_critical(rule_context: RuleContext, flag: str) -> Finding | None:
    """Return what to say of a level under its critical low, as the flag of this name."""
    seen, critical_mg_l = rule_context.level(), rule_context.spec.limits.critical_low_mg_l
    back = level_deadband(rule_context, flag)
    if seen is None or not judging.under_critical(seen[0], rule_context.spec, back=back):
        return None
    why = Message(
        "{level} is under the critical low of {critical}: what is washed in this water may carry "
        "germs from one piece to the next. Stop feeding until a reading is good again.",
        {"level": ppm(seen[0]), "critical": ppm(critical_mg_l)},
    )
    return Finding(Level.STOP, why, seen[1].event.at)


def under_low(rule_context: RuleContext, flag: str, critical: str) -> Finding | None:
    """Return what to say of a level under its operating low, while the critical flag is down.

    Once a dose went in after the reading, the next reading tells.
    """
    seen, limits = rule_context.level(), rule_context.spec.limits
    if seen is None or rule_context.treated_since(seen[1]):
        return None
    if judging.under_critical(
        seen[0], rule_context.spec, back=level_deadband(rule_context, critical)
    ):
        return None
    if not judging.under_low(seen[0], rule_context.spec, back=level_deadband(rule_context, flag)):
        return None
    why = Message("{level} is under {low}.", {"level": ppm(seen[0]), "low": ppm(limits.low_mg_l)})
    return Finding(Level.ACT, why, seen[1].event.at)


def level_deadband(rule_context: RuleContext, flag: str) -> float:
    """Return how far inside its limit, mg/L, the level must come before a flag goes down."""
    fraction = rule_context.margins.chlorine_deadband_fraction
    return rule_context.deadband(flag, fraction * rule_context.spec.limits.target_mg_l)
