"""The summary against numpy, against a count second by second, and against shifts told by hand."""

import msgspec
import numpy as np
import pytest
from hypothesis import given, settings

from tests.reports.telling import told_shifts
from tests.shed import Shed, a_setup, a_tank
from tests.some import some
from washmon.line.events import (
    BatchWashed,
    Corrected,
    Decision,
    DoseAdded,
    Event,
    HoldPlaced,
    HoldReleased,
    ReadingTaken,
    ShiftEnded,
    TankFilled,
    WaterExchanged,
)
from washmon.line.flag_events import FlagsChanged
from washmon.line.flags import StepKind
from washmon.line.state import ShiftState, TankState
from washmon.reports.summary import VERSION, TankSummary, read_summary, summary_bodies
from washmon.reports.summing import summarize, tanks_of


def first(shed: Shed) -> TankSummary:
    return summarize(shed.shift)[0]


@given(told_shifts(looked=False))
@settings(deadline=None)
def test_shares_and_spreads_keep_their_order(shift: ShiftState) -> None:
    for summary in summarize(shift):
        for measured in (summary.fac, summary.ph):
            if measured is not None:
                assert measured.lowest <= measured.median <= measured.highest
                assert 0 <= measured.within <= measured.at_least_critical <= 1
                assert 1 <= measured.count <= summary.readings
        for time in (summary.fac_time, summary.ph_time):
            if time is not None:
                parts = (time.within, time.outside, time.unknown)
                assert all(0 <= part <= 1 for part in parts)
                assert sum(parts) == pytest.approx(1)
                assert 0 <= time.critical <= time.outside
                assert 0 <= time.longest_gap_s <= time.watched_s
        assert summary.open_holds + len(summary.decisions) == summary.holds
        assert summary.water_l == pytest.approx(500 * summary.fills + 100 * summary.exchanges)


@given(told_shifts(looked=False))
@settings(deadline=None)
def test_spreads_agree_with_numpy(shift: ShiftState) -> None:
    for tank, summary in zip(shift.tanks, summarize(shift), strict=True):
        for field, measured in (("fac_mg_l", summary.fac), ("ph", summary.ph)):
            values = [
                value
                for fill in tank.fills
                for placed in fill.readings
                if (value := getattr(placed.event, field)) is not None
            ]
            if not values:
                assert measured is None
                continue
            assert measured is not None
            found = (measured.lowest, measured.median, measured.highest)
            assert found == pytest.approx(tuple(np.percentile(values, [0, 50, 100])))


@given(told_shifts(looked=False))
@settings(max_examples=60, deadline=None)
def test_time_in_limits_agrees_with_a_count_of_every_second(shift: ShiftState) -> None:
    for tank, summary in zip(shift.tanks, summarize(shift), strict=True):
        seconds = second_by_second(shift, tank)
        if not seconds:
            assert summary.fac_time is None
            continue
        time = summary.fac_time
        assert time is not None
        total = len(seconds)
        known = [value for value in seconds if value is not None]
        assert time.watched_s == total
        assert time.within == pytest.approx(
            sum(35 <= round(value) <= 75 for value in known) / total
        )
        assert time.critical == pytest.approx(sum(round(value) < 25 for value in known) / total)
        assert time.unknown == pytest.approx((total - len(known)) / total)


def second_by_second(shift: ShiftState, tank: TankState) -> list[float | None]:
    """What is known of free chlorine in each second of use, by looking back from each."""
    end = (max(shift.ended.at, shift.last_at) if shift.ended else shift.last_at).timestamp()
    lasts = (tank.spec.check_minutes or 1e9) * 60
    fills: list[list[tuple[float, Event]]] = []
    for event in as_corrected(shift):
        if isinstance(event, TankFilled) and event.tank == tank.number:
            fills.append([])
        if tank.number in tanks_of(event) and fills:
            fills[-1].append((event.at.timestamp(), event))
    told: list[float | None] = []
    for number, fill in enumerate(fills):
        close = fills[number + 1][0][0] if number + 1 < len(fills) else end
        used = [at for at, one in fill if isinstance(one, ReadingTaken | BatchWashed)]
        for second in range(int(min(used, default=close)), int(close)):
            value, since = None, 0.0
            for at, one in fill:
                if at > second:
                    break
                if isinstance(one, DoseAdded | WaterExchanged):
                    value = None
                elif isinstance(one, ReadingTaken) and one.fac_mg_l is not None:
                    value, since = one.fac_mg_l, at
            told.append(value if second - since < lasts else None)
    return told


def as_corrected(shift: ShiftState) -> list[Event]:
    events: dict[int, Event] = {
        entry.seq: entry.event
        for entry in shift.entries
        if not isinstance(entry.event, FlagsChanged | HoldPlaced | Corrected)
    }
    for entry in shift.entries:
        if isinstance(entry.event, Corrected):
            if entry.event.instead is None:
                events.pop(entry.event.entry, None)
            else:
                events[entry.event.entry] = entry.event.instead
    return [event for _, event in sorted(events.items(), key=lambda one: (one[1].at, one[0]))]


def test_a_value_holds_until_the_next_one_and_no_longer_than_the_check_interval() -> None:
    shed = Shed(a_setup(a_tank(1, "Dunk", check_minutes=30.0)))
    shed.fill()
    shed.dose()
    shed.wait(5).read(fac=50, ph=7.0)  # 10 min within
    shed.wait(10).read(fac=30, ph=7.0)  # 4 min under the band, over critical
    shed.wait(4).dose()  # 6 min unknown
    shed.wait(6).read(fac=50, ph=7.0)  # 30 min within, then 10 unknown
    shed.wait(40).tell(ShiftEnded(at=shed.now, by="RM"))
    time = first(shed).fac_time
    assert time is not None
    assert time.watched_s == 60 * 60
    assert time.within == pytest.approx(40 / 60)
    assert time.outside == pytest.approx(4 / 60)
    assert time.critical == 0
    assert time.unknown == pytest.approx(16 / 60)
    assert time.longest_gap_s == 40 * 60


def test_acid_ends_what_is_known_of_the_ph_and_not_of_the_chlorine() -> None:
    shed = Shed()
    shed.fill()
    shed.read(fac=50, ph=7.9)
    shed.wait(10).acid()
    shed.wait(10).tell(ShiftEnded(at=shed.now, by="RM"))
    summary = first(shed)
    assert summary.fac_time is not None
    assert summary.ph_time is not None
    assert summary.fac_time.unknown == 0
    assert (summary.ph_time.outside, summary.ph_time.unknown) == (0.5, 0.5)


def test_making_up_the_water_is_no_washing_time() -> None:
    shed = Shed()
    shed.fill()
    shed.wait(20).wash(1)
    shed.wait(5).fill()
    shed.wait(30).tell(ShiftEnded(at=shed.now, by="RM"))
    time = first(shed).fac_time
    assert time is not None
    assert time.watched_s == 5 * 60
    assert time.unknown == 1


def test_a_tank_that_was_never_filled_has_a_summary_without_numbers() -> None:
    summary = first(Shed())
    assert (summary.fills, summary.water_l, summary.batches) == (0, 0, 0)
    assert (summary.fac, summary.ph, summary.fac_time, summary.ph_time) == (None,) * 4


def test_what_was_used_is_added_up_by_product() -> None:
    shed = Shed()
    shed.fill()
    shed.dose(ml=60)
    shed.dose(ml=15)
    shed.acid(ml=20)
    shed.tell(WaterExchanged(at=shed.now, by="RM", tank=1, volume_l=120.0))
    shed.fill(volume_l=480.0)
    shed.dose(ml=50)
    summary = first(shed)
    (sanitizer,) = summary.sanitizer_used
    assert (sanitizer.name, sanitizer.amount.value, sanitizer.amount.unit) == (
        "hypochlorite",
        125.0,
        "mL",
    )
    assert (summary.doses, sanitizer.times) == (3, 3)
    assert [used.amount.value for used in summary.acid_used] == [20.0]
    assert summary.water_l == 500 + 120 + 480
    assert (summary.fills, summary.exchanges) == (2, 1)


def test_a_dose_that_answers_a_flag_is_a_corrective_action_and_a_starting_dose_is_not() -> None:
    shed = Shed()
    shed.fill()
    shed.dose()
    shed.wait(6).read(fac=50, ph=7.0)
    shed.look()
    shed.wash(3)
    shed.wait(2).read(fac=20, ph=7.0)
    shed.look()
    washed = shed.shift.tank(1).washed[-1].seq
    shed.wait(1).hold(washed)
    shed.wait(1).dose()
    summary = first(shed)
    assert [done.kind for done in summary.corrective] == [StepKind.HOLD, StepKind.DOSE]
    assert all(done.rules for done in some(summary.corrective))
    assert summary.flags_stop >= 1
    assert (summary.holds, summary.open_holds, summary.batches_held) == (1, 1, 1)


def test_decisions_and_corrections_are_counted() -> None:
    shed = Shed()
    shed.fill()
    wrong = shed.read(fac=500, ph=7.0)
    right = ReadingTaken(at=wrong.event.at, by="RM", tank=1, fac_mg_l=50, ph=7.0)
    shed.tell(Corrected(at=shed.now, by="TK", entry=wrong.seq, reason="typed", instead=right))
    (batch,) = shed.wash(1)
    hold = shed.hold(batch.seq)
    shed.tell(
        HoldReleased(
            at=shed.now, by="RM", hold=hold.seq, decision=Decision.WASH_AGAIN, reason="low"
        )
    )
    one, two = summarize(shed.shift)
    assert (one.corrections, two.corrections) == (1, 0)
    assert one.fac is not None
    assert one.fac.highest == 50
    assert one.decisions == (Decision.WASH_AGAIN,)
    assert one.open_holds == 0


@given(told_shifts())
@settings(max_examples=20, deadline=None)
def test_a_kept_summary_comes_back_equal(shift: ShiftState) -> None:
    kept = [read_summary(body) for _, body in summary_bodies(summarize(shift))]
    assert kept == list(summarize(shift))


@pytest.mark.parametrize("body", ["", "{", "{}", "[]", "null"])
def test_what_is_no_summary_is_none(body: str) -> None:
    assert read_summary(body) is None


def test_a_summary_of_another_version_is_made_anew() -> None:
    ((_, body), *_) = summary_bodies(summarize(Shed().shift))
    later = msgspec.json.decode(body) | {"version": VERSION + 1}
    assert read_summary(msgspec.json.encode(later).decode()) is None
