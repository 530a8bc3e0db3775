"""Rules on measuring: first reading, check after an addition, and checks that are overdue."""

from datetime import timedelta

from washmon.line.flags import Level
from washmon.line.message import Figure, Message, Moment
from washmon.rules.base import Finding, Sight, rule
from washmon.rules.steps import measure_step
from washmon.units import Kind

PRESSING = 2.0
"""Intervals without a reading after which a check presses."""
MONITORING = "Monitoring by an adequate method and frequency: 21 CFR 112.46"


@rule("first-reading", "not measured yet", MONITORING)
def first_reading(sight: Sight) -> Finding | None:
    """Stop where produce is washed in water of which nothing is known."""
    washed = sight.tank.batches_in_fill
    if not washed or sight.fill.latest(sight.spec.level_field) is not None:
        return None
    name = "peracetic acid" if sight.spec.peracetic else "free chlorine"
    return Finding(
        Level.STOP,
        Message(
            f"{{washed}} batches were washed in water in which {name} was never measured."
            if washed > 1
            else f"A batch was washed in water in which {name} was never measured.",
            {"washed": washed},
        ),
        measure_step(sight.spec),
        sight.tank.washed[-washed].event.at,
    )


@rule(
    "check-after-adding",
    "check what was added",
    "Dose, mix, wait, test again: common practice, no published source; half of the demand acts in "
    "the first five minutes (Weng et al., chlorine demand in wash water)",
)
def check_after_adding(sight: Sight) -> Finding | None:
    """Ask for a reading once an addition has mixed in."""
    added = sight.unchecked_addition()
    if added is None or sight.now < (due := sight.mixed_at(added)):
        return None
    return Finding(
        Level.WATCH,
        Message(
            "Something was added at {at} and the water was not measured since.",
            {"at": Moment(added.event.at)},
        ),
        measure_step(sight.spec),
        due,
    )


@rule("overdue", "check overdue", MONITORING)
def check_overdue(sight: Sight) -> Finding | None:
    """Ask for a reading that is overdue by batches or by minutes; press at twice the interval."""
    last = sight.fill.latest(sight.spec.level_field)
    if last is None:
        return None
    batches, spec = sight.tank.batches - last.batches, sight.spec
    waited_min = (sight.now - last.event.at).total_seconds() / 60
    late = [
        value / interval
        for value, interval in (
            (batches, spec.check_batches),
            (waited_min - sight.margins.overdue_delay_min, spec.check_minutes),
        )
        if interval and value >= interval
    ]
    if not late:
        return None
    by_minutes = timedelta(minutes=spec.check_minutes or 0)
    return Finding(
        Level.ACT if max(late) >= PRESSING else Level.WATCH,
        Message(
            "The last reading is {waited} and {batches} batches old.",
            {"waited": Figure(int(waited_min), Kind.TIME), "batches": batches},
        ),
        measure_step(sight.spec),
        last.event.at + by_minutes,
    )
