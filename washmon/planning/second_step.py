"""What is said of a second fill: judged as any water is, with nothing washed in it."""

from datetime import datetime

from msgspec.structs import replace

from washmon.line.flags import Step, StepKind
from washmon.line.message import Figure, Message
from washmon.line.second import lacking
from washmon.line.state import ShiftState, TankState
from washmon.planning.context import PlanContext
from washmon.planning.plan_words import SECOND, say_step
from washmon.rules import all_rules
from washmon.rules.base import Finding, RuleContext, Second
from washmon.units import Kind

JUDGING_WATER = frozenset(
    {
        "chlorine-critical",
        "chlorine-label",
        "chlorine-low",
        "cloudy",
        "instrument-unfit",
        "paa-critical",
        "paa-limit",
        "paa-low",
        "peroxide-limit",
        "ph-gas",
        "ph-high",
        "ph-low",
        "water-too-cold",
    }
)
"""Rules that judge a second fill while it waits: what of it must be set right before its use."""


def second_of(
    shift: ShiftState, tank: TankState, now: datetime, *, planned: bool = True
) -> Second | None:
    """Return what a second fill lacks, and ``planned`` its step; nothing without a vessel."""
    spec, fill = tank.spec, tank.second
    if spec.second_volume_l is None or shift.ended is not None:
        return None
    lacks = lacking(fill, spec, now)
    if fill is None:
        volume = Figure(spec.second_volume_l, Kind.VOLUME)
        step = say_step(
            StepKind.FILL, "Fill its vessel ({volume}), then enter the filling", volume=volume
        )
        return Second(step=for_second(step), lacks=lacks)
    rule_context = _alone(shift, tank, now)
    found = _judged(rule_context)
    doubted = tuple(one.why for id_, one in found.items() if id_ == "instrument-unfit")
    gas = found.get("ph-gas")
    over = next(rule for rule in all_rules() if rule.id == "ph-gas")
    second = Second(lacks=lacks + doubted, gas=None if gas is None else over.flag(tank.number, gas))
    return replace(second, step=_step(rule_context, found)) if planned else second


def _step(rule_context: RuleContext, found: dict[str, Finding]) -> Step:
    """Return what makes it ready, as the planner sees it."""
    from washmon.planning.planner import plan  # noqa: PLC0415 - which asks for this step

    step = plan(PlanContext(rule_context=rule_context, findings=found)).now
    # Its water is not changed by a swap, which such a step of a tank may mean.
    kind = StepKind.FILL if step.kind is StepKind.CHANGE_WATER else step.kind
    return for_second(replace(step, kind=kind))


def for_second(step: Step) -> Step:
    """Return a step as one for the second fill, and saying so."""
    return replace(step, say=Message(SECOND + step.say.text, step.say.values), second=True)


def _alone(shift: ShiftState, tank: TankState, now: datetime) -> RuleContext:
    if tank.second is None:
        raise TypeError(tank.spec.name)
    alone = TankState(spec=tank.spec, fills=(tank.second,))
    return RuleContext(shift, alone, tank.second, now, frozenset(), waits=True)


def _judged(rule_context: RuleContext) -> dict[str, Finding]:
    return {
        rule.id: found
        for rule in all_rules()
        if rule.id in JUDGING_WATER and (found := rule(rule_context)) is not None
    }
