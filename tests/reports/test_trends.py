"""Trends over shifts: what becomes a point, and what a week comes to."""

from datetime import timedelta

import pytest
from msgspec.structs import replace

from tests.shed import START, Shed, a_peracetic_setup
from washmon.line.events import BatchWashed, ShiftEnded
from washmon.line.flags import Amount
from washmon.line.fold import fold
from washmon.reports.summary import VERSION, TankSummary, read_summary, summary_bodies
from washmon.reports.summing import summarize
from washmon.reports.trends import TrendQuantity, points, weeks, weighed_shifts


def a_shift(days: int = 0, *, weight_kg: float | None = 10.0) -> Shed:
    """50 → 40 over five batches of 10 kg, a dose, 55 → 45 over five more, and the end."""
    shed = Shed(start=START + timedelta(days=days))
    shed.fill()
    shed.dose(ml=200)
    shed.wait(6).read(fac=50, ph=7.0)
    for level in (40, 45):
        for _ in range(5):
            shed.wait(2)
            shed.tell(BatchWashed(at=shed.now, by="RM", tanks=(1,), lot="L-1", weight_kg=weight_kg))
        shed.wait(1).read(fac=level, ph=7.2)
        if level == 40:
            shed.dose(ml=60)
            shed.wait(6).read(fac=55, ph=7.3)
    shed.look()
    shed.tell(ShiftEnded(at=shed.now, by="RM"))
    return shed


def summed(*sheds: Shed) -> list[TankSummary]:
    """Summaries of these shifts, each under a name of its own."""
    shifts = [fold(f"shift-{at}", shed.shift.entries) for at, shed in enumerate(sheds)]
    return [one for shift in shifts for one in summarize(shift)]


def values(quantity: TrendQuantity, found: list[TankSummary]) -> list[float]:
    return [point.value for point in points(quantity, found, "Leaf line", 1)]


def test_a_point_of_each_quantity_by_hand() -> None:
    found = summed(a_shift())
    assert values(TrendQuantity.REDOSE_LOW, found) == [40]  # not the starting dose
    assert values(TrendQuantity.PH, found) == [pytest.approx(7.2)]  # 7.0 7.2 7.3 7.2
    assert values(TrendQuantity.LOST_PER_KG, found) == [pytest.approx(0.2)]  # 20 mg/L over 100 kg
    assert values(TrendQuantity.LOST_PER_BATCH, found) == [pytest.approx(2.0)]  # over 10 batches
    assert values(TrendQuantity.DOSES, found) == [2]


def test_nothing_is_lost_per_kilogram_where_a_batch_was_not_weighed() -> None:
    found = summed(a_shift(weight_kg=None))
    assert values(TrendQuantity.LOST_PER_KG, found) == []
    assert values(TrendQuantity.LOST_PER_BATCH, found) == [pytest.approx(2.0)]


def test_a_dose_that_nobody_measured_before_has_no_low() -> None:
    shed = Shed()
    shed.fill()
    shed.read(fac=50)
    shed.wash(3)
    shed.wait(5).dose()
    shed.wait(5).dose()
    (tank, _) = summarize(shed.shift)
    assert tank.redose_lows == (50,)


def test_peracetic_tanks_are_charted_by_their_own_level() -> None:
    shed = Shed(a_peracetic_setup())
    shed.fill()
    shed.read(paa_mg_l=50.0, fac=3)
    shed.wash(2)
    shed.read(paa_mg_l=44.0, fac=1)
    shed.wait(1).dose()
    (tank,) = summarize(shed.shift)
    assert tank.redose_lows == (44,)
    assert tank.lost is not None
    assert tank.lost.mg_l == pytest.approx(6)


def test_points_come_in_order_of_time_of_one_tank_and_without_practice() -> None:
    practice = a_shift(2)
    first, *rest = practice.shift.entries
    started = replace(practice.shift.started, practice=True)
    tried = fold("practice", [replace(first, event=started), *rest])
    found = [*summed(a_shift(3), a_shift(1)), *summarize(tried)]
    dates = [point.at.date() for point in points(TrendQuantity.DOSES, found, "Leaf line", 1)]
    assert dates == [(START + timedelta(days=days)).date() for days in (1, 3)]
    assert points(TrendQuantity.DOSES, found, "Root line", 1) == []
    assert points(TrendQuantity.DOSES, found, "Leaf line", 2) == []  # never filled


def test_a_week_adds_up_time_water_chemicals_and_flags() -> None:
    # START is Thursday, 7 May 2026: four days on is the week after.
    found = summed(a_shift(), a_shift(1), a_shift(4))
    one, two = weeks(found, "Leaf line", 1)
    assert [week.monday.isoformat() for week in (one, two)] == ["2026-05-04", "2026-05-11"]
    assert (one.shifts, two.shifts) == (2, 1)
    assert one.water_l == 1000
    assert one.used == (("hypochlorite", Amount(520.0, "mL")),)
    assert one.within == pytest.approx(two.within)
    assert one.within is not None
    assert 0 < one.within <= 1
    assert dict(one.flags) == {rule: 2 * count for rule, count in two.flags}


def test_a_summary_keeps_all_of_it_and_an_older_one_is_made_anew() -> None:
    shed = a_shift()
    (_, body), _ = summary_bodies(summarize(shed.shift))
    assert read_summary(body) == summarize(shed.shift)[0]
    assert read_summary(body.replace(f'"version":{VERSION}', f'"version":{VERSION - 1}')) is None


def test_a_week_without_a_shift_keeps_its_place() -> None:
    found = weeks(summed(a_shift(), a_shift(15)), "Leaf line", 1)
    assert [week.monday.isoformat() for week in found] == ["2026-05-04", "2026-05-11", "2026-05-18"]
    assert [week.shifts for week in found] == [1, 0, 1]
    assert (found[1].within, found[1].water_l, found[1].used) == (None, 0.0, ())
    assert weeks([], "Leaf line") == []


def test_what_is_lost_says_on_how_many_batches_and_shifts_it_rests() -> None:
    weighed, not_weighed = a_shift(), a_shift(1)
    (bare, *_) = summed(not_weighed)
    (full, *_) = summed(weighed)
    assert full.lost is not None
    assert bare.lost is not None
    bare = replace(bare, lost=replace(bare.lost, kg=None))
    assert weighed_shifts([full, bare], "Leaf line", 1) == (1 if full.lost.kg else 0, 2)
    (point, *_) = points(TrendQuantity.LOST_PER_BATCH, [full], "Leaf line", 1)
    assert point.rests_on == (full.lost.batches, full.batches)
    (dosed, *_) = points(TrendQuantity.DOSES, [full], "Leaf line", 1)
    assert dosed.rests_on is None
