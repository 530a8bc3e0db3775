"""The look at a shift: what the rules find in each tank, the plan made of it, and its condition.

Pure: the same state at the same moment always gives the same advice, so a live shift, a replay and
a shift of ten years ago are judged alike.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import UTC, datetime
from math import inf
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from washmon.line.event_base import RULES
from washmon.line.flag_events import FlagsChanged
from washmon.line.flags import ALWAYS_ON, FAILED, Condition, Flag, Level, Step, StepKind
from washmon.line.message import Message
from washmon.line.plan import Due, Plan
from washmon.line.state import ShiftState, TankState
from washmon.planning.context import PlanContext
from washmon.planning.objective import TOGETHER_BATCHES
from washmon.planning.plan_words import measure_step, say_step
from washmon.planning.planner import plan, said
from washmon.planning.second_step import for_second, second_of
from washmon.rules import all_rules, rule_of
from washmon.rules.base import Finding, Protects, Rule, RuleContext, Second

if TYPE_CHECKING:
    from washmon.forecast.look_ahead import Forecast

_URGENCY = (
    Condition.IN_LIMITS,
    Condition.UNKNOWN,
    Condition.WATCH,
    Condition.ACT,
    Condition.STOP,
)
_ADDITIONS = frozenset({StepKind.ACID, StepKind.DOSE})


class TankAdvice(Struct, frozen=True, kw_only=True):
    """What is said of one tank: how it is, and its plan."""

    tank: int
    condition: Condition
    plan: Plan
    flags: tuple[Flag, ...] = ()
    shelved: tuple[Flag, ...] = ()
    """Up, and put aside for a while: they count in neither condition nor plan."""
    notes: tuple[Flag, ...] = ()
    """What was found beside, and asks for nobody's hand."""
    second: Second | None = None
    """What is said of its second fill; nothing where there is no vessel for one."""

    @property
    def step(self) -> Step:
        """The one thing to do."""
        return self.plan.now


class Advice(Struct, frozen=True, kw_only=True):
    """What is said of the whole line at one moment; flags come most urgent first."""

    tanks: tuple[TankAdvice, ...] = ()
    flags: tuple[Flag, ...] = ()
    shelved: tuple[Flag, ...] = ()

    def tank(self, number: int) -> TankAdvice:
        """Return what is said of one tank.

        Raises:
            KeyError: the line has no such tank.
        """
        for advice in self.tanks:
            if advice.tank == number:
                return advice
        raise KeyError(number)

    @property
    def agenda(self) -> tuple[TankAdvice, ...]:
        """The tanks in the order in which they need somebody."""
        return tuple(sorted(self.tanks, key=_pressing))


def _pressing(advice: TankAdvice) -> tuple[bool, int, bool, float, datetime, int]:
    plan, last = advice.plan, datetime.max.replace(tzinfo=UTC)
    due = plan.due or Due()
    left = inf if due.batches is None else due.batches
    return (
        not plan.hand,
        -_URGENCY.index(advice.condition),
        plan.wait_until is None,
        left,
        min(plan.wait_until or last, due.at or last),
        advice.tank,
    )


def advise(
    shift: ShiftState,
    now: datetime,
    rules: Sequence[Rule] | None = None,
    forecasts: "Mapping[int, Forecast] | None" = None,
    stale: Collection[int] = (),
    *,
    told: Mapping[int, Plan] | None = None,
) -> Advice:
    """Return what is found and planned of a shift at a moment; nothing once the shift has ended.

    ``forecasts`` are by tank; without one a tank is planned by mass balance. ``stale`` names the
    tanks whose forecast is about to be made anew: what looks ahead says of them, and their plan,
    stand until then; ``told`` are the plans as they were told last, else those of the journal.
    """
    rules = all_rules() if rules is None else rules
    raised = frozenset(record.flag.key for record in shift.open_flags)
    ahead = forecasts or {}
    tanks = []
    for tank in shift.tanks:
        second = second_of(shift, tank, now, planned=tank.number not in stale)
        if tank.fill is None or shift.ended is not None:
            tanks.append(without_water(shift, tank, second))
            continue
        kept = _kept(shift, tank) if tank.number in stale else None
        forecast = ahead.get(tank.number)
        rule_context = RuleContext(shift, tank, tank.fill, now, raised, forecast, kept, second)
        before = (told or {}).get(tank.number) or shift.plans.get(tank.number)
        tanks.append(_advise_tank(shift, rules, rule_context, before))
    tanks = _together(shift, tanks)
    return Advice(
        tanks=tuple(tanks),
        flags=by_urgency(flag for tank in tanks for flag in tank.flags),
        shelved=by_urgency(flag for tank in tanks for flag in tank.shelved),
    )


def changed_flags(shift: ShiftState, advice: Advice, now: datetime) -> FlagsChanged | None:
    """Return the event that journals what came up, went or changed, flags and plans, if any did.

    A shelved flag is up like any other: shelving clears nothing, and hides nothing from the record.
    """
    open_levels = {record.flag.key: record.flag.level for record in shift.open_flags}
    present = {flag.key: flag for flag in (*advice.flags, *advice.shelved)}
    raised = tuple(flag for key, flag in present.items() if open_levels.get(key) != flag.level)
    cleared = tuple(key for key in open_levels if key not in present)
    plans = () if shift.ended is not None else _changed_plans(shift, advice)
    if not raised and not cleared and not plans:
        return None
    return FlagsChanged(
        at=now, by=RULES, upto=shift.last_seq, raised=raised, cleared=cleared, plans=plans
    )


def _changed_plans(shift: ShiftState, advice: Advice) -> tuple[Plan, ...]:
    """Return the plans that say something else than the journal's newest; counting down is none.

    What a plan answers belongs to it, so that a replay can point each flag at its step.
    """
    return tuple(
        one.plan
        for one in advice.tanks
        if one.plan.objective  # what is still being made is not said yet
        and (
            (before := shift.plans.get(one.tank)) is None
            or said(one.plan) != said(before)
            or one.plan.answers != before.answers
        )
    )


def by_urgency(flags: Iterable[Flag]) -> tuple[Flag, ...]:
    """Return flags most urgent first: by level, then by whom they protect, then by tank."""

    def key(flag: Flag) -> tuple[int, int, int, str]:
        rule = rule_of(flag.rule)
        protects = Protects.PRODUCE if rule is None else rule.protects
        return -flag.level.rank, protects.rank, flag.tank, flag.rule

    return tuple(sorted(flags, key=key))


def _kept(shift: ShiftState, tank: TankState) -> dict[str, Flag]:
    return {
        record.flag.rule: record.flag
        for record in shift.open_flags
        if record.flag.tank == tank.number
    }


def without_water(shift: ShiftState, tank: TankState, second: Second | None) -> TankAdvice:
    """Return what is said of a tank without water: only gas beside it raises a flag."""
    ended = shift.ended is not None
    gas = None if second is None or ended else second.gas
    flags = () if gas is None else (replace(gas, rule="second-gas"),)
    step = say_step(
        StepKind.LOOK,
        "This shift has ended" if ended else "Fill the tank, then enter the filling",
    )
    if flags and second is not None and second.step is not None:
        step = second.step
    return TankAdvice(
        tank=tank.number,
        condition=Condition.STOP if flags else Condition.UNKNOWN,
        plan=Plan(tank=tank.number, now=step, feed=False),
        flags=flags,
        second=second,
    )


def _advise_tank(
    shift: ShiftState, rules: Sequence[Rule], rule_context: RuleContext, before: Plan | None
) -> TankAdvice:
    number = rule_context.tank.number
    off = {one.rule for one in shift.setup.rules_off}
    looked = [rule for rule in rules if rule.id not in off or rule.id in ALWAYS_ON]
    found = dict(pair for rule in looked if (pair := _looked(rule, rule_context)) is not None)
    flags = {id_: _flag(id_, number, one) for id_, one in found.items()}
    shelved = put_aside(shift, rule_context.now, flags)
    standing = {id_: one for id_, one in found.items() if not one.note and id_ not in shelved}
    made = _plan(rule_context, standing, shelved, before)
    up = by_urgency(flags[id_] for id_ in standing)
    return TankAdvice(
        tank=number,
        condition=condition(rule_context, up),
        plan=made,
        flags=up,
        shelved=by_urgency(flags[id_] for id_ in shelved if not found[id_].note),
        notes=tuple(flags[id_] for id_, one in found.items() if one.note),
        second=_beside(rule_context.second, made),
    )


def _plan(
    rule_context: RuleContext,
    findings: Mapping[str, Finding],
    shelved: frozenset[str],
    before: Plan | None,
) -> Plan:
    """Return the plan; while the forecast is made anew, the one before stands.

    Unless it was answered meanwhile: nobody must find a dose again that is in the water.
    """
    if rule_context.kept is None:
        journaled = rule_context.shift.plans.get(rule_context.tank.number)
        return plan(PlanContext(rule_context, findings, journaled, shelved))
    if before is None or not before.objective or _answered_since(rule_context, before):
        return _being_made(rule_context)
    return before


def _answered_since(rule_context: RuleContext, before: Plan | None) -> bool:
    """Tell whether something was put into the water, or read of it, since a plan was made."""
    fill, since = rule_context.fill, None if before is None else before.since
    if since is None:
        return True
    entered = (fill.readings, fill.doses, fill.acids, fill.exchanges)
    return fill.at >= since or any(one[-1].event.at >= since for one in entered if one)


def _being_made(rule_context: RuleContext) -> Plan:
    """Return that the plan is being made, for the blink of an eye; it is not journaled."""
    step = say_step(StepKind.LOOK, "One moment: what comes next is being worked out")
    return Plan(tank=rule_context.tank.number, now=step, feed=False)


def _flag(id_: str, tank: int, found: Finding) -> Flag:
    rule = rule_of(id_)
    if rule is not None:
        return rule.flag(tank, found)
    title = Message("a rule of the program failed")
    return Flag(
        tank=tank, rule=id_, level=found.level, title=title, why=found.why, since=found.since
    )


def put_aside(shift: ShiftState, now: datetime, flags: Mapping[str, Flag]) -> frozenset[str]:
    """Return the rules whose flags are put aside; they are back at once where they press more.

    A stop is never shelved, whatever a journal says.
    """
    aside = shift.shelved_at(now)
    return frozenset(
        id_
        for id_, flag in flags.items()
        if flag.key in aside
        and flag.level.rank <= aside[flag.key].placed.level.rank
        and flag.never_shelved is None
    )


def _looked(rule: Rule, rule_context: RuleContext) -> tuple[str, Finding] | None:
    """Ask a rule; one that throws becomes a finding itself and takes nothing else down."""
    if rule.ahead and rule_context.kept is not None:
        kept = rule_context.kept.get(rule.id)
        if kept is None:
            return None
        return rule.id, Finding(kept.level, kept.why, kept.since, kept.more)
    try:
        found = rule(rule_context)
    except Exception as fault:  # noqa: BLE001 - whatever it is, the shed must see it
        why = Message(
            "The rule {rule} could not judge this tank ({fault}). Judge it yourself by the "
            "limits, and report this.",
            {"rule": rule.id, "fault": f"{type(fault).__name__}: {fault}"},
        )
        return f"{FAILED}{rule.id}", Finding(Level.ACT, why, rule_context.fill.at)
    return None if found is None else (rule.id, found)


def condition(rule_context: RuleContext, flags: Sequence[Flag]) -> Condition:
    """Return how a tank is, in one word: by its flags, then by what was read of it."""
    worst = max((flag.level for flag in flags), key=lambda level: level.rank, default=None)
    if worst in {Level.STOP, Level.ACT}:
        return Condition(worst)
    if rule_context.level() is None or rule_context.ph_is_missing():
        return Condition.UNKNOWN
    return Condition(worst) if worst else Condition.IN_LIMITS


def _beside(second: Second | None, own: Plan) -> Second | None:
    """Return what is said of the second fill, its addition kept back while the tank has another.

    So acid and hypochlorite are never at hand together; where the air may be bad, nothing is added.
    """
    if second is None or second.step is None:
        return second
    kinds = {second.step.kind, own.now.kind}
    leave = own.now.kind is StepKind.LEAVE and second.step.kind in _ADDITIONS
    if not leave and (own.now.second or kinds != _ADDITIONS):
        return second
    text = "Add nothing for this yet: the tank's own step comes first"
    return replace(second, step=for_second(say_step(StepKind.LOOK, text)))


def _together(shift: ShiftState, tanks: list[TankAdvice]) -> list[TankAdvice]:
    """Let checks that are due with the next batch join the round that is made now."""
    if not any(one.plan.now.kind is StepKind.CHECK for one in tanks):
        return tanks
    return [
        replace(one, plan=_joined(shift, one.plan)) if _joins(one.plan) else one for one in tanks
    ]


def _joins(plan: Plan) -> bool:
    left = None if plan.due is None else plan.due.batches
    return (
        plan.now.kind is StepKind.LOOK
        and plan.wait_until is None
        and left is not None
        and left <= TOGETHER_BATCHES
    )


def _joined(shift: ShiftState, plan: Plan) -> Plan:
    return replace(plan, now=measure_step(shift.setup.tank(plan.tank)), feed=False, then=None)
