"""The plan where nothing presses: the least work decides.

Wash on, read, or dose while somebody stands at the tank anyway.
"""

from datetime import datetime, timedelta

from msgspec.structs import replace

from washmon.line.flags import Step, StepKind
from washmon.line.judging import under_low
from washmon.line.message import Message
from washmon.line.mixing import waited_long
from washmon.line.plan import Due, Plan
from washmon.line.second import lacking
from washmon.planning.context import PlanContext
from washmon.planning.making import doing, made, reading_now, waiting, washing_on, what_lost
from washmon.planning.objective import (
    NO_DOSE_RISK,
    PAUSE_MIN,
    RISK,
    WORK,
    WORTH_ALWAYS,
    WORTH_UNREAD,
)
from washmon.planning.options import Built, Option, mixed, option
from washmon.planning.plan_words import (
    calm_step,
    measure_step,
    say_step,
)
from washmon.planning.steady import said_lately

_SAME = 0.9
"""What was said before is kept where something else costs hardly less."""


def calm_plan(context: PlanContext) -> Plan:
    """Return the plan where nothing presses."""
    for first in _FIRST_THINGS:
        if (found := first(context)) is not None:
            return found
    return _wash_on(context)


def _not_known(context: PlanContext) -> Plan | None:
    rule_context = context.rule_context
    if rule_context.level() is None:
        return _unknown(context)
    if rule_context.ph_is_missing():
        return reading_now(context)
    return _waiting_fill(context) if rule_context.waits else None


def _paused(context: PlanContext) -> Plan | None:
    """Return that nothing is asked for while the line is paused."""
    if context.rule_context.shift.paused is None:
        return None
    step = say_step(StepKind.LOOK, "The line is paused. Read each tank before washing on")
    return made(context, step, feed=False)


def _after_pause(context: PlanContext) -> Plan | None:
    """Return the one reading that a longer pause asks for before produce goes in again."""
    shift, reading = context.rule_context.shift, context.reading
    last = shift.pauses[-1] if shift.pauses else None
    if last is None or last.over is None or reading is None or reading.event.at >= last.over:
        return None
    lasted = last.over - last.placed.at
    return reading_now(context) if lasted >= timedelta(minutes=PAUSE_MIN) else None


def _both_mixing(context: PlanContext) -> Plan | None:
    """Return the wait where acid and hypochlorite went in within each other's mixing time."""
    rule_context = context.rule_context
    acid, dose = rule_context.unread_acid(), rule_context.unverified_dose()
    if acid is None or dose is None or rule_context.spec.peracetic is not None:
        return None
    apart = abs(acid.event.at - dose.event.at)
    if apart >= timedelta(minutes=rule_context.spec.mix_minutes):
        return None
    return waiting(context, mixed(rule_context))


def _mixing_in(context: PlanContext) -> Plan | None:
    until = _rests(context)
    return None if until is None else waiting(context, until)


def _clouded(context: PlanContext) -> Plan | None:
    """Return the change of water before the next batch would take it over its cloudiness."""
    cloud = context.clouding
    if not cloud.fresh or cloud.left >= 1.0:
        return None
    change = option(StepKind.CHANGE_WATER, context)
    return doing(context, change) if isinstance(change, Option) else None


def _wash_on(context: PlanContext) -> Plan:
    """Return that washing goes on, unless the water is due, or a dose is the lesser work now."""
    good = context.good(context.course)
    due = context.due(good)
    if good and due.batches == 0 and _just_read(context):
        due = Due(batches=1, at=due.at)  # to read it once more at once settles nothing
    if due.batches == 0 or (due.at is not None and context.rule_context.now >= due.at):
        # What is due by the clock, the pH or the cloudiness only a reading settles.
        return _due_now(context) if good == 0 else reading_now(context)
    return _worth_a_dose(context, due.batches or good) or washing_on(context, calm_step(due), due)


def _just_read(context: PlanContext) -> bool:
    """Tell whether nothing was washed or added since level and pH were read."""
    rule_context = context.rule_context
    unread = rule_context.unchecked_addition() or rule_context.unverified_ph()
    return context.washed == 0 and unread is None and not rule_context.waits


def _worth_a_dose(context: PlanContext, lasts: int) -> Plan | None:
    """Return the dose that nothing presses for, where it is the lesser work while one is there.

    ``lasts`` are the batches that the water is good for without it.
    """
    if not _at_hand(context) or context.put_aside(*_KEEPING_BACK):
        return None
    if said_lately(context, StepKind.LOOK):
        return None
    dose = option(StepKind.DOSE, context)
    if not isinstance(dose, Option) or dose.not_before is not None:
        return None
    if not said_lately(context, StepKind.DOSE) and not _worth_it(context, dose, lasts):
        return None
    return doing(context, dose)


def _worth_it(context: PlanContext, dose: Option, lasts: int) -> bool:
    """Tell whether a dose now is less work than the check that the water lasts to without it."""
    if dose.full < WORTH_ALWAYS:
        return False
    if lasts <= 1:
        return True  # reading again and again settles nothing
    kept = _SAME if _said_before(context, StepKind.DOSE) else 1.0
    return _rate_after(context, dose) * kept < context.check_min / max(lasts, 0.5)


_FIRST_THINGS = (_paused, _not_known, _after_pause, _both_mixing, _mixing_in, _clouded)


def _rate_after(
    context: PlanContext, dose: Option, *, first: float = 0.0, batches: int | None = None
) -> float:
    """Return the minutes of work for each batch that a dose buys, up to the check after it.

    A small dose buys little of what a full one would: its walk counts by the share that is lost.
    ``first`` is what comes before it, in minutes.
    """
    lasts = min(dose.batches, context.scheduled) if batches is None else batches
    work = first + context.check_min + WORK.dose * (1.0 - dose.full)
    return work / max(lasts, 0.5)


def _due_now(context: PlanContext) -> Plan:
    """Return what is cheaper once the water is due: to read it, or to dose it unread.

    Unread only where the schedule leaves room and the dose keeps each limit however much is in.
    """
    rule_context = context.rule_context
    check = option(StepKind.CHECK, context)
    dose: Built = Message("What would be dosed for is put aside.")
    if not context.put_aside(*_KEEPING_BACK):
        dose = option(StepKind.DOSE, context)
    fresh = context.washed == 0 and rule_context.unverified_dose() is None
    if isinstance(dose, Option) and dose.batches > 0 and (fresh or _worth_unread(context, dose)):
        if dose.not_before is not None:
            return waiting(context, dose.not_before)
        return replace(
            doing(context, dose), weighed=tuple(what_lost({StepKind.CHECK: check}, dose))
        )
    if fresh:  # it was read just now and no dose is possible: reading again settles nothing
        change = option(StepKind.CHANGE_WATER, context)
        if context.course.under_critical[0] > NO_DOSE_RISK and isinstance(change, Option):
            why = dose if isinstance(dose, Message) else None
            return replace(doing(context, change), brings=why)
        return washing_on(context, calm_step(Due(batches=1)), Due(batches=1))
    if isinstance(check, Option) and check.not_before is not None:
        return waiting(context, check.not_before)
    return reading_now(context)


def _worth_unread(context: PlanContext, dose: Option) -> bool:
    """Tell whether a dose now, without a reading, costs less work than to read and then dose.

    It waits for its mixing where the water may be too low to be washed in meanwhile; the reading
    would let the dose be a full one.
    """
    lasts = min(dose.batches, context.scheduled)
    if lasts < WORTH_UNREAD or context.rule_context.unverified_dose() is not None:
        return False
    still = 0.0
    if context.course.under_critical[0] > RISK:
        still = context.rule_context.spec.mix_minutes * WORK.standstill
    unread = _rate_after(context, dose, first=still, batches=lasts)
    full = max(lasts, min(context.full_schedule, round(lasts / max(dose.full, 0.2))))
    read = (2 * context.check_min) / max(full, 0.5)
    return unread < read


def _unknown(context: PlanContext) -> Plan:
    """Return the plan of water in use whose level nobody knows: dose it if fresh, then read it."""
    rule_context = context.rule_context
    if (until := mixed(rule_context)) is not None:
        return waiting(context, until)
    fresh = (
        not rule_context.fill.doses
        and rule_context.fill.latest(rule_context.spec.level_field) is None
    )
    if not fresh:
        return reading_now(context)
    if context.put_aside(StepKind.ACID):
        text = "Add nothing for this yet: the step of a shelved flag comes first. Bring it back"
        return made(context, say_step(StepKind.LOOK, text), feed=False)
    dose = option(StepKind.DOSE, context)
    if isinstance(dose, Option):
        return doing(context, dose, feed=False)
    return made(
        context,
        Step(kind=StepKind.LOOK, say=dose),
        feed=False,
        then=measure_step(rule_context.spec).say,
    )


def _waiting_fill(context: PlanContext) -> Plan:
    """Return the plan of a second fill that was read: read it again where that is too old."""
    rule_context = context.rule_context
    if (until := mixed(rule_context)) is not None:
        return waiting(context, until)
    reading = context.reading
    if reading is None or waited_long(reading, rule_context.spec, rule_context.now):
        return reading_now(context)
    lacks = lacking(rule_context.fill, rule_context.spec, rule_context.now)
    if lacks and rule_context.unchecked_addition() is not None:
        return reading_now(context)
    step = Step(kind=StepKind.LOOK, say=lacks[0]) if lacks else say_step(StepKind.LOOK, "ready")
    return made(context, step)


def _rests(context: PlanContext) -> datetime | None:
    """Return until when a dose mixes in that went into water too low to be washed in meanwhile."""
    rule_context, reading = context.rule_context, context.reading
    dose = rule_context.unverified_dose()
    if dose is None or reading is None or rule_context.now >= rule_context.mixed_at(dose):
        return None
    before = context.previous
    stood = before is not None and before.now.kind is StepKind.DOSE and not before.feed
    low = reading.event, rule_context.spec
    level = float(getattr(low[0], rule_context.spec.level_field))
    return rule_context.mixed_at(dose) if stood or under_low(level, rule_context.spec) else None


def _at_hand(context: PlanContext) -> bool:
    """Tell whether somebody stands at the tank: it was read just now, or a dose was said before."""
    if context.rule_context.unverified_dose() is not None:
        return False  # what went in last is read before more goes in
    return context.washed == 0 or _said_before(context, StepKind.DOSE)


_KEEPING_BACK = (StepKind.DOSE, StepKind.ACID, StepKind.CHECK)
"""A dose that nothing presses for waits where what one of these answers is put aside."""


def _said_before(context: PlanContext, kind: StepKind) -> bool:
    before = context.previous
    return before is not None and before.now.kind is kind and not before.now.second
