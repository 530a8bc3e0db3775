"""One thing at a time: what goes in is mixed and read before what may not meet it goes in."""

from datetime import timedelta

import pytest

from tests.planning.steps import ADDITIONS, READ_AGAIN, amount_of, rise_mg_l, words
from tests.shed import Shed
from washmon.line.flags import Caution, Level, StepKind


def a_dosed_shed(fac: float = 50.0, ph: float = 7.0) -> Shed:
    shed = Shed()
    shed.fill()
    shed.dose(ml=200)
    shed.wait(6).read(fac=fac, ph=ph)
    return shed


def test_a_level_that_presses_goes_before_a_ph_that_is_watched() -> None:
    # Hypochlorite and acid must never meet undiluted: chlorine gas (product labels; US EPA and
    # CDC warn of mixing bleach with acids). So one of the two waits, and the stop is not it.
    for fac in (20.0, 31.0):
        shed = a_dosed_shed()
        shed.wait(5).read(fac=fac, ph=7.8)
        up = {flag.rule: flag.level for flag in shed.look().flags}
        assert up["ph-high"] is Level.WATCH
        plan = shed.plan()
        assert plan.now.kind is StepKind.DOSE
        assert "ph-high" not in plan.answers


def test_while_a_dose_mixes_no_acid_is_asked_for_and_the_other_way_round() -> None:
    for first, kept_back in (("dose", StepKind.ACID), ("acid", StepKind.DOSE)):
        shed = a_dosed_shed()
        shed.wait(5).read(fac=31, ph=8.3)
        (shed.dose if first == "dose" else shed.acid)(ml=60)
        for _ in range(5):  # the mixing time is five minutes
            assert shed.plan().now.kind is not kept_back
            shed.wait(0.9).read(fac=31, ph=8.3)
            assert shed.plan().now.kind is not kept_back


def test_after_acid_mixed_and_was_measured_the_dose_is_told() -> None:
    shed = a_dosed_shed()
    shed.wait(5).read(fac=31, ph=7.8)
    shed.acid()
    shed.wait(6).read(fac=31, ph=7.1)
    plan = shed.plan()
    assert plan.answers == ("chlorine-low",)
    assert 0.95 * (50 - 31) <= rise_mg_l(amount_of(plan)) <= 75 - 31


def test_nothing_is_added_to_water_that_gives_off_gas() -> None:
    shed = a_dosed_shed()
    shed.wait(5).read(fac=31, ph=4.6)
    plan = shed.plan()
    assert plan.now.kind is StepKind.LEAVE
    assert plan.now.amount is None
    assert Caution.HYPOCHLORITE not in plan.now.cautions


@pytest.mark.parametrize("fac", [10.0, 24.0])
def test_a_stop_is_dosed_at_once_and_what_was_washed_is_held_while_the_dose_mixes(
    fac: float,
) -> None:
    shed = a_dosed_shed()
    washed = [entry.seq for entry in shed.wash(2)]
    shed.read(fac=fac, ph=7.0)
    plan = shed.plan()
    assert "chlorine-critical" in plan.answers
    assert not plan.feed
    shed.dose(ml=amount_of(plan))
    plan = shed.plan()
    assert plan.now.kind is StepKind.HOLD
    assert list(plan.now.batches) == washed
    assert plan.answers == ("hold",)
    shed.hold(*plan.now.batches)
    plan = shed.plan()
    assert plan.now.kind is StepKind.WAIT
    assert plan.wait_until == shed.now + timedelta(minutes=5)
    assert not plan.feed
    shed.wait(6)
    assert shed.plan().now.kind is StepKind.CHECK
    assert not shed.plan().feed
    shed.read(fac=60, ph=7.0)
    assert shed.plan().feed


def test_a_stop_is_over_only_when_a_reading_in_mixed_water_says_so() -> None:
    shed = a_dosed_shed()
    shed.wash(1)
    shed.read(fac=20, ph=7.0)
    shed.dose(ml=200)
    shed.wait(0.2).read(fac=60, ph=7.0)
    assert not shed.plan().feed
    shed.wait(6)
    assert not shed.plan().feed
    shed.read(fac=60, ph=7.0)
    shed.hold(*shed.plan().now.batches)
    assert shed.plan().feed


def test_a_dose_is_not_asked_for_twice_when_acid_came_after_it() -> None:
    shed = a_dosed_shed()
    shed.read(fac=31, ph=7.0)
    shed.dose(ml=76)
    shed.wait(1).acid()
    shed.wait(6).read(ph=7.0)
    assert shed.plan().now.kind not in ADDITIONS


def test_the_starting_dose_is_not_asked_for_twice_when_acid_came_after_it() -> None:
    shed = Shed()
    shed.fill()
    shed.dose(ml=200)
    shed.wait(1).acid()
    shed.wait(6).read(ph=7.0)
    assert shed.plan().now.kind in READ_AGAIN


def test_a_wait_is_a_countdown_and_not_a_flag() -> None:
    shed = a_dosed_shed()
    shed.read(fac=31, ph=7.0)
    shed.dose(ml=100)
    plan = shed.plan()
    assert plan.wait_until == shed.now + timedelta(minutes=5)
    assert words(plan.now.say).startswith("Stir, wait until ")
    assert shed.rules_up() == []


def test_water_that_is_good_enough_is_washed_in_while_a_dose_mixes() -> None:
    shed = a_dosed_shed(fac=55)
    shed.dose(ml=60)
    plan = shed.plan()
    assert plan.feed
    assert plan.now.kind is StepKind.LOOK
    assert plan.wait_until == shed.now + timedelta(minutes=5)
