"""The second fill in the rules: its next step, what it vouches for, when it is asked for."""

from datetime import timedelta

from msgspec.structs import replace

from tests.shed import Shed, a_setup, a_tank
from washmon.line.events import (
    Corrected,
    Decision,
    HoldReleased,
    Method,
    ReadingTaken,
)
from washmon.line.flags import Condition, Flag, Level, Step, StepKind
from washmon.line.message import say
from washmon.line.setup import Stage
from washmon.rules.base import Second
from washmon.rules.in_question import questioned, since_last_good_check, to_hold
from washmon.units import UnitSystem


def washing(**tank: object) -> Shed:
    """Return a shed that washes in good water; tank 1 has a second vessel of 400 L, still empty."""
    changes = {"second_volume_l": 400.0, **tank}
    shed = Shed(a_setup(a_tank(1, "First", Stage.WASH, **changes), a_tank(2, "Other")))
    shed.fill(1)
    shed.dose(1, 200)
    shed.wait(6).read(1, 50, ph=7.0)
    return shed


def with_second(shed: Shed, level: float = 50, ph: float = 7.0) -> Shed:
    shed.fill(1, 400.0, second=True)
    shed.dose(1, 160, second=True)
    shed.wait(6).read(1, level, ph=ph, second=True)
    return shed


def second(shed: Shed) -> Second:
    found = shed.look().tank(1).second
    assert found is not None
    return found


def words(step: Step) -> str:
    return say(step.say, UnitSystem.METRIC).replace("\N{NO-BREAK SPACE}", " ")


def up(shed: Shed, rule: str) -> Flag:
    flag = shed.flag(rule)
    assert flag is not None
    return flag


def in_question(shed: Shed) -> tuple[int, ...]:
    return tuple(questioned(shed.shift.tank(1)))


# -- its own next step ----------------------------------------------------------------------------


def test_a_tank_without_a_second_vessel_has_nothing_said_of_a_second_fill() -> None:
    shed = Shed()
    shed.fill(1)
    assert shed.look().tank(1).second is None


def test_neither_water_is_judged_by_the_readings_of_the_other() -> None:
    shed = washing()
    with_second(shed, level=12, ph=8.4)
    assert shed.rules_up() == []
    assert shed.look().tank(1).condition is Condition.IN_LIMITS
    shed.read(1, 20, ph=7.0)
    assert up(shed, "chlorine-critical").level is Level.STOP
    shed.acid(1, 60, second=True)
    shed.wait(6).read(1, 50, ph=7.0, second=True)
    assert up(shed, "chlorine-critical").level is Level.STOP  # it is the old water that is bad


def test_gas_over_the_second_fill_stops_the_work_beside_it() -> None:
    shed = with_second(washing(), ph=4.5)
    flag = up(shed, "second-gas")
    assert flag.level is Level.STOP
    assert shed.look().tank(1).condition is Condition.STOP
    assert shed.plan().now.kind is StepKind.LEAVE
    assert shed.plan().now.second
    assert words(shed.plan().now).startswith("Second fill: step back and air the room")
    assert flag.never_shelved is not None


def test_gas_is_told_though_the_tank_itself_is_still_empty() -> None:
    shed = Shed(a_setup(a_tank(1, "First", second_volume_l=400.0)))
    with_second(shed, ph=4.5)
    assert shed.look().tank(1).condition is Condition.STOP
    assert [flag.rule for flag in shed.look().flags] == ["second-gas"]


# -- a change is near -----------------------------------------------------------------------------


def test_the_second_fill_is_asked_for_when_a_change_is_near_and_not_before() -> None:
    shed = washing(hours_per_fill=1.0)
    shed.dose(1, 80)  # so much that no dose is worth a hand
    shed.wait(30).read(1, 70, ph=7.0)
    assert shed.rules_up() == []
    shed.wait(6)
    flag = up(shed, "second-fill")
    assert flag.level is Level.WATCH
    assert say(flag.why, UnitSystem.METRIC) == "The second fill is not filled yet."
    assert any("may be used for" in say(one, UnitSystem.METRIC) for one in flag.more)
    half = washing(hours_per_fill=1.0)
    half.fill(1, 400.0, second=True)
    half.dose(1, 160, second=True)
    half.wait(30).read(1, 12, ph=8.4, second=True)
    half.wait(6)
    flag = up(half, "second-fill")
    lacking = [say(one, UnitSystem.METRIC) for one in (flag.why, *flag.more)]
    assert len(lacking) > 2  # level, pH, and why it is wanted
    assert "may be used for" in lacking[-1]
    assert "second-fill" in shed.plan().answers
    assert "Fill its vessel" in words(shed.plan().now)
    with_second(shed)
    assert "second-fill" not in shed.rules_up()
    assert shed.noted("change-near")


def test_a_tank_without_a_second_vessel_has_the_change_noted_as_ever() -> None:
    shed = washing(hours_per_fill=1.0, second_volume_l=None)
    shed.wait(36).read(1, 70, ph=7.0)
    assert shed.rules_up() == []
    assert shed.noted("change-near")


def test_batches_that_run_out_ask_for_the_second_fill_too() -> None:
    shed = washing(batches_per_fill=5)
    shed.wash(3)
    shed.read(1, 50, ph=7.0)
    assert shed.rules_up() == ["second-fill"]
    with_second(shed)
    shed.read(1, 50, ph=7.0)
    assert shed.rules_up() == []
    assert shed.noted("batches")


# -- what it vouches for --------------------------------------------------------------------------


def test_a_good_check_of_the_second_fill_vouches_for_nothing_washed_in_the_old_water() -> None:
    shed = washing()
    good, bad = shed.wash(2), []
    with_second(shed)
    bad += shed.wash(2)
    shed.read(1, 15, ph=7.0)
    expected = tuple(entry.seq for entry in (*good, *bad))
    assert in_question(shed) == expected
    shed.read(1, 50, ph=7.0, second=True)
    assert in_question(shed) == expected
    still = shed.wash(1)
    shed.swap()
    assert in_question(shed) == (*expected, still[0].seq)  # up to the swap
    shed.wash(3)
    assert in_question(shed) == (*expected, still[0].seq)  # and not after it


def test_a_swap_to_a_verified_second_fill_restores_good_water() -> None:
    shed = with_second(washing())
    shed.read(1, 15, ph=7.0)
    assert shed.look().tank(1).condition is Condition.STOP
    shed.swap()
    assert shed.look().tank(1).condition is Condition.IN_LIMITS
    assert shed.rules_up() == []
    assert since_last_good_check(shed.shift.tank(1)) == ()


def test_what_the_old_water_washed_is_not_since_the_last_good_check_of_the_new() -> None:
    shed = with_second(washing())
    shed.wash(2)
    shed.swap()
    assert since_last_good_check(shed.shift.tank(1)) == ()
    (after,) = shed.wash(1)
    assert since_last_good_check(shed.shift.tank(1)) == (after.seq,)


def test_a_swap_to_a_second_fill_that_was_never_measured_restores_nothing() -> None:
    shed = washing()
    shed.fill(1, 400.0, second=True)
    shed.dose(1, 160, second=True)
    shed.wait(2).swap()
    assert up(shed, "swap-unchecked").level is Level.ACT
    assert shed.plan().now.kind is StepKind.WAIT
    assert not shed.plan().feed
    shed.wait(6)
    assert shed.plan().now.kind is StepKind.CHECK
    assert "swap-unchecked" in shed.plan().answers
    washed = shed.wash(2)
    assert up(shed, "swap-unchecked").level is Level.STOP
    assert in_question(shed) == tuple(entry.seq for entry in washed)
    shed.read(1, 50, ph=7.0)
    assert "swap-unchecked" not in shed.rules_up()
    assert in_question(shed) == tuple(entry.seq for entry in washed)


def test_a_check_from_long_before_the_swap_vouches_for_nothing() -> None:
    shed = with_second(washing())
    shed.wait(61).read(1, 50, ph=7.0)
    shed.swap()
    assert up(shed, "swap-unchecked")
    assert shed.plan().now.kind is StepKind.CHECK
    washed = shed.wash(1)
    assert in_question(shed) == (washed[0].seq,)


def test_a_bad_level_of_the_second_fill_counts_as_soon_as_it_is_in_use() -> None:
    shed = with_second(washing(), level=12)
    shed.swap()
    assert up(shed, "chlorine-critical").level is Level.STOP
    washed = shed.wash(1)
    assert in_question(shed) == (washed[0].seq,)


def test_a_bad_check_after_the_swap_puts_nothing_in_question_that_the_old_water_washed() -> None:
    shed = washing()
    shed.fill(1, 400.0, second=True)
    shed.dose(1, 160, second=True)
    shed.wait(6).read(1, 50, ph=7.0, second=True)
    shed.wash(2)  # in the old water, after the good check of the second fill
    shed.read(1, 45, ph=7.0)
    shed.swap()
    washed = shed.wash(2)
    shed.read(1, 10, ph=7.0)
    assert in_question(shed) == tuple(entry.seq for entry in washed)


def test_a_swap_that_never_was_puts_what_was_washed_since_in_the_old_water() -> None:
    shed = with_second(washing())
    shed.read(1, 15, ph=7.0)
    swap = shed.swap()
    washed = shed.wash(2)
    assert in_question(shed) == ()
    shed.tell(Corrected(at=shed.now, by="RM", entry=swap.seq, reason="not swapped"))
    assert in_question(shed) == tuple(entry.seq for entry in washed)


def test_a_batch_that_was_let_go_is_asked_about_anew_where_its_swap_never_was() -> None:
    shed = with_second(washing())
    shed.read(1, 15, ph=7.0)
    swap = shed.swap()
    washed = tuple(entry.seq for entry in shed.wash(2))
    hold = shed.hold(washed[0])  # for another reason: what it met was good, as far as was known
    released = HoldReleased(
        at=shed.now, by="RM", hold=hold.seq, decision=Decision.RELEASE, reason="a stone was found"
    )
    shed.tell(released)
    tank = shed.shift.tank(1)
    assert to_hold(shed.shift, tank) == {}
    shed.tell(Corrected(at=shed.now, by="RM", entry=swap.seq, reason="not swapped"))
    tank = shed.shift.tank(1)
    assert tuple(to_hold(shed.shift, tank)) == washed
    again = shed.hold(*washed)
    shed.tell(replace(released, hold=again.seq))
    assert to_hold(shed.shift, shed.shift.tank(1)) == {}


def test_what_came_right_after_a_hold_was_not_known_when_it_was_placed() -> None:
    shed = with_second(washing())
    shed.read(1, 15, ph=7.0)
    swap = shed.swap()
    washed = tuple(entry.seq for entry in shed.wash(2))
    hold = shed.hold(*washed)  # for another reason: what they met was good, as far as was known
    shed.tell(Corrected(at=shed.now, by="RM", entry=swap.seq, reason="not swapped"))
    released = HoldReleased(
        at=shed.now, by="RM", hold=hold.seq, decision=Decision.RELEASE, reason="a stone was found"
    )
    shed.tell(released)
    assert tuple(to_hold(shed.shift, shed.shift.tank(1))) == washed


def test_a_late_bad_reading_of_the_second_fill_counts_against_what_it_washed() -> None:
    shed = washing()
    shed.fill(1, 400.0, second=True)
    shed.dose(1, 160, second=True)
    shed.wait(6).read(1, 50, ph=7.0, second=True)
    shed.wait(5).swap()
    washed = shed.wash(2)
    assert in_question(shed) == ()
    late = ReadingTaken(
        at=shed.now - timedelta(minutes=6),
        by="RM",
        tank=1,
        fac_mg_l=12.0,
        fac_method=Method.KIT,
        second=True,
    )
    shed.tell(late)
    assert in_question(shed) == tuple(entry.seq for entry in washed)


# -- how long it may be used ----------------------------------------------------------------------


def test_hours_of_use_count_from_the_swap_and_not_from_the_filling() -> None:
    shed = with_second(washing(hours_per_fill=1.0))
    shed.wait(50).read(1, 50, ph=7.0)
    shed.swap()
    shed.wait(35).read(1, 50, ph=7.0)
    assert "hours" not in shed.rules_up()
    shed.wait(26)
    assert "hours" in shed.rules_up()


def test_batches_of_a_fill_count_from_the_swap() -> None:
    shed = washing(batches_per_fill=5)
    shed.wash(4)
    with_second(shed)
    shed.swap()
    shed.wash(2)
    assert "batches" not in shed.rules_up()
