"""The plan of a tank that has a second fill beside it: what of both waters is done first."""

from itertools import pairwise
from typing import NamedTuple

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from tests.planning.steps import ADDITIONS, amount_of, rise_mg_l, steps, words
from tests.shed import Shed, a_peracetic_setup, a_setup, a_tank
from tests.some import some
from washmon.line.events import Instrument, InstrumentChecked, Method
from washmon.line.flags import Step, StepKind
from washmon.line.setup import Stage
from washmon.rules.base import Second


def washing(level: float = 70.0, **tank: object) -> Shed:
    """Return a shed that washes in water that needs nothing; the second vessel, 400 L, is empty."""
    changes = {"second_volume_l": 400.0, **tank}
    shed = Shed(a_setup(a_tank(1, "First", Stage.WASH, **changes), a_tank(2, "Other")))
    shed.fill(1)
    shed.dose(1, 280)
    shed.wait(6).read(1, level, ph=7.0)
    return shed


def with_second(shed: Shed, level: float = 60, ph: float = 7.0) -> Shed:
    shed.fill(1, 400.0, second=True)
    shed.dose(1, 160, second=True)
    shed.wait(6).read(1, level, ph=ph, second=True)
    return shed


def second(shed: Shed) -> Second:
    found = shed.look().tank(1).second
    assert found is not None
    return found


def its_step(shed: Shed) -> Step:
    step = second(shed).step
    assert step is not None
    assert step.second
    assert words(step.say).startswith("Second fill: ")
    return step


def test_the_second_fill_is_led_from_empty_to_ready_one_step_at_a_time() -> None:
    shed = washing()
    assert words(its_step(shed).say).startswith("Second fill: Fill its vessel (400 L)")
    shed.fill(1, 400.0, second=True)
    dose = its_step(shed)
    assert dose.kind is StepKind.DOSE
    assert dose.amount is not None
    # Mass balance: 400 L are to be between 50 and 75 mg/L.
    assert 50 <= rise_mg_l(dose.amount.value, volume_l=400.0) <= 75
    shed.dose(1, dose.amount.value, second=True)
    assert its_step(shed).kind is StepKind.WAIT
    shed.wait(6)
    assert its_step(shed).kind is StepKind.CHECK
    shed.read(1, 68, ph=8.4, second=True)
    shed.read(1, 70, ph=7.0)  # the tank itself needs nothing
    acid = its_step(shed)
    assert acid.kind is StepKind.ACID
    shed.acid(1, 60, second=True)
    assert its_step(shed).kind is StepKind.WAIT
    shed.wait(6).read(1, 66, ph=7.1, second=True)
    assert second(shed).ready
    assert words(its_step(shed).say) == "Second fill: ready"


def test_a_peracetic_second_fill_is_led_the_same_way() -> None:
    setup = a_peracetic_setup()
    tank = replace(setup.tanks[0], second_volume_l=400.0)
    shed = Shed(replace(setup, tanks=(tank,)))
    shed.fill(1)
    shed.fill(1, 400.0, second=True)
    dose = its_step(shed)
    assert dose.kind is StepKind.DOSE
    assert dose.amount is not None
    shed.dose(1, dose.amount.value, second=True)
    shed.wait(6).read(1, paa_mg_l=50.0, second=True)
    assert second(shed).ready


def test_a_second_fill_is_asked_for_the_dose_and_the_acid_one_after_the_other() -> None:
    shed = with_second(washing(), level=30, ph=8.5)
    seen = []
    for _ in range(8):
        if second(shed).ready:
            break
        step = its_step(shed)
        seen.append(step.kind)
        match step.kind:
            case StepKind.DOSE:
                shed.dose(1, 120, second=True)
            case StepKind.ACID:
                shed.acid(1, 200, second=True)
            case StepKind.WAIT:
                shed.wait(6)
            case StepKind.CHECK:
                ph = 7.2 if StepKind.ACID in seen else 8.5
                shed.read(1, 60 if StepKind.DOSE in seen else 30, ph=ph, second=True)
                shed.read(1, 70, ph=7.0)
            case other:
                raise AssertionError(other)
    assert second(shed).ready
    assert {StepKind.DOSE, StepKind.ACID} <= set(seen)
    added = [kind for kind in seen if kind in {StepKind.DOSE, StepKind.ACID, StepKind.WAIT}]
    assert all({one, two} != ADDITIONS for one, two in some(pairwise(added)))


def test_the_old_water_asks_for_its_dose_while_the_second_fill_mixes() -> None:
    shed = washing()
    shed.fill(1, 400.0, second=True)
    shed.read(1, 30, ph=7.0)
    shed.dose(1, 160, second=True)
    plan = shed.plan()
    assert plan.now.kind is StepKind.DOSE
    assert not plan.now.second


def test_acid_in_one_water_and_hypochlorite_in_the_other_are_not_asked_for_at_once() -> None:
    shed = washing(hours_per_fill=0.5)
    shed.wait(20)
    shed.fill(1, 400.0, second=True)  # asks for its dose
    shed.read(1, 70, ph=8.3)
    shed.wait(1).read(1, 70, ph=8.3)  # asks for acid, once it was read again
    assert shed.plan().now.kind is StepKind.ACID
    assert its_step(shed).kind is StepKind.LOOK
    assert "Add nothing for this yet" in words(its_step(shed).say)


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
@settings(max_examples=150, deadline=None)
def test_acid_and_hypochlorite_are_never_advised_together_at_a_tank_and_its_second_fill(
    both: Both,
) -> None:
    # Hypochlorite and acid together make chlorine gas: product labels; two waters side by side
    # are filled from the same two containers.
    shed = washing(50, hours_per_fill=0.5)
    shed.fill(1, 400.0, second=True)
    shed.wait(14)
    if both.added:
        beside = both.added.startswith("second")
        (shed.acid if both.added.endswith("acid") else shed.dose)(1, 30, second=beside)
        against = StepKind.DOSE if both.added.endswith("acid") else StepKind.ACID
        assert against not in steps(shed.look().tank(1))
    for minutes in (1, 6):
        shed.wait(minutes).read(1, both.level, ph=both.ph)
        shed.read(1, both.second_level, ph=both.second_ph, second=True)
        said = shed.look().tank(1)
        asked = steps(said)
        assert not asked >= ADDITIONS
        if both.added and minutes == 1:  # of five to mix in
            assert against not in asked
        if StepKind.LEAVE in asked:
            assert not asked & ADDITIONS
        if said.second is not None and said.second.ready:
            assert both.second_level >= 35
            assert 6.5 <= both.second_ph <= 7.5


def test_water_that_waited_over_an_hour_is_to_be_measured_again() -> None:
    shed = with_second(washing())
    shed.wait(61)
    assert not second(shed).ready
    assert words(its_step(shed).say) == "Second fill: Measure free chlorine and pH now"


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
    assert its_step(shed).kind is StepKind.VERIFY
    shed.wait(1).read(1, 50, method=Method.STRIP, second=True)
    assert second(shed).ready


@pytest.mark.parametrize("ready", [True, False])
def test_a_change_that_is_due_is_a_swap_where_the_second_fill_is_ready(*, ready: bool) -> None:
    shed = washing()
    if ready:
        with_second(shed)
    shed.read(1, 70, ph=7.0, turbidity_ntu=70.0)
    plan = shed.plan()
    assert plan.now.kind is StepKind.CHANGE_WATER
    assert "cloudy" in plan.answers
    assert not plan.feed
    assert plan.now.second is ready
    assert words(plan.now.say).startswith("Swap in" if ready else "Change the water")
    assert ("second-fill" in shed.rules_up()) is not ready


def test_the_step_of_the_water_in_use_comes_before_that_of_the_second_fill() -> None:
    shed = washing(hours_per_fill=0.5)
    shed.wait(15).read(1, 30, ph=7.0)
    shed.fill(1, 400.0, second=True)
    plan = shed.plan()
    assert amount_of(plan) > 0
    assert not plan.now.second
    assert "second-fill" not in plan.answers


def test_a_stopped_tank_with_a_fill_ready_beside_it_is_swapped_and_not_dosed() -> None:
    shed = with_second(washing())
    shed.wash(1)
    shed.wait(5).read(1, 20, ph=7.0)
    plan = shed.plan()
    assert plan.now.kind is StepKind.CHANGE_WATER
    assert plan.now.second
    assert not plan.feed
    assert "chlorine-critical" in plan.answers


def test_water_that_is_to_be_changed_is_not_dosed_before() -> None:
    shed = washing(hours_per_fill=0.5)
    shed.wait(40).read(1, 30, ph=7.0)
    assert {"hours", "chlorine-low"} <= set(shed.rules_up())
    assert shed.plan().now.kind is StepKind.CHANGE_WATER
