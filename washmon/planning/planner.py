"""The planner: from what was found and is predicted of a tank to its one plan.

What presses most is answered first, by what costs the least of what can answer it. Where nothing
presses, the least work decides: wash on, read, or dose while somebody stands at the tank anyway.
"""

from collections.abc import Iterable, Iterator

from msgspec.structs import replace

from washmon.line.flags import Level, Step, StepKind
from washmon.line.judging import under_ph
from washmon.line.message import Message
from washmon.line.plan import Plan, Span
from washmon.line.state import order
from washmon.planning.calm import calm_plan
from washmon.planning.context import PlanContext
from washmon.planning.making import (
    answered_by,
    answers_to,
    doing,
    made,
    waiting,
    washable,
    what_lost,
)
from washmon.planning.objective import (
    PH_JUMP,
    SURPRISE,
    VERSION,
    WORK,
)
from washmon.planning.options import Built, Option, mixed, option
from washmon.planning.plan_words import (
    say_step,
    surprise,
)
from washmon.rules import rule_of
from washmon.rules.base import Protects


def plan(context: PlanContext) -> Plan:
    """Return the plan of a tank; the same situation always gives the same plan."""
    found, before = _chosen(context), context.previous
    since = context.rule_context.now
    if before is not None and before.since is not None and said(before) == said(found):
        since = before.since
    return replace(found, objective=VERSION, surprise=_surprise(context), since=since)


def said(plan: Plan) -> tuple[object, ...]:
    """Return what makes a plan another than before: what is to be done, not the counting down.

    An amount that changes little is the same one.
    """
    now = plan.now
    return (now.kind, now.product, now.amount, now.second, plan.feed)


def _chosen(context: PlanContext) -> Plan:
    pressing, watching, chores = _sorted(context)
    if (made := _answer(context, pressing)) is not None:
        return made
    calm = calm_plan(context)
    optional = calm.now.kind is StepKind.DOSE and not calm.answers
    if (calm.hand and not optional) or not calm.feed:
        return calm
    for findings in (watching, () if optional else chores):
        made = _answer(context, findings)
        if made is not None and made.now.kind is not StepKind.WAIT:
            return made if made.then is not None else replace(made, then=calm.now.say)
    if calm.hand:
        return calm
    why = next(_unanswered(context, pressing), None)
    if why is None:
        return calm
    return replace(calm, now=Step(kind=StepKind.LOOK, say=why), then=calm.now.say)


def _unanswered(context: PlanContext, ids: Iterable[str]) -> Iterator[Message]:
    """Yield why nothing can be done about findings that press."""
    for id_ in ids:
        built = _built(context, id_).values()
        if not any(isinstance(one, Option) for one in built):
            yield from (one for one in built if isinstance(one, Message))


def _sorted(context: PlanContext) -> tuple[list[str], list[str], list[str]]:
    """Return ids of findings that press, that are watched, and that may wait for a quiet moment."""
    ranked = sorted(
        context.findings.items(),
        key=lambda one: (
            -one[1].level.rank,
            _protects(one[0]).rank,
            answers_to(context, one[0])
            != (StepKind.CHANGE_WATER,),  # new water answers others, too
            one[0],
        ),
    )
    pressing = [id_ for id_, found in ranked if found.level is not Level.WATCH]
    watched = [id_ for id_, found in ranked if found.level is Level.WATCH]
    chores = [id_ for id_ in watched if _protects(id_) is Protects.WORK]
    return pressing, [id_ for id_ in watched if id_ not in chores], chores


def _protects(id_: str) -> Protects:
    rule = rule_of(id_)
    return Protects.PRODUCE if rule is None else rule.protects


def _answer(context: PlanContext, ids: Iterable[str]) -> Plan | None:
    """Return the plan that answers the first of some findings that anything can answer.

    While what was added for one mixes in, the next that needs no more than a hand is answered.
    """
    waiting: Plan | None = None
    for id_ in ids:
        built = _built(context, id_)
        options = [one for one in built.values() if isinstance(one, Option)]
        if not options:
            if (refused := _refused(context, id_, built)) is not None:
                return refused
            continue
        best = min(options, key=lambda one: (one.minutes, one.kind.rank))
        made = _act(context, best, id_)
        if made is None or (waiting is not None and (made.now.kind in _WATERY or not made.hand)):
            continue
        made = replace(made, weighed=tuple(what_lost(built, best)))
        if made.now.kind is not StepKind.WAIT:
            return made
        waiting = made
    return waiting


def _built(context: PlanContext, id_: str) -> dict[StepKind, Built]:
    """Return the options that a finding has, without those that would not mend it."""
    built = {kind: option(kind, context) for kind in answers_to(context, id_)}
    if id_ == "ph-high" and _rose_by_itself(context):
        text = "Read the pH once more: it rose with nothing put in"
        again = Option(step=say_step(StepKind.CHECK, text), minutes=WORK.dose)
        return {StepKind.CHECK: again, StepKind.ACID: Message("The pH is in doubt.")}
    dose = built.get(StepKind.DOSE)
    if not isinstance(dose, Option):
        if StepKind.DOSE in built and (never := _never_kept(context)) is not None:
            return {StepKind.DOSE: never}
        return built
    if id_ == "ph-low" and under_ph(dose.lowest_ph, context.rule_context.spec):
        built[StepKind.DOSE] = Message("A dose would not bring the pH back inside its limits.")
    elif context.change_due and isinstance(built.get(StepKind.CHANGE_WATER), Option):
        built[StepKind.DOSE] = Message("The water is to be changed: a dose would be thrown away.")
    return built


def _rose_by_itself(context: PlanContext) -> bool:
    """Tell whether the newest pH is far over the one before it, with nothing put in between."""
    fill = context.rule_context.fill
    read = [one for one in fill.readings if one.event.ph is not None][-2:]
    if len(read) < len(("before", "newest")):
        return False
    before, newest = read
    added = (*fill.doses, *fill.acids, *fill.exchanges)
    if any(order(before) < order(one) <= order(newest) for one in added):
        return False
    return bool((newest.event.ph or 0.0) - (before.event.ph or 0.0) > PH_JUMP)


def _never_kept(context: PlanContext) -> Message | None:
    from washmon.planning.doses import never_kept  # noqa: PLC0415 - start-up is measured

    return never_kept(context.rule_context)


def _act(context: PlanContext, best: Option, id_: str) -> Plan | None:
    """Return the plan that does an option for a finding, or waits for it where it must."""
    level = context.findings[id_].level
    treated = context.rule_context.unverified_level() is not None
    if level is Level.STOP and treated and _TREATS & set(answers_to(context, id_)):
        return waiting(context, mixed(context.rule_context))  # done already: now it is read
    if best.not_before is not None:
        if level is Level.STOP or not washable(context):
            return waiting(context, best.not_before)
        return None  # washing goes on meanwhile; the calm plan tells when to look
    return doing(context, best, answers=answered_by(context, best.kind))


def _refused(context: PlanContext, id_: str, built: dict[StepKind, Built]) -> Plan | None:
    """Return that nothing in the shed answers a stop, and why; less than a stop is left to wait."""
    if context.findings[id_].level is not Level.STOP:
        return None
    why = next((one for one in built.values() if isinstance(one, Message)), None)
    if why is None:
        return None
    step = say_step(StepKind.LOOK, "Feed nothing. No step of this shed mends it: see why")
    return made(context, step, feed=False, brings=why)


def _next(calm: Plan) -> Message:
    return calm.now.say


_TREATS = frozenset({StepKind.DOSE, StepKind.LOWER})
"""Once one of these was done about a stop, a reading tells what came of it."""


_WATERY = frozenset(
    {StepKind.DOSE, StepKind.ACID, StepKind.LOWER, StepKind.CHANGE_WATER, StepKind.CHECK}
)
"""These touch the water, or read it."""


def _surprise(context: PlanContext) -> Message | None:
    """Return that the newest reading was not what had been expected, in one sentence."""
    ahead = context.rule_context.forecast
    told = None if ahead is None else ahead.last_read
    if told is None or told.chance >= SURPRISE:
        return None
    return surprise(told.value_mg_l, Span(told.low_mg_l, told.high_mg_l))
