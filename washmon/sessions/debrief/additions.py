"""What went into the water: was the amount right, and was it safe?"""

from datetime import datetime, timedelta
from enum import StrEnum

from msgspec import Struct

from washmon.line.events import AcidAdded, DoseAdded
from washmon.line.flags import Amount, StepKind
from washmon.line.journal import Entry
from washmon.line.judging import counts_total, is_over, judge_peroxide, over_label, under_ph
from washmon.line.setup import Tank
from washmon.line.state import Fill, ShiftState
from washmon.planning.context import PlanContext
from washmon.planning.options import advised_amounts
from washmon.rules.base import RuleContext
from washmon.sessions.practice.stage import PracticeStage
from washmon.units import Kind

OFF = 0.2
"""So far from the right amount it counts as off."""
AS_TOLD = 0.1
"""So near the plan's amount it counts as that."""


class Harm(StrEnum):
    """What a person must never do."""

    ACID_IN_LOW_PH = "acid into water of a low pH"
    ACID_WITH_BLEACH = "acid and bleach within the mixing time of each other"
    OVER_LABEL = "over the label maximum"
    OVER_PEROXIDE = "peroxide over its legal maximum"


class Addition(Struct, frozen=True, kw_only=True):
    """One dose or acid; ``right`` is what should have gone in, nothing where nothing should.

    A dose is right from the target up to what the plan would have given.

    ``off`` is the share by which it missed: −0.3 is 30 % short. ``wrong`` says whether that counts:
    less acid than advised never does, for one may always go slower.
    """

    at: datetime
    tank: int
    is_acid: bool
    amount: Amount
    right: float | None
    off: float | None
    wrong: bool


class Unsafe(Struct, frozen=True, kw_only=True):
    """One unsafe act."""

    at: datetime
    tank: int
    harm: Harm


def judge_addition(
    state: ShiftState, entry: Entry, event: DoseAdded | AcidAdded, stage: PracticeStage
) -> tuple[Addition, list[Unsafe]]:
    """Return how an addition was, by what its person could know just before, and by the truth."""
    tank = state.tank(event.tank)
    fill = tank.fill
    right = _right_amount(state, event)
    acid = isinstance(event, AcidAdded)
    off = _off(event, right)
    wrong = off is None or off > OFF or (off < -OFF and not acid)
    addition = Addition(
        at=entry.recorded_at,
        tank=event.tank,
        is_acid=acid,
        amount=event.amount,
        right=right,
        off=off,
        wrong=wrong,
    )
    harms = [] if fill is None else _harms(tank.spec, fill, entry, event, stage)
    return addition, [Unsafe(at=entry.recorded_at, tank=event.tank, harm=harm) for harm in harms]


def off_by(state: ShiftState, event: DoseAdded | AcidAdded) -> float | None:
    """Return the share by which an addition missed what was right by all that was known before it.

    −0.3 is 30 % short; nothing is returned where no amount was right.
    """
    return _off(event, _right_amount(state, event))


def _off(event: DoseAdded | AcidAdded, right: float | None) -> float | None:
    return None if right is None else event.amount.value / right - 1.0


def _right_amount(state: ShiftState, event: DoseAdded | AcidAdded) -> float | None:
    """Return the nearest right amount, or nothing where first something else was due."""
    fill = state.tank(event.tank).fill
    if fill is None:
        return None
    raised = frozenset(record.flag.key for record in state.open_flags)
    rule_context = RuleContext(state, state.tank(event.tank), fill, event.at, raised)
    if rule_context.unchecked_addition() is not None:
        return None
    kind = StepKind.ACID if isinstance(event, AcidAdded) else StepKind.DOSE
    unit, value = event.amount.unit, event.amount.value
    told = state.plans.get(event.tank)
    if told is not None and told.now.kind is kind and told.now.amount is not None:
        amount = told.now.amount  # the forecast behind it knows more than is worked out here
        if amount.unit == unit and abs(value / amount.value - 1.0) <= AS_TOLD:
            return amount.value
    found = advised_amounts(kind, PlanContext(rule_context, {}))
    if found is None or found[0].unit != unit:
        return None
    least, most = found
    return min(max(value, least.value), most.value)


def _harms(
    spec: Tank, fill: Fill, entry: Entry, event: DoseAdded | AcidAdded, stage: PracticeStage
) -> list[Harm]:
    minutes = (entry.recorded_at - stage.begins).total_seconds() / 60
    course = [one for one in stage.truth if one.tank == event.tank]
    before = next((one for one in reversed(course) if one.minutes < minutes - 1e-6), None)
    after = next((one for one in course if one.minutes > minutes + 1e-6), None)
    found: list[Harm] = []
    others = fill.doses if isinstance(event, AcidAdded) else fill.acids
    mixing = timedelta(minutes=spec.mix_minutes)
    if any(event.at - other.event.at < mixing for other in others):
        found.append(Harm.ACID_WITH_BLEACH)
    if isinstance(event, AcidAdded):
        read = fill.latest("ph")
        known_low = read is not None and not is_over(read.event.ph or 7.0, spec.ph.low, Kind.PH)
        if known_low or (before is not None and under_ph(before.ph, spec)):
            found.append(Harm.ACID_IN_LOW_PH)
    elif after is not None:
        level = after.level_mg_l + (after.combined_mg_l if counts_total(spec) else 0.0)
        if over_label(level, spec):
            found.append(Harm.OVER_LABEL)
        if judge_peroxide(after.peroxide_mg_l, spec) is not None:
            found.append(Harm.OVER_PEROXIDE)
    return found
