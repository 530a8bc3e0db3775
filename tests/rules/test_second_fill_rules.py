"""The second fill in the rules: its next step, what it vouches for, when it is asked for."""

from datetime import timedelta
from typing import NamedTuple

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from tests.shed import Shed, a_peracetic_setup, a_setup, a_tank
from washmon.line.events import (
    Corrected,
    Decision,
    HoldReleased,
    Instrument,
    InstrumentChecked,
    Method,
    ReadingTaken,
)
from washmon.line.flags import Condition, Flag, Level, Step, StepKind
from washmon.line.message import say
from washmon.line.setup import Stage
from washmon.rules.base import Second
from washmon.rules.in_question import batches_in_question, since_last_good_check, to_hold
from washmon.units import Taste


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
    return say(step.say, Taste.METRIC).replace("\N{NO-BREAK SPACE}", " ")


def up(shed: Shed, rule: str) -> Flag:
    flag = shed.flag(rule)
    assert flag is not None
    return flag


def in_question(shed: Shed) -> tuple[int, ...]:
    return batches_in_question(shed.shift.tank(1))


# -- its own next step ----------------------------------------------------------------------------


def test_a_tank_without_a_second_vessel_has_nothing_said_of_a_second_fill() -> None:
    shed = Shed()
    shed.fill(1)
    assert shed.look().tank(1).second is None


def test_the_second_fill_is_led_from_empty_to_ready_one_step_at_a_time() -> None:
    shed = washing()
    assert words(second(shed).step).startswith("Second fill: Fill its vessel (400 L)")
    shed.fill(1, 400.0, second=True)
    dose = second(shed).step
    assert dose.kind is StepKind.DOSE
    assert dose.second
    assert dose.amount is not None
    # 400 L to 50 mg/L take 20 g of chlorine: 160 mL of 125 g/L (12.5 trade %), by mass balance.
    assert dose.amount.value == pytest.approx(160, rel=0.01)
    assert words(dose).startswith("Second fill: Add 160 mL hypochlorite")
    shed.dose(1, 160, second=True)
    assert second(shed).step.kind is StepKind.WAIT
    shed.wait(6)
    assert second(shed).step.kind is StepKind.CHECK
    shed.read(1, 50, ph=8.4, second=True)
    acid = second(shed).step
    assert acid.kind is StepKind.ACID
    shed.acid(1, 60, second=True)
    assert second(shed).step.kind is StepKind.WAIT
    shed.wait(6).read(1, 48, ph=7.1, second=True)
    assert second(shed).ready
    assert words(second(shed).step) == "Second fill: ready"


def test_a_second_fill_asks_for_the_dose_and_the_acid_never_together() -> None:
    shed = with_second(washing(), level=30, ph=8.5)
    assert second(shed).step.kind is StepKind.ACID
    shed.acid(1, 60, second=True)
    shed.wait(6).read(1, 30, ph=7.0, second=True)
    assert second(shed).step.kind is StepKind.DOSE


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


def test_the_old_water_asks_for_its_dose_while_the_second_fill_mixes() -> None:
    shed = washing()
    shed.fill(1, 400.0, second=True)
    shed.read(1, 30, ph=7.0)
    shed.dose(1, 160, second=True)
    flag = up(shed, "chlorine-low")
    assert flag.step.kind is StepKind.DOSE
    assert not flag.step.second


def test_water_that_waited_over_an_hour_is_to_be_measured_again() -> None:
    shed = with_second(washing())
    shed.wait(61)
    assert not second(shed).ready
    assert words(second(shed).step) == "Second fill: Measure free chlorine and pH now"


def test_gas_over_the_second_fill_stops_the_work_beside_it() -> None:
    shed = with_second(washing(), ph=4.5)
    flag = up(shed, "second-gas")
    assert flag.level is Level.STOP
    assert flag.step.kind is StepKind.LEAVE
    assert words(flag.step).startswith("Second fill: Step back and air the room")
    assert shed.look().tank(1).condition is Condition.STOP
    assert shed.look().tank(1).step.kind is StepKind.LEAVE
    assert flag.never_shelved is not None


def test_gas_is_told_though_the_tank_itself_is_still_empty() -> None:
    shed = Shed(a_setup(a_tank(1, "First", second_volume_l=400.0)))
    with_second(shed, ph=4.5)
    assert shed.look().tank(1).condition is Condition.STOP
    assert [flag.rule for flag in shed.look().flags] == ["second-gas"]


def test_acid_in_one_water_and_hypochlorite_in_the_other_are_not_asked_for_at_once() -> None:
    shed = washing(hours_per_fill=0.5)
    shed.wait(20)
    shed.fill(1, 400.0, second=True)  # asks for its dose
    shed.read(1, 50, ph=8.3)  # asks for acid
    assert up(shed, "ph-high").step.kind is StepKind.ACID
    flag = up(shed, "second-fill")
    assert flag.step.kind is StepKind.LOOK
    assert "Add nothing for this yet" in words(flag.step)
    assert shed.look().tank(1).step.kind is StepKind.ACID


class Both(NamedTuple):
    """What may be read of the water in use and of the second fill, and what was added last."""

    level: float
    ph: float
    second_level: float
    second_ph: float
    added: str


BOTH = st.builds(
    Both,
    st.floats(0, 120),
    st.floats(4.5, 10),
    st.floats(0, 120),
    st.floats(4.5, 10),
    st.sampled_from(["", "dose", "acid", "second dose", "second acid"]),
)


@given(BOTH)
@settings(max_examples=200, deadline=None)
def test_acid_and_hypochlorite_are_never_advised_together_at_a_tank_and_its_second_fill(
    both: Both,
) -> None:
    # Hypochlorite and acid together make chlorine gas: product labels; two waters side by side
    # are filled from the same two containers.
    shed = washing(hours_per_fill=0.5)
    shed.fill(1, 400.0, second=True)
    shed.wait(14)
    if both.added:
        beside = both.added.startswith("second")
        (shed.acid if both.added.endswith("acid") else shed.dose)(1, 30, second=beside)
    for minutes in (1, 6):
        shed.wait(minutes).read(1, both.level, ph=both.ph)
        shed.read(1, both.second_level, ph=both.second_ph, second=True)
        said = shed.look().tank(1)
        assert said.second is not None
        steps = [flag.step for flag in said.flags]
        asked = {step.kind for step in (said.step, said.second.step, *steps)}
        assert not {StepKind.ACID, StepKind.DOSE} <= asked
        if StepKind.LEAVE in asked:
            assert not {StepKind.ACID, StepKind.DOSE} & asked
        if said.second.ready:
            assert both.second_level >= 35
            assert 6.5 <= both.second_ph <= 7.5


def test_a_second_fill_that_was_measured_with_an_unfit_instrument_is_not_ready() -> None:
    shed = with_second(washing())
    assert second(shed).ready
    failed = InstrumentChecked(
        at=shed.wait(1).now,
        by="RM",
        instrument=Instrument.CHLORINE,
        standard=50.0,
        found=80.0,
        fit=False,
    )
    shed.tell(failed)
    assert not second(shed).ready
    assert second(shed).step.kind is StepKind.VERIFY
    shed.wait(1).read(1, 50, method=Method.STRIP, second=True)
    assert second(shed).ready


# -- a change is near -----------------------------------------------------------------------------


def test_the_second_fill_is_asked_for_when_a_change_is_near_and_not_before() -> None:
    shed = washing(hours_per_fill=1.0)
    shed.wait(30).read(1, 50, ph=7.0)
    assert shed.rules_up() == []
    shed.wait(6)
    flag = up(shed, "second-fill")
    assert flag.level is Level.WATCH
    assert say(flag.why, Taste.METRIC) == "The second fill is not filled yet."
    assert "Fill its vessel" in words(flag.step)
    assert any("may be used for" in say(one, Taste.METRIC) for one in flag.more)
    assert "change-near" not in shed.rules_up()
    assert shed.look().tank(1).step == flag.step
    with_second(shed)
    assert "second-fill" not in shed.rules_up()
    assert words(up(shed, "change-near").step).startswith("The second fill is ready")


def test_a_tank_without_a_second_vessel_is_told_of_the_change_as_ever() -> None:
    shed = washing(hours_per_fill=1.0, second_volume_l=None)
    shed.wait(36).read(1, 50, ph=7.0)
    assert shed.rules_up() == ["change-near"]
    assert words(up(shed, "change-near").step) == "Have fresh water and its first dose ready"


def test_batches_that_run_out_ask_for_the_second_fill_too() -> None:
    shed = washing(batches_per_fill=5)
    shed.wash(3)
    shed.read(1, 50, ph=7.0)
    assert shed.rules_up() == ["second-fill"]
    with_second(shed)
    shed.read(1, 50, ph=7.0)
    flag = up(shed, "batches")
    assert words(flag.step) == "The second fill is ready: 2 batches left in this one"


@pytest.mark.parametrize("ready", [True, False])
def test_a_change_that_is_due_is_a_swap_where_the_second_fill_is_ready(*, ready: bool) -> None:
    shed = washing()
    if ready:
        with_second(shed)
    shed.read(1, 50, ph=7.0, turbidity_ntu=70.0)
    flag = up(shed, "cloudy")
    assert flag.step.kind is StepKind.CHANGE_WATER
    assert flag.step.second is ready
    assert words(flag.step).startswith("Swap in" if ready else "Change the water")
    assert flag.more  # what takes the chlorine out of the old water before it is let go
    assert ("second-fill" in shed.rules_up()) is not ready


def test_the_next_step_of_the_water_in_use_comes_before_that_of_the_second_fill() -> None:
    shed = washing(hours_per_fill=0.5)
    shed.wait(15).read(1, 30, ph=7.0)
    shed.fill(1, 400.0, second=True)
    step = shed.look().tank(1).step
    assert step.kind is StepKind.DOSE
    assert not step.second
    assert up(shed, "second-fill").step.second


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


def test_a_swap_to_a_second_fill_that_was_never_measured_restores_nothing() -> None:
    shed = washing()
    shed.fill(1, 400.0, second=True)
    shed.dose(1, 160, second=True)
    shed.wait(2).swap()
    flag = up(shed, "swap-unchecked")
    assert (flag.level, flag.step.kind) == (Level.ACT, StepKind.WAIT)
    shed.wait(6)
    assert up(shed, "swap-unchecked").step.kind is StepKind.CHECK
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
    assert up(shed, "swap-unchecked").step.kind is StepKind.CHECK
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


def test_a_peracetic_second_fill_is_led_the_same_way() -> None:
    setup = a_peracetic_setup()
    tank = replace(setup.tanks[0], second_volume_l=400.0)
    shed = Shed(replace(setup, tanks=(tank,)))
    shed.fill(1)
    shed.fill(1, 400.0, second=True)
    dose = second(shed).step
    assert dose.kind is StepKind.DOSE
    assert dose.amount is not None
    shed.dose(1, dose.amount.value, second=True)
    shed.wait(6)
    shed.tell(ReadingTaken(at=shed.now, by="RM", tank=1, paa_mg_l=50.0, second=True))
    assert second(shed).ready
