"""What was told of a shift at the time, from its journal alone: nothing is judged anew.

Flags and plans are those that were journaled. In journals of a time when each flag had a step of
its own, the most protective step of the most urgent flags is the plan. What a journal never held
(how a tank stood in one word, what a second fill lacks) follows from the state of that moment.
"""

from datetime import datetime

from msgspec.structs import replace

from washmon.line.events import BatchWashed, Corrected
from washmon.line.flag_events import FlagsChanged
from washmon.line.flags import Flag, Level, StepKind
from washmon.line.journal import Entry
from washmon.line.plan import Due, Plan
from washmon.line.second import lacking
from washmon.line.state import ShiftState, TankState
from washmon.planning.advice import (
    Advice,
    TankAdvice,
    by_urgency,
    condition,
    put_aside,
    without_water,
)
from washmon.planning.plan_words import calm_step
from washmon.rules.base import RuleContext, Second


def as_told(shift: ShiftState, now: datetime) -> Advice:
    """Return what a shift's journal says was found and planned, as it stood at a moment."""
    tanks = tuple(_tank(shift, tank, now) for tank in shift.tanks)
    return Advice(
        tanks=tanks,
        flags=by_urgency(flag for tank in tanks for flag in tank.flags),
        shelved=by_urgency(flag for tank in tanks for flag in tank.shelved),
    )


def _tank(shift: ShiftState, tank: TankState, now: datetime) -> TankAdvice:
    found = {
        record.flag.rule: record.flag
        for record in shift.open_flags
        if record.flag.tank == tank.number
    }
    aside = put_aside(shift, now, found)
    flags = by_urgency(flag for rule, flag in found.items() if rule not in aside)
    second = _second(shift, tank, now, found)
    if tank.fill is None or shift.ended is not None:
        return without_water(shift, tank, second)
    rule_context = RuleContext(shift, tank, tank.fill, now, frozenset(), second=second)
    return TankAdvice(
        tank=tank.number,
        condition=condition(rule_context, flags),
        plan=_plan(shift, tank.number, flags),
        flags=flags,
        shelved=by_urgency(found[rule] for rule in aside),
        second=second,
    )


def _second(
    shift: ShiftState, tank: TankState, now: datetime, found: dict[str, Flag]
) -> Second | None:
    if tank.spec.second_volume_l is None or shift.ended is not None:
        return None
    return Second(lacks=lacking(tank.second, tank.spec, now), gas=found.get("second-gas"))


def _plan(shift: ShiftState, tank: int, flags: tuple[Flag, ...]) -> Plan:
    told = shift.plans.get(tank)
    if told is not None:
        return _counted_down(shift, told)
    steps = [(flag, flag.step) for flag in flags if flag.step is not None]
    if not steps:
        return Plan(tank=tank, now=calm_step(Due()))
    first, step = min(steps, key=lambda one: (-one[0].level.rank, one[1].kind.rank))
    feed = all(flag.level is not Level.STOP for flag in flags)
    return Plan(tank=tank, now=step, feed=feed, answers=(first.rule,))


def _counted_down(shift: ShiftState, told: Plan) -> Plan:
    """Return a plan as the batches since left it.

    Only a plan that says something else is journaled. So while there is nothing to do, what was
    entered of the water since made the moment of the next check unknown to the journal.
    """
    if told.due is None or told.now.kind is not StepKind.LOOK or told.now != calm_step(told.due):
        return told
    since = _since(shift, told)
    if any(_is_of(entry, told.tank) for entry in since):
        return replace(told, now=calm_step(Due()), due=None)
    washed = sum(
        isinstance(entry.event, BatchWashed) and told.tank in entry.event.tanks for entry in since
    )
    left = None if told.due.batches is None else max(0, told.due.batches - washed)
    due = Due(batches=left, at=told.due.at)
    return replace(told, now=calm_step(due), due=due)


def _since(shift: ShiftState, told: Plan) -> list[Entry]:
    """Return the entries after the one that journaled a plan."""
    since: list[Entry] = []
    for entry in reversed(shift.entries):
        if isinstance(entry.event, FlagsChanged) and told in entry.event.plans:
            break
        since.append(entry)
    return since


def _is_of(entry: Entry, tank: int) -> bool:
    """Tell whether an entry is about the water of a tank, batches apart; a correction may be."""
    return getattr(entry.event, "tank", None) == tank or isinstance(entry.event, Corrected)
