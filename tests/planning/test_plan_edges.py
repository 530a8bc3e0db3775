"""Where a plan turns: how bad a tank is, who comes first, how long washing goes on."""

from datetime import timedelta

import pytest
from msgspec.structs import replace

from tests.planning.steps import words
from tests.shed import START, Shed, a_setup, a_tank
from washmon.line.events import WaterExchanged
from washmon.line.flags import Condition, Flag, Level, StepKind
from washmon.line.message import Message
from washmon.line.plan import Due, Plan
from washmon.line.setup import Stage
from washmon.planning.advice import Advice, TankAdvice, condition
from washmon.planning.context import PlanContext, clouding
from washmon.planning.objective import HORIZON
from washmon.planning.plan_words import read_again
from washmon.planning.planner import _rose_by_itself
from washmon.planning.what_if import contexts_of
from washmon.rules.base import RuleContext


def begun(**tank: object) -> Shed:
    shed = Shed(a_setup(a_tank(1, "Only", Stage.WASH, **tank)))
    shed.fill()
    shed.dose(ml=200)
    shed.wait(6).read(fac=50, ph=7.0)
    return shed


def context(shed: Shed) -> PlanContext:
    (found,) = contexts_of(shed.shift, shed.now, {})
    return found


def rule_context(shed: Shed) -> RuleContext:
    return context(shed).rule_context


def flag(level: Level) -> Flag:
    said = Message("x")
    step = Shed(a_setup(a_tank(1, "Only"))).plan().now
    return Flag(tank=1, rule="r", level=level, title=said, why=said, step=step, since=START)


def test_a_tank_is_as_bad_as_its_worst_flag() -> None:
    seen = rule_context(begun())
    assert condition(seen, []) is Condition.IN_LIMITS
    assert condition(seen, [flag(Level.WATCH)]) is Condition.WATCH
    assert condition(seen, [flag(Level.WATCH), flag(Level.STOP)]) is Condition.STOP
    assert condition(seen, [flag(Level.ACT), flag(Level.WATCH)]) is Condition.ACT


def test_a_tank_of_which_nothing_is_known_is_unknown_whatever_is_only_watched() -> None:
    shed = Shed(a_setup(a_tank(1, "Only")))
    shed.fill()
    assert condition(rule_context(shed), [flag(Level.WATCH)]) is Condition.UNKNOWN
    assert condition(rule_context(shed), [flag(Level.STOP)]) is Condition.STOP


def advice_of(tank: int, condition: Condition, due: Due) -> TankAdvice:
    step = begun().plan().now
    plan = Plan(tank=tank, now=replace(step, kind=StepKind.LOOK), due=due)
    return TankAdvice(tank=tank, condition=condition, plan=plan)


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ((Condition.IN_LIMITS, Due(batches=2)), (Condition.IN_LIMITS, Due(batches=5))),
        ((Condition.WATCH, Due(batches=5)), (Condition.IN_LIMITS, Due(batches=2))),
        ((Condition.UNKNOWN, Due()), (Condition.IN_LIMITS, Due())),
        ((Condition.IN_LIMITS, Due(at=START)), (Condition.IN_LIMITS, Due(at=START + timedelta(1)))),
    ],
)
def test_who_comes_first_is_worse_or_has_less_time_left(
    first: tuple[Condition, Due], second: tuple[Condition, Due]
) -> None:
    tanks = (advice_of(1, *second), advice_of(2, *first))
    assert [one.tank for one in Advice(tanks=tanks).agenda] == [2, 1]


@pytest.mark.parametrize(
    ("due", "expected"),
    [
        (Due(), "Washing may go on."),
        (Due(batches=2), "Washing may go on. Read it within 2 batches."),
        (Due(batches=1), "Washing may go on. Read it after the next batch."),
        (Due(batches=2, at=START), "Washing may go on. Read it within 2 batches, by 07:00."),
        (Due(batches=1, at=START), "Washing may go on. Read it after the next batch, by 07:00."),
    ],
)
def test_when_to_read_again_is_said_in_batches_and_by_the_clock(due: Due, expected: str) -> None:
    assert words(read_again(due)) == expected


def test_a_set_interval_of_checks_counts_up_to_as_far_as_a_plan_looks() -> None:
    assert context(begun(check_batches=6, check_minutes=None)).full_schedule == 6
    far = begun(check_batches=HORIZON + 5, check_minutes=None)
    assert context(far).full_schedule == HORIZON
    assert context(begun(check_batches=None, check_minutes=None)).full_schedule == HORIZON


@pytest.mark.parametrize("put_in", ["nothing", "dose", "acid", "exchange"])
def test_a_ph_rises_by_itself_only_where_nothing_was_put_in(put_in: str) -> None:
    shed = begun()
    if put_in == "dose":
        shed.dose(ml=5)
    elif put_in == "acid":
        shed.acid(ml=5)
    elif put_in == "exchange":
        shed.tell(WaterExchanged(at=shed.now, by="RM", tank=1, volume_l=50))
    shed.wait(6).read(fac=50, ph=8.0)
    assert _rose_by_itself(context(shed)) is (put_in == "nothing")


def test_a_look_at_the_water_is_worth_it_only_after_something_was_washed() -> None:
    shed = begun()
    shed.read(fac=50, ph=7.0, turbidity_ntu=10.0)
    shed.wash(1)
    shed.read(fac=50, ph=7.0, turbidity_ntu=58.0)
    fresh = clouding(rule_context(shed))
    assert (fresh.fresh, fresh.look) == (True, False)
    shed.wash(1)
    later = clouding(rule_context(shed))
    assert (later.fresh, later.look) == (False, True)
