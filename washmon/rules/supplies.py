"""Rules on what is measured with: strips in date, a meter that was checked."""

from datetime import timedelta

from washmon.line.events import Method
from washmon.line.flags import Level, StepKind
from washmon.line.message import Message
from washmon.rules.base import Finding, Sight, rule
from washmon.rules.steps import say_step

INSTRUMENTS = "Instruments accurate and maintained, records of it: 21 CFR 112.44, 112.50"


@rule(
    "strips-old", "strips out of date", "Use test strips in date, dry and closed: as on their pack"
)
def strips_old(sight: Sight) -> Finding | None:
    """Say so where a level was read by a strip of a lot that is past its day."""
    day = sight.setup.strips_use_by
    last = sight.level()
    if day is None or day >= sight.today or last is None:
        return None
    method = last[1].event.paa_method if sight.spec.peracetic else last[1].event.fac_method
    if method is not Method.STRIP:
        return None
    why = Message(
        "The strips in use were good until {day}: old pads read low or pale.",
        {"day": day.isoformat()},
    )
    step = say_step(StepKind.LOOK, "Open a pack of strips in date, or measure with a kit")
    return Finding(Level.WATCH, why, step, last[1].event.at)


@rule("meter-unchecked", "meter check overdue", INSTRUMENTS)
def meter_unchecked(sight: Sight) -> Finding | None:
    """Say so where pH was read by a meter whose last check is older than the set-up allows."""
    day, most = sight.setup.meter_checked_on, sight.setup.meter_check_days
    placed = sight.water.latest("ph")
    if day is None or placed is None or placed.event.ph_method is not Method.METER:
        return None
    if sight.today - day <= timedelta(days=most):
        return None
    why = Message(
        "The pH meter was last checked on {day}, {days} days ago; {most} days are allowed.",
        {"day": day.isoformat(), "days": (sight.today - day).days, "most": most},
    )
    step = say_step(
        StepKind.LOOK, "Check the meter in fresh buffers, then save the day in the set-up"
    )
    return Finding(Level.WATCH, why, step, placed.event.at)
