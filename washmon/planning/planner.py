"""The planner: from what was found and is predicted of a tank to its one plan.

What presses most is answered first, by what costs the least of what can answer it. Where nothing
presses, the least work decides: wash on, read, or dose while somebody stands at the tank anyway.
"""

from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta

from msgspec.structs import replace

from washmon.line.flags import Level, Step, StepKind
from washmon.line.judging import under_low, under_ph
from washmon.line.message import Message
from washmon.line.mixing import waited_long
from washmon.line.plan import Due, Expected, Plan, Span, Weighed
from washmon.line.second import lacking
from washmon.planning.context import PlanContext
from washmon.planning.objective import (
    NO_DOSE_RISK,
    PAUSE_MIN,
    RISK,
    STEADY_MIN,
    SURPRISE,
    VERSION,
    WORK,
    WORTH_ALWAYS,
    WORTH_UNREAD,
)
from washmon.planning.options import Built, Option, mixed, option
from washmon.planning.words import (
    calm_step,
    measure_step,
    read_again,
    say_step,
    surprise,
    wait_and_read,
    wait_step,
)
from washmon.rules import rule_of
from washmon.rules.base import Protects

_SAME = 0.9
"""What was said before is kept where something else costs hardly less."""


def plan(context: PlanContext) -> Plan:
    """Return the plan of a tank; the same situation always gives the same plan."""
    found, before = _chosen(context), context.previous
    since = context.sight.now
    if before is not None and before.since is not None and said(before) == said(found):
        since = before.since
    return replace(found, objective=VERSION, surprise=_surprise(context), since=since)


def said(plan: Plan | None) -> tuple[object, ...]:
    """Return what makes a plan another than before: what is to be done, not the counting down.

    An amount that changes little is the same one.
    """
    if plan is None:
        return (StepKind.LOOK, None, None, False, True)
    now = plan.now
    return (now.kind, now.product, now.amount, now.second, plan.feed)


def _chosen(context: PlanContext) -> Plan:
    pressing, watching, chores = _sorted(context)
    if (made := _answer(context, pressing)) is not None:
        return made
    calm = _calm(context)
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
            _answers(context, one[0]) != (StepKind.CHANGE_WATER,),  # new water answers others, too
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


# -- what presses ---------------------------------------------------------------------------------


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
        made = replace(made, weighed=tuple(_lost(built, best)))
        if made.now.kind is not StepKind.WAIT:
            return made
        waiting = made
    return waiting


def _built(context: PlanContext, id_: str) -> dict[StepKind, Built]:
    """Return the options that a finding has, without those that would not mend it."""
    built = {kind: option(kind, context) for kind in _answers(context, id_)}
    dose = built.get(StepKind.DOSE)
    if not isinstance(dose, Option):
        if StepKind.DOSE in built and (never := _never_kept(context)) is not None:
            return {StepKind.DOSE: never}
        return built
    if id_ == "ph-low" and under_ph(dose.lowest_ph, context.sight.spec):
        built[StepKind.DOSE] = Message("A dose would not bring the pH back inside its limits.")
    elif context.change_due and isinstance(built.get(StepKind.CHANGE_WATER), Option):
        built[StepKind.DOSE] = Message("The water is to be changed: a dose would be thrown away.")
    return built


def _never_kept(context: PlanContext) -> Message | None:
    from washmon.planning.doses import never_kept  # noqa: PLC0415 - start-up is measured

    return never_kept(context.sight)


def _answers(context: PlanContext, id_: str) -> tuple[StepKind, ...]:
    rule = rule_of(id_)
    if rule is None:
        return (StepKind.CHECK,)
    kinds = rule.answers
    swap = context.sight.second is not None and context.sight.second.ready
    if StepKind.CHANGE_WATER in kinds and len(kinds) > 1 and context.sight.waits and not swap:
        return tuple(kind for kind in kinds if kind is not StepKind.CHANGE_WATER)
    return kinds


def _act(context: PlanContext, best: Option, id_: str) -> Plan | None:
    """Return the plan that does an option for a finding, or waits for it where it must."""
    level = context.findings[id_].level
    treated = context.sight.unverified_level() is not None
    if level is Level.STOP and treated and _TREATS & set(_answers(context, id_)):
        return _wait(context, mixed(context.sight))  # done already: now it is read
    if best.not_before is not None:
        if level is Level.STOP or not _washable(context):
            return _wait(context, best.not_before)
        return None  # washing goes on meanwhile; the calm plan tells when to look
    return _plan(context, best, answers=_answered(context, best.kind))


def _answered(context: PlanContext, kind: StepKind) -> tuple[str, ...]:
    return tuple(id_ for id_ in context.findings if kind in _answers(context, id_))


def _refused(context: PlanContext, id_: str, built: dict[StepKind, Built]) -> Plan | None:
    """Return that nothing in the shed answers a stop, and why; less than a stop is left to wait."""
    if context.findings[id_].level is not Level.STOP:
        return None
    why = next((one for one in built.values() if isinstance(one, Message)), None)
    if why is None:
        return None
    step = say_step(StepKind.LOOK, "Feed nothing. No step of this shed mends it: see why")
    return _made(context, step, feed=False, brings=why)


# -- where nothing presses ------------------------------------------------------------------------


def _calm(context: PlanContext) -> Plan:
    """Return the plan where nothing presses."""
    for made in _FIRST_THINGS:
        if (found := made(context)) is not None:
            return found
    return _wash_on(context)


def _not_known(context: PlanContext) -> Plan | None:
    sight = context.sight
    if sight.level() is None:
        return _unknown(context)
    if sight.ph_is_missing():
        return _read_now(context)
    return _waiting_fill(context) if sight.waits else None


def _paused(context: PlanContext) -> Plan | None:
    """Return that nothing is asked for while the line is paused."""
    if context.sight.shift.paused is None:
        return None
    step = say_step(StepKind.LOOK, "The line is paused. Read each tank before washing on")
    return _made(context, step, feed=False)


def _after_pause(context: PlanContext) -> Plan | None:
    """Return the one reading that a longer pause asks for before produce goes in again."""
    shift, reading = context.sight.shift, context.reading
    last = shift.pauses[-1] if shift.pauses else None
    if last is None or last.over is None or reading is None or reading.event.at >= last.over:
        return None
    lasted = last.over - last.placed.at
    return _read_now(context) if lasted >= timedelta(minutes=PAUSE_MIN) else None


def _both_mixing(context: PlanContext) -> Plan | None:
    """Return the wait where acid and hypochlorite went in within each other's mixing time."""
    sight = context.sight
    acid, dose = sight.unread_acid(), sight.unverified_dose()
    if acid is None or dose is None or sight.spec.peracetic is not None:
        return None
    apart = abs(acid.event.at - dose.event.at)
    if apart >= timedelta(minutes=sight.spec.mix_minutes):
        return None
    return _wait(context, mixed(sight))


def _mixing_in(context: PlanContext) -> Plan | None:
    until = _rests(context)
    return None if until is None else _wait(context, until)


def _clouded(context: PlanContext) -> Plan | None:
    """Return the change of water before the next batch would take it over its cloudiness."""
    cloud = context.clouding
    if not cloud.fresh or cloud.left >= 1.0:
        return None
    change = option(StepKind.CHANGE_WATER, context)
    return _plan(context, change) if isinstance(change, Option) else None


def _wash_on(context: PlanContext) -> Plan:
    """Return that washing goes on, unless the water is due, or a dose is the lesser work now."""
    sight = context.sight
    good = context.good(context.course)
    due = context.due(good)
    if due.batches == 0 or (due.at is not None and sight.now >= due.at):
        # What is due by the clock, the pH or the cloudiness only a reading settles.
        return _due_now(context) if good == 0 else _read_now(context)
    on = _on(context, calm_step(due), due)
    if not _at_hand(context) or context.put_aside(StepKind.DOSE, StepKind.ACID):
        return on
    if _steady(context, StepKind.LOOK):
        return on
    dose = option(StepKind.DOSE, context)
    if not isinstance(dose, Option) or dose.not_before is not None:
        return on
    if _steady(context, StepKind.DOSE):
        return _as_said(context, _plan(context, dose))
    kept = _SAME if _said_before(context, StepKind.DOSE) else 1.0
    lasts = due.batches or good
    if lasts <= 1 and dose.full >= WORTH_ALWAYS:
        return _plan(context, dose)  # reading again and again settles nothing
    if _rate_after(context, dose) * kept < context.check_min / max(lasts, 0.5):
        return _plan(context, dose)
    return on


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
    sight = context.sight
    check = option(StepKind.CHECK, context)
    dose: Built = Message("What would be dosed for is put aside.")
    if not context.put_aside(StepKind.DOSE, StepKind.ACID):
        dose = option(StepKind.DOSE, context)
    fresh = context.washed == 0 and sight.unverified_dose() is None
    if isinstance(dose, Option) and dose.batches > 0 and (fresh or _worth_unread(context, dose)):
        if dose.not_before is not None:
            return _wait(context, dose.not_before)
        return replace(_plan(context, dose), weighed=tuple(_lost({StepKind.CHECK: check}, dose)))
    if fresh:  # it was read just now and no dose is possible: reading again settles nothing
        change = option(StepKind.CHANGE_WATER, context)
        if context.course.under_critical[0] > NO_DOSE_RISK and isinstance(change, Option):
            why = dose if isinstance(dose, Message) else None
            return replace(_plan(context, change), brings=why)
        return _on(context, calm_step(Due(batches=1)), Due(batches=1))
    if isinstance(check, Option) and check.not_before is not None:
        return _wait(context, check.not_before)
    return _read_now(context)


def _worth_unread(context: PlanContext, dose: Option) -> bool:
    """Tell whether a dose now, without a reading, costs less work than to read and then dose.

    It waits for its mixing where the water may be too low to be washed in meanwhile; the reading
    would let the dose be a full one.
    """
    lasts = min(dose.batches, context.scheduled)
    if lasts < WORTH_UNREAD or context.sight.unverified_dose() is not None:
        return False
    still = 0.0
    if context.course.under_critical[0] > RISK:
        still = context.sight.spec.mix_minutes * WORK.standstill
    unread = _rate_after(context, dose, first=still, batches=lasts)
    full = max(lasts, min(context.full_schedule, round(lasts / max(dose.full, 0.2))))
    read = (2 * context.check_min) / max(full, 0.5)
    return unread < read


def _unknown(context: PlanContext) -> Plan:
    """Return the plan of water in use whose level nobody knows: dose it if fresh, then read it."""
    sight = context.sight
    if (until := mixed(sight)) is not None:
        return _wait(context, until)
    fresh = not sight.fill.doses and sight.fill.latest(sight.spec.level_field) is None
    if not fresh:
        return _read_now(context)
    if context.put_aside(StepKind.ACID):
        text = "Add nothing for this yet: the step of a shelved flag comes first. Bring it back"
        return _made(context, say_step(StepKind.LOOK, text), feed=False)
    dose = option(StepKind.DOSE, context)
    if isinstance(dose, Option):
        return _plan(context, dose, feed=False)
    return _made(
        context, Step(kind=StepKind.LOOK, say=dose), feed=False, then=measure_step(sight.spec).say
    )


def _waiting_fill(context: PlanContext) -> Plan:
    """Return the plan of a second fill that was read: read it again where that is too old."""
    sight = context.sight
    if (until := mixed(sight)) is not None:
        return _wait(context, until)
    reading = context.reading
    if reading is None or waited_long(reading, sight.spec, sight.now):
        return _read_now(context)
    lacks = lacking(sight.fill, sight.spec, sight.now)
    if lacks and sight.unchecked_addition() is not None:
        return _read_now(context)
    step = Step(kind=StepKind.LOOK, say=lacks[0]) if lacks else say_step(StepKind.LOOK, "ready")
    return _made(context, step)


def _rests(context: PlanContext) -> datetime | None:
    """Return until when a dose mixes in that went into water too low to be washed in meanwhile."""
    sight, reading = context.sight, context.reading
    dose = sight.unverified_dose()
    if dose is None or reading is None or sight.now >= sight.mixed_at(dose):
        return None
    before = context.previous
    stood = before is not None and before.now.kind is StepKind.DOSE and not before.feed
    low = reading.event, sight.spec
    level = float(getattr(low[0], sight.spec.level_field))
    return sight.mixed_at(dose) if stood or under_low(level, sight.spec) else None


def _at_hand(context: PlanContext) -> bool:
    """Tell whether somebody stands at the tank: it was read just now, or a dose was said before."""
    if context.sight.unverified_dose() is not None:
        return False  # what went in last is read before more goes in
    return context.washed == 0 or _said_before(context, StepKind.DOSE)


def _steady(context: PlanContext, kind: StepKind) -> bool:
    """Tell whether a step was said so lately that whoever acts on it must find it again.

    A first reading of a fill, and what presses, are no small change.
    """
    before = context.previous
    if before is None or before.since is None or before.now.kind is not kind:
        return False
    if context.sight.now - before.since >= timedelta(minutes=STEADY_MIN):
        return False
    if kind is StepKind.LOOK:  # said after a reading of this fill, with produce allowed in
        read = [one for one in context.sight.fill.readings if one.event.at <= before.since]
        return before.feed and bool(read)
    return not before.now.second


def _as_said(context: PlanContext, made: Plan) -> Plan:
    """Return a dose with the amount that was said before, where it hardly differs."""
    before = context.previous
    then = None if before is None else before.now.amount
    now = made.now.amount
    if before is None or then is None or now is None or then.unit != now.unit:
        return made
    if not then.value <= now.value <= (1 + _HARDLY) * then.value:
        return made
    return replace(made, now=before.now, brings=before.brings, expected=before.expected)


_HARDLY = 0.3
"""Share by which an amount may grow before it is said anew."""


def _said_before(context: PlanContext, kind: StepKind) -> bool:
    before = context.previous
    return before is not None and before.now.kind is kind and not before.now.second


# -- plans ----------------------------------------------------------------------------------------


def _plan(
    context: PlanContext,
    best: Option,
    *,
    answers: tuple[str, ...] = (),
    feed: bool | None = None,
) -> Plan:
    """Return the plan that does an option."""
    sight = context.sight
    if feed is None:
        feed = _washable(context) and best.kind not in _STANDING
        if best.kind is StepKind.DOSE:
            feed = feed and context.course.under_critical[0] <= RISK
    due, then = None, None
    if best.mixes:
        due = context.due(best.batches)
        feed = feed and due.batches != 0
        then = wait_and_read(sight.spec.mix_minutes)
        if feed:
            then = read_again(due, peracetic=sight.spec.peracetic is not None)
    return _made(
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


def _made(
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
    return Plan(
        tank=context.sight.tank.number,
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


def _on(context: PlanContext, step: Step, due: Due) -> Plan:
    """Return that washing goes on, with what was added still mixing in, if anything is."""
    sight = context.sight
    until = mixed(sight)
    added = sight.unchecked_addition() is not None
    expected = None
    if added:
        expected = Expected(level_mg_l=context.outlook.reads(context.method), at=until)
    return _made(context, step, due=due, wait_until=until, expected=expected)


def _read_now(context: PlanContext) -> Plan:
    sight = context.sight
    until = mixed(sight)
    if until is not None:
        return _wait(context, until)
    answers = _answered(context, StepKind.CHECK)
    expected = None
    if sight.level() is not None or sight.fill.doses:
        expected = Expected(level_mg_l=context.outlook.reads(context.method), at=sight.now)
    step = measure_step(sight.spec, cloudiness=context.clouding.look)
    return _made(context, step, feed=False, answers=answers, expected=expected)


def _wait(context: PlanContext, until: datetime | None) -> Plan:
    """Return the wait for what was added; once it has mixed in, the reading."""
    sight = context.sight
    if until is None or until <= sight.now:
        return _read_now(context)
    expected = Expected(level_mg_l=context.outlook.reads(context.method), at=until)
    return _made(context, wait_step(until), feed=False, wait_until=until, expected=expected)


def _next(calm: Plan) -> Message:
    return calm.now.say


def _washable(context: PlanContext) -> bool:
    """Tell whether produce may go in: known, not stopped, not due for a change."""
    sight = context.sight
    if sight.level() is None or sight.ph_is_missing():
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
_TREATS = frozenset({StepKind.DOSE, StepKind.LOWER})
"""Once one of these was done about a stop, a reading tells what came of it."""
_WATERY = frozenset(
    {StepKind.DOSE, StepKind.ACID, StepKind.LOWER, StepKind.CHANGE_WATER, StepKind.CHECK}
)
"""These touch the water, or read it."""


# -- why ------------------------------------------------------------------------------------------


def _lost(built: dict[StepKind, Built], best: Option) -> Iterator[Weighed]:
    """Yield what else was weighed, and why it was not chosen."""
    for kind, one in built.items():
        if one is best:
            continue
        if isinstance(one, Message):
            yield Weighed(kind, one)
            continue
        yield Weighed(
            kind,
            Message(
                "It would take about {minutes} min of work and standing still; this takes {best}.",
                {"minutes": round(one.minutes), "best": round(best.minutes)},
            ),
        )


def _surprise(context: PlanContext) -> Message | None:
    """Return that the newest reading was not what had been expected, in one sentence."""
    ahead = context.sight.forecast
    told = None if ahead is None else ahead.last_read
    if told is None or told.chance >= SURPRISE:
        return None
    return surprise(told.value_mg_l, Span(told.low_mg_l, told.high_mg_l))
