"""The background rules engine's look at a shift: all flags, each tank's condition and next step.

Pure: the same state at the same moment always gives the same advice, so a live shift, a replay and
a shift of ten years ago are judged alike.
"""

from collections.abc import Collection, Mapping, Sequence
from datetime import UTC, datetime
from math import inf
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from washmon.line.events import RULES, FlagsChanged
from washmon.line.flags import ALWAYS_ON, FAILED, Condition, Flag, Level, Step, StepKind
from washmon.line.message import Figure, Message
from washmon.line.plan import Due, Plan
from washmon.line.second import lacking
from washmon.line.state import ShiftState, TankState
from washmon.rules import all_rules
from washmon.rules.base import Rule, Second, Sight
from washmon.rules.calm import calm_step
from washmon.rules.precedence import (
    Turn,
    a_handful,
    by_urgency,
    causes,
    mixed_first,
    waits,
    with_consequences,
)
from washmon.rules.steps import for_second, say_step
from washmon.units import Kind

if TYPE_CHECKING:
    from washmon.forecast.look_ahead import Forecast

JUDGING_WATER = frozenset(
    {
        "check-after-adding",
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


_URGENCY = (
    Condition.IN_LIMITS,
    Condition.UNKNOWN,
    Condition.WATCH,
    Condition.ACT,
    Condition.STOP,
)


class TankAdvice(Struct, frozen=True, kw_only=True):
    """What is said of one tank: how it is, and its plan."""

    tank: int
    condition: Condition
    plan: Plan
    flags: tuple[Flag, ...] = ()
    shelved: tuple[Flag, ...] = ()
    """Up, and put aside for a while: they count in neither condition nor next step."""
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
) -> Advice:
    """Return what the rules say of a shift at a moment; nothing once the shift has ended.

    ``forecasts`` are by tank; rules that look ahead are silent on a tank that has none.
    ``stale`` names the tanks whose forecast is about to be made anew: what those rules said of them
    stands until then.
    """
    rules = all_rules() if rules is None else rules
    raised = frozenset(record.flag.key for record in shift.open_flags)
    ahead = forecasts or {}
    tanks = []
    for tank in shift.tanks:
        second = _second(shift, tank, rules, now)
        if tank.fill is None:
            tanks.append(_of_empty_tank(shift, tank, second))
            continue
        kept = _kept(shift, tank) if tank.number in stale else None
        forecast = ahead.get(tank.number)
        sight = Sight(shift, tank, tank.fill, now, raised, forecast, kept, second)
        tanks.append(_advise_tank(shift, tank, rules, sight))
    return Advice(
        tanks=tuple(tanks),
        flags=by_urgency(flag for tank in tanks for flag in tank.flags),
        shelved=by_urgency(flag for tank in tanks for flag in tank.shelved),
    )


def changed_flags(shift: ShiftState, advice: Advice, now: datetime) -> FlagsChanged | None:
    """Return the event that journals what came up, went or changed its level, if anything did.

    A shelved flag is up like any other: shelving clears nothing, and hides nothing from the record.
    """
    open_levels = {record.flag.key: record.flag.level for record in shift.open_flags}
    present = {flag.key: flag for flag in (*advice.flags, *advice.shelved)}
    raised = tuple(flag for key, flag in present.items() if open_levels.get(key) != flag.level)
    cleared = tuple(key for key in open_levels if key not in present)
    if not raised and not cleared:
        return None
    return FlagsChanged(at=now, by=RULES, upto=shift.last_seq, raised=raised, cleared=cleared)


def _kept(shift: ShiftState, tank: TankState) -> dict[str, Flag]:
    return {
        record.flag.rule: record.flag
        for record in shift.open_flags
        if record.flag.tank == tank.number
    }


def _of_empty_tank(shift: ShiftState, tank: TankState, second: Second | None) -> TankAdvice:
    """Return what is said of a tank without water: only gas beside it raises a flag."""
    gas = None if second is None else second.gas
    flags = () if gas is None else (replace(gas, rule="second-gas"),)
    return TankAdvice(
        tank=tank.number,
        condition=Condition.STOP if flags else Condition.UNKNOWN,
        plan=Plan(
            tank=tank.number, now=flags[0].step if flags else _no_step(shift), feed=not flags
        ),
        flags=flags,
        second=second,
    )


def _no_step(shift: ShiftState) -> Step:
    ended = shift.ended is not None
    return say_step(
        StepKind.LOOK,
        "This shift has ended" if ended else "Fill the tank, then enter the filling",
    )


def _advise_tank(
    shift: ShiftState, tank: TankState, rules: Sequence[Rule], sight: Sight
) -> TankAdvice:
    if shift.ended is not None:
        plan = Plan(tank=tank.number, now=_no_step(shift), feed=False)
        return TankAdvice(tank=tank.number, condition=Condition.UNKNOWN, plan=plan)
    off = {one.rule for one in shift.setup.rules_off}
    rules = [rule for rule in rules if rule.id not in off or rule.id in ALWAYS_ON]
    seen = by_urgency(flag for rule in rules if (flag := _looked(rule, sight)) is not None)
    shelved, up = _parted(seen, sight)
    flags = mixed_first(a_handful(causes(up)), sight)
    aside = mixed_first(shelved, sight)
    turn = Turn(flags, aside)
    flags, aside = with_consequences(turn.kept(flags), up), turn.kept(aside)
    steps = sorted((flag.step for flag in flags), key=lambda one: (waits(one), one.kind.rank))
    step = steps[0] if steps else turn.of(calm_step(sight, shelved=bool(aside)))
    second = sight.second
    if second is not None:
        second = replace(second, step=turn.beside(second.step, step))
    condition = _condition(sight, flags)
    return TankAdvice(
        tank=tank.number,
        condition=condition,
        plan=Plan(tank=tank.number, now=step, feed=condition is not Condition.STOP),
        flags=flags,
        shelved=aside,
        second=second,
    )


def _second(
    shift: ShiftState, tank: TankState, rules: Sequence[Rule], now: datetime
) -> Second | None:
    """Return what is said of a second fill: judged as any water is, with nothing washed in it."""
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
    alone = TankState(spec=spec, fills=(fill,))
    judging = [rule for rule in rules if rule.id in JUDGING_WATER]
    said = _advise_tank(
        shift, alone, judging, Sight(shift, alone, fill, now, frozenset(), waits=True)
    )
    gas = next((flag for flag in said.flags if flag.rule == "ph-gas"), None)
    doubted = tuple(flag.why for flag in said.flags if flag.rule == "instrument-unfit")
    return Second(
        step=_for_second(said.step),
        lacks=lacks + doubted,
        gas=None if gas is None else replace(gas, step=_for_second(gas.step)),
    )


def _for_second(step: Step) -> Step:
    # Its water is not changed by a swap, which such a step of a tank may mean.
    kind = StepKind.FILL if step.kind is StepKind.CHANGE_WATER else step.kind
    return for_second(replace(step, kind=kind))


def _parted(flags: Sequence[Flag], sight: Sight) -> tuple[list[Flag], list[Flag]]:
    """Return what is shelved, and what stands.

    A shelved flag hides itself alone: it folds nothing under it, and is back at once where it
    presses more than when it was put aside. A stop is never shelved, whatever a journal says.
    """
    shelved = {} if sight.waits else sight.shift.shelved_at(sight.now)
    aside = [
        flag
        for flag in flags
        if flag.key in shelved
        and flag.level.rank <= shelved[flag.key].placed.level.rank
        and flag.never_shelved is None
    ]
    return aside, [flag for flag in flags if flag not in aside]


def _looked(rule: Rule, sight: Sight) -> Flag | None:
    """Ask a rule; one that throws becomes a flag itself and takes nothing else down."""
    if rule.ahead and sight.kept is not None:
        return sight.kept.get(rule.id)
    try:
        return rule(sight)
    except Exception as fault:  # noqa: BLE001 - whatever it is, the shed must see it
        return Flag(
            tank=sight.tank.number,
            rule=f"{FAILED}{rule.id}",
            level=Level.ACT,
            title=Message("a rule of the program failed"),
            why=Message(
                "The rule {rule} could not judge this tank ({fault}). Judge it yourself by the "
                "limits, and report this.",
                {"rule": rule.id, "fault": f"{type(fault).__name__}: {fault}"},
            ),
            step=say_step(
                StepKind.CHECK, "Judge this tank yourself: the rule {rule} failed", rule=rule.id
            ),
            since=sight.fill.at,
        )


def _condition(sight: Sight, flags: Sequence[Flag]) -> Condition:
    worst = max((flag.level for flag in flags), key=lambda level: level.rank, default=None)
    if worst in {Level.STOP, Level.ACT}:
        return Condition(worst)
    if sight.level() is None or sight.ph_is_missing():
        return Condition.UNKNOWN
    return Condition(worst) if worst else Condition.IN_LIMITS
