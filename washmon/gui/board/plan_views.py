"""From the plan of a tank to what its card says, and to its place among those who are first."""

import math
from collections.abc import Iterable
from datetime import datetime, timedelta

from washmon.gui.board import cautions
from washmon.gui.board.board_words import answer_word, clock_words, other_word, turn_word
from washmon.gui.board.panel_views import AlsoView, StepView, TurnView, WaitView
from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit.state_mark import MarkState
from washmon.line.flags import StepKind
from washmon.line.plan import Due, Plan
from washmon.line.state import TankState
from washmon.planning.advice import TankAdvice

_USUAL_WAIT = timedelta(minutes=5)
"""How long a wait is drawn of which nobody knows when it began."""
_ALSO = 2
"""So many findings that the plan does not answer stand in the card; Why? has all of them."""
_GOES_ALONE = frozenset({StepKind.LEAVE, StepKind.HOLD, StepKind.CHANGE_WATER})
"""Steps that say enough: nobody feeds a tank meanwhile."""


def step_view(
    tank: TankState,
    advice: TankAdvice,
    ahead: str,
    person: UserContext,
    *,
    writable: bool,
    first: bool,
) -> StepView:
    """Return what a card says of the plan of its tank.

    ``ahead`` is how long the water lasts, said where the plan does not say what it brings.
    """
    plan = advice.plan
    brings = ahead if plan.brings is None else person.say(plan.brings)
    then = "" if plan.then is None else person.say(plan.then)
    step = plan.now
    return StepView(
        text=step_words(tank, plan, person),
        kind=step.kind,
        look=MarkState(advice.condition.value),
        quiet=" ".join(_sentence(part) for part in (brings, then) if part),
        brings=_sentence(brings or then) if brings or then else "",
        how="" if plan.how is None else _sentence(person.say(plan.how)),
        surprise="" if plan.surprise is None else _sentence(person.say(plan.surprise)),
        caution=cautions.short(step.cautions),
        cautions=cautions.full(step.cautions),
        wait=wait_view(tank, plan),
        answer=answer_word(step.kind, second=step.second) if writable else "",
        first=first,
        weighed=tuple(
            tr("{what}: {why}", what=other_word(one.kind), why=person.say(one.why))
            for one in plan.weighed
        ),
    )


def step_words(tank: TankState, plan: Plan, person: UserContext) -> str:
    """Return the step, and before it that nothing may go in where produce could."""
    sentence = person.say(plan.now.say)
    if plan.feed or tank.fill is None or plan.now.kind in _GOES_ALONE:
        return sentence
    return f"{tr('Feed nothing.')} {sentence}"


def _sentence(text: str) -> str:
    return text if text.endswith((".", "?", "!", ":")) else f"{text}."


def wait_view(tank: TankState, plan: Plan) -> WaitView | None:
    """Return the wait until what was added has mixed in; nothing where nobody waits for that."""
    if plan.wait_until is None:
        return None
    since = max(_added(tank), default=plan.wait_until - _USUAL_WAIT)
    if since >= plan.wait_until:
        since = plan.wait_until - _USUAL_WAIT
    return WaitView(since, plan.wait_until, clock_words(plan.wait_until))


def _added(tank: TankState) -> Iterable[datetime]:
    for fill in (tank.fill, tank.second):
        if fill is not None:
            yield fill.at
            for placed in (*fill.doses, *fill.acids, *fill.exchanges):
                yield placed.event.at


def also_views(advice: TankAdvice, person: UserContext) -> tuple[AlsoView, ...]:
    """Return what was found besides, the gravest first; what has no room is counted."""
    others = [flag for flag in advice.flags if flag.rule not in advice.plan.answers]
    kept = others if len(others) <= _ALSO else others[: _ALSO - 1]
    views = [AlsoView(person.say(flag.title), MarkState(flag.level.value)) for flag in kept]
    if len(kept) < len(others):
        rest = others[len(kept) :]
        text = tr("and {count} more", count=len(rest))
        views.append(AlsoView(text, MarkState(rest[0].level.value)))
    return tuple(views)


def turn_view(tank: TankState, advice: TankAdvice, now: datetime) -> TurnView:
    """Return the place of a tank in the strip of who is first."""
    plan, kind = advice.plan, advice.plan.now.kind
    wait = None if plan.hand else wait_view(tank, plan)
    # At the end of a wait, or of what the plan holds for, somebody reads.
    reads = not plan.hand and (plan.due if wait is None else plan.expected) is not None
    stands = kind is StepKind.LOOK and tank.fill is not None and not plan.feed
    when = tr("now") if plan.hand else "" if wait is not None else _due_words(plan.due, now)
    return TurnView(
        tank=tank.number,
        look=MarkState(advice.condition.value),
        title=f"{tank.number}  {tank.spec.name}",
        what=_what(tank, StepKind.CHECK if reads else kind, stands=stands),
        when=when,
        wait=wait,
        pressing=plan.hand or wait is not None,
    )


def _what(tank: TankState, kind: StepKind, *, stands: bool) -> str:
    if tank.fill is None and kind is StepKind.LOOK:
        return tr("empty, fill it when needed")
    return tr("feed nothing") if stands else turn_word(kind)


def _due_words(due: Due | None, now: datetime) -> str:
    if due is None:
        return ""
    minutes = None if due.at is None else math.ceil((due.at - now).total_seconds() / 60)
    batches = due.batches
    if (minutes is not None and minutes <= 0) or (batches is not None and batches <= 0):
        return tr("now")
    if batches is None:
        return "" if minutes is None else tr("in {minutes} min", minutes=minutes)
    if minutes is None:
        return tr("in 1 batch") if batches == 1 else tr("in {count} batches", count=batches)
    if batches == 1:
        return tr("in 1 batch or {minutes} min", minutes=minutes)
    return tr("in {count} batches or {minutes} min", count=batches, minutes=minutes)
