"""Plans as they are made: of an option, of a wait, of a reading, of washing on."""

from collections.abc import Iterator
from datetime import datetime

from washmon.line.flags import Level, Step, StepKind
from washmon.line.message import Message
from washmon.line.plan import Due, Expected, Plan, WeighedOption
from washmon.planning.context import PlanContext
from washmon.planning.objective import (
    RISK,
)
from washmon.planning.options import Built, Option, mixed
from washmon.planning.plan_words import (
    measure_step,
    read_again,
    wait_and_read,
    wait_step,
)
from washmon.rules import rule_of


def answers_to(context: PlanContext, id_: str) -> tuple[StepKind, ...]:
    """Return the kinds of step that can answer a finding."""
    rule = rule_of(id_)
    if rule is None:
        return (StepKind.CHECK,)
    kinds = rule.answers
    swap = context.rule_context.second is not None and context.rule_context.second.ready
    if (
        StepKind.CHANGE_WATER in kinds
        and len(kinds) > 1
        and context.rule_context.waits
        and not swap
    ):
        return tuple(kind for kind in kinds if kind is not StepKind.CHANGE_WATER)
    return kinds


def answered_by(context: PlanContext, kind: StepKind) -> tuple[str, ...]:
    """Return the ids of the findings that a kind of step answers."""
    return tuple(id_ for id_ in context.findings if kind in answers_to(context, id_))


def doing(
    context: PlanContext,
    best: Option,
    *,
    answers: tuple[str, ...] = (),
    feed: bool | None = None,
) -> Plan:
    """Return the plan that does an option."""
    rule_context = context.rule_context
    if feed is None:
        feed = washable(context) and best.kind not in _STANDING
        if best.kind is StepKind.DOSE:
            feed = feed and context.course.under_critical[0] <= RISK
    due, then = None, None
    if best.mixes:
        due = context.due(best.batches)
        feed = feed and due.batches != 0
        then = wait_and_read(rule_context.spec.mix_minutes)
        if feed:
            then = read_again(due)
    return made(
        context,
        best.step,
        feed=feed,
        brings=best.brings,
        how=best.how,
        then=then,
        due=due,
        expected=best.expected,
        answers=answers,
    )


def made(
    context: PlanContext,
    step: Step,
    *,
    feed: bool = True,
    brings: Message | None = None,
    how: Message | None = None,
    then: Message | None = None,
    due: Due | None = None,
    expected: Expected | None = None,
    answers: tuple[str, ...] = (),
    wait_until: datetime | None = None,
) -> Plan:
    """Return the plan of a tank with what belongs to it."""
    return Plan(
        tank=context.rule_context.tank.number,
        now=step,
        feed=feed,
        brings=brings,
        how=how,
        then=then,
        due=due,
        expected=expected,
        answers=answers,
        wait_until=wait_until,
    )


def washing_on(context: PlanContext, step: Step, due: Due) -> Plan:
    """Return that washing goes on, with what was added still mixing in, if anything is."""
    rule_context = context.rule_context
    until = mixed(rule_context)
    added = rule_context.unchecked_addition() is not None
    expected = None
    if added:
        expected = Expected(level_mg_l=context.outlook.reads(context.method), at=until)
    return made(context, step, due=due, wait_until=until, expected=expected)


def reading_now(context: PlanContext) -> Plan:
    """Return that the water is to be read, as soon as what was added has mixed in."""
    rule_context = context.rule_context
    until = mixed(rule_context)
    if until is not None:
        return waiting(context, until)
    answers = answered_by(context, StepKind.CHECK)
    expected = None
    if rule_context.level() is not None or rule_context.fill.doses:
        expected = Expected(level_mg_l=context.outlook.reads(context.method), at=rule_context.now)
    step = measure_step(rule_context.spec, cloudiness=context.clouding.look)
    return made(context, step, feed=False, answers=answers, expected=expected)


def waiting(context: PlanContext, until: datetime | None) -> Plan:
    """Return the wait for what was added; once it has mixed in, the reading."""
    rule_context = context.rule_context
    if until is None or until <= rule_context.now:
        return reading_now(context)
    expected = Expected(level_mg_l=context.outlook.reads(context.method), at=until)
    return made(context, wait_step(until), feed=False, wait_until=until, expected=expected)


def washable(context: PlanContext) -> bool:
    """Tell whether produce may go in: known, not stopped, not due for a change."""
    rule_context = context.rule_context
    if rule_context.level() is None or rule_context.ph_is_missing():
        return False
    for id_, found in context.findings.items():
        rule = rule_of(id_)
        change = rule is not None and rule.answers == (StepKind.CHANGE_WATER,)
        if found.level is Level.STOP or (change and found.level is Level.ACT):
            return False
    return True


_STANDING = frozenset(
    {StepKind.LEAVE, StepKind.CHANGE_WATER, StepKind.CHECK, StepKind.LOWER, StepKind.WAIT}
)
"""While these are done nothing is washed."""


def what_lost(built: dict[StepKind, Built], best: Option) -> Iterator[WeighedOption]:
    """Yield what else was weighed, and why it was not chosen."""
    for kind, one in built.items():
        if one is best:
            continue
        if isinstance(one, Message):
            yield WeighedOption(kind, one)
            continue
        yield WeighedOption(
            kind,
            Message(
                "It would take about {minutes} min of work and standing still; this takes {best}.",
                {"minutes": round(one.minutes), "best": round(best.minutes)},
            ),
        )
