"""What a plan says in the ordinary course of a shift: now, then, until when."""

from datetime import timedelta

import pytest

from tests.planning.steps import amount_of, rise_mg_l, words
from tests.shed import START, Shed, a_peracetic_setup, a_setup, a_tank
from washmon.line.events import BatchWashed, Instrument, InstrumentChecked, Method, ReadingTaken
from washmon.line.flags import Condition, StepKind
from washmon.line.setup import Look, Stage, Unfit


def a_shed(fac: float = 70.0, **tank: object) -> Shed:
    """Return a shift on one tank that is so full that no dose is worth a hand."""
    shed = Shed(a_setup(a_tank(1, "Only", Stage.WASH, **tank)))
    shed.fill()
    shed.dose(ml=280)
    shed.wait(6).read(fac=fac, ph=7.0)
    return shed


def test_good_water_needs_nothing_and_says_when_to_read_it() -> None:
    shed = a_shed()
    read_at = shed.now
    plan = shed.plan()
    assert plan.now.kind is StepKind.LOOK
    assert plan.feed
    assert plan.answers == ()
    assert plan.due is not None
    assert plan.due.batches is not None
    assert 1 <= plan.due.batches <= 6  # as the set-up asks
    assert plan.due.at == read_at + timedelta(minutes=30)
    assert words(plan.now.say) == (
        f"Nothing to do. Check within {plan.due.batches} batches, by 07:36"
    )


def test_the_batches_until_the_next_check_count_down_to_the_check_and_never_to_none() -> None:
    shed = a_shed(check_minutes=None, check_batches=3)
    left = []
    while (plan := shed.plan()).now.kind is StepKind.LOOK:
        assert plan.due is not None
        assert plan.due.batches is not None
        left.append(plan.due.batches)
        assert len(left) < 9
        shed.wash(1)
    assert left == sorted(left, reverse=True)
    assert left[-1] >= 1
    assert plan.now.kind in {StepKind.CHECK, StepKind.DOSE}
    assert len(left) <= 3


def test_a_filled_tank_that_washes_nothing_is_not_fed() -> None:
    shed = Shed()
    assert not shed.plan().feed
    assert "Fill the tank" in words(shed.plan().now.say)
    shed.fill()
    assert not shed.plan().feed
    shed.dose(ml=280)
    shed.wait(6)
    assert shed.plan().now.kind is StepKind.CHECK
    assert not shed.plan().feed
    shed.read(fac=68)
    assert shed.plan().now.kind is StepKind.CHECK  # of the pH
    assert not shed.plan().feed
    shed.read(ph=7.0)
    assert shed.plan().feed


def test_an_overdue_check_is_the_plan() -> None:
    shed = a_shed(check_batches=6, check_minutes=None)
    shed.wash(6)
    plan = shed.plan()
    assert plan.now.kind is StepKind.CHECK
    assert "overdue" in plan.answers
    assert not plan.feed


def test_the_sooner_of_batches_and_clock_counts() -> None:
    shed = a_shed(check_batches=None, check_minutes=30.0)
    shed.wait(31)
    assert shed.plan().now.kind in {StepKind.CHECK, StepKind.DOSE}
    shed = a_shed(check_batches=2, check_minutes=300.0)
    plan = shed.plan()
    assert plan.due is not None
    assert plan.due.batches is not None
    assert plan.due.batches <= 2


@pytest.mark.parametrize("look", [None, Look.GONE])
def test_cloudy_water_is_changed_and_nothing_is_fed(look: Look | None) -> None:
    shed = a_shed()
    if look is None:
        shed.read(fac=68, ph=7.0, turbidity_ntu=70)
    else:
        shed.read(fac=68, ph=7.0, look=look)
    plan = shed.plan()
    assert plan.now.kind is StepKind.CHANGE_WATER
    assert plan.answers == ("cloudy",)
    assert not plan.feed


def test_water_past_its_batches_or_hours_is_changed_and_not_before() -> None:
    shed = a_shed(batches_per_fill=4, check_batches=None)
    shed.wash(3)
    shed.read(fac=70, ph=7.0)
    assert shed.plan().feed
    shed.wash(1)
    assert shed.plan().now.kind is StepKind.CHANGE_WATER
    assert not shed.plan().feed
    shed = a_shed(hours_per_fill=1.0)
    shed.wait(50).read(fac=70, ph=7.0)
    assert shed.plan().feed
    shed.wait(5)
    assert shed.plan().now.kind is StepKind.CHANGE_WATER


def test_a_dose_that_does_not_last_is_weighed_against_a_change_and_says_so() -> None:
    shed = a_shed()
    shed.wash(5)
    shed.read(fac=30, ph=7.0)
    plan = shed.plan()
    assert plan.now.kind is StepKind.DOSE
    (lost,) = plan.weighed
    assert lost.kind is StepKind.CHANGE_WATER
    assert "min of work" in words(lost.why)


def test_peracetic_water_is_asked_for_its_own_reading() -> None:
    shed = Shed(a_peracetic_setup())
    shed.fill()
    shed.dose(ml=170)
    shed.wait(6).read(paa_mg_l=56)
    assert shed.plan().feed
    shed.wash(6)
    assert words(shed.plan().now.say) == "Measure peracetic acid and cloudiness now"


def test_a_batch_that_stayed_too_short_is_held_alone() -> None:
    shed = a_shed(critical_contact_s=45.0)
    shed.wash(1, contact_s=60)
    (short,) = shed.wash(1, contact_s=30)
    shed.wash(1, contact_s=60)
    plan = shed.plan()
    assert plan.now.kind is StepKind.HOLD
    assert plan.now.batches == (short.seq,)


def test_a_batch_of_the_same_minute_as_a_good_check_is_held_if_it_was_entered_after_it() -> None:
    shed = a_shed()

    def wash() -> int:
        return shed.tell(BatchWashed(at=shed.now, by="RM", tanks=(1,), lot="L-1")).seq

    wash()
    shed.read(fac=65, ph=7.0)
    after = wash()
    shed.wait(1).read(fac=20, ph=7.0)
    shed.dose(ml=200)
    assert shed.plan().now.batches == (after,)


def test_what_an_unfit_meter_read_is_read_anew_or_the_meter_set_right() -> None:
    shed = a_shed()
    shed.wait(1).tell(ReadingTaken(at=shed.now, by="RM", tank=1, ph=7.0, ph_method=Method.METER))
    failed = InstrumentChecked(
        at=shed.now, by="RM", instrument=Instrument.PH_METER, standard=7.0, found=7.9, fit=False
    )
    shed.tell(failed)
    plan = shed.plan()
    assert plan.now.kind is StepKind.VERIFY
    assert plan.answers == ("instrument-unfit",)
    right = InstrumentChecked(
        at=shed.wait(1).now, by="RM", instrument=Instrument.PH_METER, standard=7.0, found=7.0
    )
    shed.tell(right)
    assert shed.plan().now.kind is StepKind.CHECK  # it read before it was right


def test_an_instrument_left_unfit_by_an_earlier_shift_changes_no_first_step() -> None:
    left = Unfit(instrument="pH meter", since=START.date() - timedelta(days=1))
    shed = Shed(a_setup(a_tank(1, "Only"), instruments_unfit=(left,)))
    calm = Shed(a_setup(a_tank(1, "Only")))
    shed.fill()
    calm.fill()
    assert shed.plan().now == calm.plan().now
    assert shed.noted("instrument-unfit")


def test_a_finding_that_no_hand_mends_leaves_the_plan_alone() -> None:
    shed = a_shed()
    before = shed.plan().now
    shed.read(fac=70, ph=7.0, total_mg_l=150)
    assert shed.noted("combined-high")
    assert shed.look().tank(1).condition is Condition.IN_LIMITS
    assert shed.plan().now == before


def test_no_dose_rests_on_a_reading_that_is_in_doubt() -> None:
    shed = a_shed(fac=50, check_batches=30, check_minutes=None)
    for _ in range(3):
        shed.wash(4)
        shed.wait(1).read(fac=50, ph=7.0)
    assert shed.flag("reading-repeats")
    plan = shed.plan()
    assert plan.now.kind is StepKind.CHECK
    assert plan.answers == ("reading-repeats",)


def test_a_rise_with_nothing_put_in_is_tested_once_more() -> None:
    shed = a_shed(fac=45)
    shed.wash(1)
    shed.wait(1).read(fac=72, ph=7.0)
    assert shed.flag("reading-jumps")
    plan = shed.plan()
    assert plan.now.kind is StepKind.CHECK
    assert "Test once more" in words(plan.now.say)
    shed.wait(1).read(fac=71, ph=7.0)
    assert shed.plan().now.kind is not StepKind.CHECK


def test_what_is_out_of_date_is_seen_to_once_nothing_else_is_to_be_done() -> None:
    shed = Shed(a_setup(a_tank(1, "Only"), meter_checked_on=START.date() - timedelta(days=30)))
    shed.fill()
    shed.dose(ml=280)
    shed.wait(6).read(fac=30, ph=7.0, ph_method=Method.METER)
    assert {"meter-unchecked", "chlorine-low"} <= set(shed.rules_up())
    assert shed.plan().now.kind is StepKind.DOSE
    shed.dose(ml=140)
    shed.wait(6).read(fac=70, ph=7.0, ph_method=Method.METER)
    plan = shed.plan()
    assert plan.now.kind is StepKind.VERIFY
    assert plan.answers == ("meter-unchecked",)
    assert plan.feed


def _read_at(fac: float, ph: float) -> Shed:
    shed = Shed(a_setup(a_tank(1, "Only")))
    shed.fill()
    shed.read(fac=fac, ph=ph)
    return shed


def test_a_ph_that_rose_by_itself_is_read_once_more_before_any_acid() -> None:
    shed = _read_at(50, 7.0)
    shed.wait(10).read(fac=50, ph=9.0)
    plan = shed.plan()
    assert plan.now.kind is StepKind.CHECK
    assert "once more" in words(plan.now.say)
    shed.wait(2).read(fac=50, ph=9.0)
    assert shed.plan().now.kind is StepKind.ACID


def test_a_level_far_under_what_was_expected_is_dosed_as_if_it_might_be_a_slip() -> None:
    """A wild 0 in water of 50 must not bring it over the label of 100."""
    shed = _read_at(50, 7.0)
    shed.wash(1)
    shed.wait(2).read(fac=48, ph=7.0)
    shed.wait(2).read(fac=0, ph=7.0)
    plan = shed.foresee().tank(1).plan
    if plan.now.kind is StepKind.DOSE:
        ml = amount_of(plan)
        assert 50 + rise_mg_l(ml) <= 100


def test_a_dose_once_said_stands_while_a_reading_leaves_it_right() -> None:
    """Whoever went to measure it out must not find another amount for a difference of nothing."""
    shed = a_shed(fac=45.0)
    said = shed.plan().now
    assert said.kind is StepKind.DOSE
    shed.wait(8).read(fac=45.0, ph=7.0)
    shed.plan()
    shed.wait(8).read(fac=44.6, ph=7.0)  # the second reading said it anew
    assert shed.plan().now == said


@pytest.mark.parametrize("fac", [20.0, 74.0])
def test_a_dose_once_said_goes_where_a_reading_leaves_it_wrong(fac: float) -> None:
    """Too little for what is lacking now, or so much that it would go over the operating high."""
    shed = a_shed(fac=45.0)
    said = amount_of(shed.plan())
    shed.wait(2).read(fac=fac, ph=7.0, method=Method.METER)
    plan = shed.plan()
    if fac < 25:
        assert amount_of(plan) > 1.2 * said
    else:
        assert plan.now.kind is not StepKind.DOSE or amount_of(plan) < 0.5 * said


def test_nothing_to_do_stands_after_each_reading_that_said_so() -> None:
    shed = a_shed()
    for fac in (70.0, 69.5, 69.0, 68.8):
        assert shed.plan().now.kind is StepKind.LOOK
        shed.wait(6).read(fac=fac, ph=7.0)
    assert shed.plan().now.kind is StepKind.LOOK
