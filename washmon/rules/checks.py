"""Rules on measuring: first reading, check after an addition, and checks that are overdue."""

from datetime import datetime, timedelta
from typing import NamedTuple

from washmon.line.flags import Level, StepKind
from washmon.line.message import Figure, Message, Moment
from washmon.rules.base import Finding, RuleContext, rule
from washmon.units import Kind

PRESSING = 2.0
"""Intervals without a reading after which a check presses."""
PH_INTERVALS = 2
"""Check intervals that a pH may be old: common practice, no published source."""
MONITORING = "Monitoring by an adequate method and frequency: 21 CFR 112.46"


@rule("first-reading", "not measured yet", MONITORING, answers=(StepKind.CHECK,))
def first_reading(rule_context: RuleContext) -> Finding | None:
    """Stop where produce is washed in water of which nothing is known."""
    washed = rule_context.tank.batches_in_fill
    if not washed:
        return None
    since = rule_context.tank.washed[-washed].event.at
    if rule_context.fill.latest(rule_context.spec.level_field) is None:
        return Finding(Level.STOP, _never_measured(rule_context, washed), since)
    if rule_context.ph_is_missing():
        why = Message("pH was never measured in this water; chlorine works by it.")
        return Finding(Level.WATCH, why, since)
    return None


def _never_measured(rule_context: RuleContext, washed: int) -> Message:
    text = "{washed} batches were washed in water in which free chlorine was never measured."
    if washed == 1:
        text = "A batch was washed in water in which free chlorine was never measured."
    if rule_context.spec.peracetic is not None:
        text = "{washed} batches were washed in water in which peracetic acid was never measured."
        if washed == 1:
            text = "A batch was washed in water in which peracetic acid was never measured."
    return Message(text, {"washed": washed})


@rule(
    "check-after-adding",
    "check what was added",
    "Dose, mix, wait, test again: common practice, no published source; half of the demand acts in "
    "the first five minutes (Weng et al., chlorine demand in wash water)",
    answers=(StepKind.CHECK,),
)
def check_after_adding(rule_context: RuleContext) -> Finding | None:
    """Note that nobody has measured since an addition has mixed in."""
    added = rule_context.unchecked_addition()
    if added is None or rule_context.now < (due := rule_context.mixed_at(added)):
        return None
    return Finding(
        Level.WATCH,
        Message(
            "Something was added at {at} and the water was not measured since.",
            {"at": Moment(added.event.at)},
        ),
        due,
        note=True,
    )


@rule("overdue", "check overdue", MONITORING, answers=(StepKind.CHECK,))
def check_overdue(rule_context: RuleContext) -> Finding | None:
    """Ask for a reading that is overdue by batches or by minutes; press at twice the interval.

    pH moves more slowly than chlorine is used up: it may be twice as old. While the line is paused,
    and until it washes again, nothing is overdue: the plan asks for one round then.
    """
    if rule_context.rests():
        return None
    level = _lateness(rule_context, rule_context.spec.level_field, 1)
    ph = None if rule_context.spec.peracetic else _lateness(rule_context, "ph", PH_INTERVALS)
    if level is not None:
        text = "The last reading is {waited} and {batches} batches old."
        if level.batches == 1:
            text = "The last reading is {waited} and 1 batch old."
        return _overdue(level, text)
    if ph is not None:
        text = "The last pH is {waited} and {batches} batches old."
        if ph.batches == 1:
            text = "The last pH is {waited} and 1 batch old."
        return _overdue(ph, text)
    return None


class _Late(NamedTuple):
    """How old a reading is, and how many of its intervals that makes."""

    waited_min: float
    batches: int
    intervals: float
    due: datetime


def _lateness(rule_context: RuleContext, field: str, times: int) -> _Late | None:
    last, spec = rule_context.fill.latest(field), rule_context.spec
    if last is None:
        return None
    batches = rule_context.tank.batches - last.batches
    waited_min = (rule_context.now - last.event.at).total_seconds() / 60
    late = [
        value / (times * interval)
        for value, interval in (
            (batches, spec.check_batches),
            (waited_min - rule_context.margins.overdue_delay_min, spec.check_minutes),
        )
        if interval and value >= times * interval
    ]
    due = last.event.at + timedelta(minutes=times * (spec.check_minutes or 0))
    return _Late(waited_min, batches, max(late), due) if late else None


def _overdue(late: _Late, text: str) -> Finding:
    return Finding(
        Level.ACT if late.intervals >= PRESSING else Level.WATCH,
        Message(
            text,
            {"waited": Figure(int(late.waited_min), Kind.TIME), "batches": late.batches},
        ),
        late.due,
    )
