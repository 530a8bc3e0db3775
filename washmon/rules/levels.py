"""A sanitizer's level against its limits: what holds of chlorine and of peracetic acid alike."""

from washmon.line import judging
from washmon.line.flags import Level
from washmon.line.message import Message, ppm
from washmon.rules.base import Finding, Sight


def under_critical(sight: Sight, flag: str) -> Finding | None:
    """Return what to say of a level under its critical low, as the flag of this name."""
    seen, critical_mg_l = sight.level(), sight.spec.limits.critical_low_mg_l
    back = level_deadband(sight, flag)
    if seen is None or not judging.under_critical(seen[0], sight.spec, back=back):
        return None
    why = Message(
        "{level} is under the critical low of {critical}: what is washed in this water may carry "
        "germs from one piece to the next. Stop feeding until a reading is good again.",
        {"level": ppm(seen[0]), "critical": ppm(critical_mg_l)},
    )
    return Finding(Level.STOP, why, seen[1].event.at)


def under_low(sight: Sight, flag: str, critical: str) -> Finding | None:
    """Return what to say of a level under its operating low, while the critical flag is down.

    Once a dose went in after the reading, the next reading tells.
    """
    seen, limits = sight.level(), sight.spec.limits
    if seen is None or sight.treated_since(seen[1]):
        return None
    if judging.under_critical(seen[0], sight.spec, back=level_deadband(sight, critical)):
        return None
    if not judging.under_low(seen[0], sight.spec, back=level_deadband(sight, flag)):
        return None
    why = Message("{level} is under {low}.", {"level": ppm(seen[0]), "low": ppm(limits.low_mg_l)})
    return Finding(Level.ACT, why, seen[1].event.at)


def level_deadband(sight: Sight, flag: str) -> float:
    """Return how far inside its limit, mg/L, the level must come before a flag goes down."""
    fraction = sight.margins.chlorine_deadband_fraction
    return sight.deadband(flag, fraction * sight.spec.limits.target_mg_l)
