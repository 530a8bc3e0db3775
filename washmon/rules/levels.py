"""A sanitizer's level against its limits: what holds of chlorine and of peracetic acid alike."""

from collections.abc import Callable

from washmon.chemistry.checks import ChemistryError
from washmon.chemistry.dilution import drained_share
from washmon.line.flags import Level, Step, StepKind
from washmon.line.message import Figure, Message, ppm
from washmon.rules.base import Finding, Seen, Sight
from washmon.rules.dosing import Advised
from washmon.rules.steps import say_step, trouble_step
from washmon.units import Kind

Dose = Callable[[Sight, Seen], Advised]
"""What brings a level that was read back to its target."""


def under_critical(sight: Sight, flag: str, dose: Dose) -> Finding | None:
    """Return what to say of a level under its critical low, as the flag of this name."""
    seen, critical_mg_l = sight.level(), sight.spec.limits.critical_low_mg_l
    if seen is None or seen[0] >= critical_mg_l + level_deadband(sight, flag):
        return None
    advised = dose(sight, seen)
    why = Message(
        "{level} is under the critical low of {critical}: what is washed in this water may carry "
        "germs from one piece to the next. Stop feeding until a reading is good again.",
        {"level": ppm(seen[0]), "critical": ppm(critical_mg_l)},
    )
    return Finding(Level.STOP, why, advised.step, seen[1].event.at, advised.more)


def under_low(sight: Sight, flag: str, critical: str, dose: Dose) -> Finding | None:
    """Return what to say of a level under its operating low, while the critical flag is down."""
    seen, limits = sight.level(), sight.spec.limits
    if seen is None:
        return None
    least = limits.critical_low_mg_l + level_deadband(sight, critical)
    if not least <= seen[0] < limits.low_mg_l + level_deadband(sight, flag):
        return None
    advised = dose(sight, seen)
    why = Message("{level} is under {low}.", {"level": ppm(seen[0]), "low": ppm(limits.low_mg_l)})
    return Finding(Level.ACT, why, advised.step, seen[1].event.at, advised.more)


def level_deadband(sight: Sight, flag: str) -> float:
    """Return how far inside its limit, mg/L, the level must come before a flag goes down."""
    fraction = sight.margins.chlorine_deadband_fraction
    return sight.deadband(flag, fraction * sight.spec.limits.target_mg_l)


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
