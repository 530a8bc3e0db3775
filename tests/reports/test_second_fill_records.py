"""The second fill in the records: its water and chemicals count, its readings stay its own."""

from typing import Any

import pytest

from tests.shed import Shed, a_setup, a_tank
from tests.some import some
from washmon.forecast.shift import FilterCache, forecast_shift
from washmon.line.events import BatchWashed, ReadingTaken, TankFilled
from washmon.line.fold import fold
from washmon.line.kinds import phrases
from washmon.line.message import say, spoken
from washmon.line.setup import Stage
from washmon.line.state import TankState
from washmon.reports.cells import written
from washmon.reports.depletion import lost, redose_lows
from washmon.reports.exposure import ct_hocl_mg_min_l
from washmon.reports.lines import lines
from washmon.reports.lot_trace import touching
from washmon.reports.summing import summarize
from washmon.reports.tables import ACTIONS, READINGS, Table
from washmon.reports.timeline import pieces, watched
from washmon.rules.base import RuleContext
from washmon.rules.demand import used_per_batch
from washmon.sessions.telling import tell
from washmon.store.shift import ShiftFold
from washmon.units import UnitSystem


def a_shift(*, swapped: bool = True) -> Shed:
    """Return a tank that washed 4 batches, and 3 more in a second fill that read 20 before 50."""
    shed = Shed(a_setup(a_tank(1, "First", Stage.WASH, second_volume_l=400.0)))
    shed.fill(1)
    shed.dose(1, 200)
    shed.wait(6).read(1, 50, ph=7.0)
    shed.wash(4)
    shed.fill(1, 400.0, second=True)
    shed.dose(1, 60, second=True)
    shed.wait(6).read(1, 20, ph=8.3, second=True)
    shed.dose(1, 100, second=True)
    shed.wait(6).read(1, 52, ph=7.2, second=True)
    shed.read(1, 40, ph=7.1)
    if swapped:
        shed.wait(10).swap()
        shed.wash(3, contact_s=60.0)
        shed.wait(1).read(1, 44, ph=7.2)
    return shed


def tank_of(shed: Shed) -> TankState:
    return shed.shift.tank(1)


@pytest.mark.parametrize("swapped", [True, False])
def test_water_and_chemicals_of_a_second_fill_count_whether_it_is_used_or_not(
    *, swapped: bool
) -> None:
    (summary,) = summarize(a_shift(swapped=swapped).shift)
    assert summary.water_l == 900.0
    assert [used.amount.value for used in summary.sanitizer_used] == [360.0]
    assert summary.doses == 3
    assert summary.fills == (2 if swapped else 1)


def test_what_a_second_fill_read_before_its_use_is_no_reading_of_the_tank() -> None:
    (summary,) = summarize(a_shift().shift)
    assert summary.readings == 3
    assert summary.fac is not None
    assert (summary.fac.lowest, summary.fac.highest) == (40, 50)  # neither the 20 nor the 52
    row = ShiftFold("x").then(a_shift().shift.entries).row()
    assert row is not None
    assert (row.outside, row.critical) == (0, 0)


def test_a_second_fill_is_watched_from_its_swap_with_the_level_it_came_with() -> None:
    shed = a_shift()
    tank = tank_of(shed)
    first, second = watched(shed.shift, tank)
    assert tank.fill is not None
    assert first.end_s == second.start_s == tank.fill.at.timestamp()
    cut = pieces(shed.shift, tank, "fac_mg_l")
    values = [one.value for one in cut if one.start_s >= first.end_s]
    assert values[0] == 52


def test_what_was_lost_while_it_waited_is_not_laid_on_the_produce() -> None:
    shed = a_shift()
    tank = tank_of(shed)
    found = lost(tank)
    assert found is not None
    assert (found.mg_l, found.batches) == (10, 4)  # from 50 to 40 in the old water alone
    assert redose_lows(tank) == ()
    assert tank.fill is not None
    rule_context = RuleContext(shed.shift, tank, tank.fill, shed.now, frozenset())
    assert [round(one.mg_l, 2) for one in used_per_batch(rule_context)] == [2.5]


def test_a_batch_after_the_swap_met_the_water_that_was_swapped_in() -> None:
    shed = a_shift()
    batch = lines(shed.shift, BatchWashed)[-1].event
    with_it = ct_hocl_mg_min_l(shed.shift, batch)
    assert with_it is not None
    # 52 mg/L for one minute, about 80 % of it HOCl at pH 7.2: between 35 and 50 mg min/L.
    assert 35 < with_it < 50


def column(table: Table[Any], name: str, shed: Shed) -> list[str]:
    (wanted,) = (one for one in table.columns if one.name == name)
    return [written(wanted.cell(row)) for row in table.rows(shed.shift)]


def test_the_csv_files_tell_the_second_fill_in_a_column_of_its_own() -> None:
    shed = a_shift()
    assert column(READINGS, "second_fill", shed) == ["no", "yes", "yes", "no", "no"]
    assert column(READINGS, "fill", shed) == ["1", "2", "2", "1", "2"]
    assert "second fill swapped in" in column(ACTIONS, "action", shed)
    assert column(ACTIONS, "second_fill", shed).count("yes") == 3  # filled, dosed twice
    assert column(READINGS, "fill", a_shift(swapped=False)) == ["1", "", "", "1"]


def test_every_entry_says_in_words_which_water_it_is_about() -> None:
    shed = a_shift()
    shed.acid(1, 20, second=True)
    told = [entry.event for entry in shed.shift.entries if getattr(entry.event, "second", False)]
    for event in some(told):
        assert (
            "second fill"
            in spoken(
                phrases(event, shed.shift.setup), lambda one: say(one, UnitSystem.METRIC)
            ).lower()
        )
        sentence = tell(event, shed.shift.setup).said(lambda part: say(part, UnitSystem.METRIC))
        assert "second fill" in sentence.lower()


def test_the_forecast_takes_up_what_was_done_to_the_second_fill_while_it_waited() -> None:
    shed, cache = a_shift(swapped=False), FilterCache()
    before = forecast_shift(shed.shift, shed.now, cache)[1]
    shed.wait(10).swap()
    after = forecast_shift(shed.shift, shed.now, cache)[1]
    assert after.level.mid == pytest.approx(50, abs=5)  # 52 was read 10 minutes ago
    assert after.level.mid > before.level.mid + 5  # the old water was at 40
    assert after.until_low.batches.mid > before.until_low.batches.mid
    again = fold(shed.shift.chain, shed.shift.entries)
    assert forecast_shift(again, shed.now)[1] == after


def test_the_forecast_of_the_water_in_use_does_not_hear_of_the_second_fill() -> None:
    shed = a_shift(swapped=False)
    before = forecast_shift(shed.shift, shed.now)[1]
    shed.read(1, 5, second=True)
    shed.dose(1, 100, second=True)
    assert forecast_shift(shed.shift, shed.now)[1] == before


def test_a_reading_of_the_second_fill_is_listed_as_such() -> None:
    shed = a_shift(swapped=False)
    events = [line.event for line in lines(shed.shift, ReadingTaken)]
    assert [event.second for event in events] == [False, True, True, False]


def test_a_lot_is_traced_to_the_second_fill_that_it_went_through_and_to_its_swap() -> None:
    shed = a_shift()
    last = tank_of(shed).washed[-1].seq
    found = [line.event for line in touching(shed.shift, {last})]
    kinds = [type(event).__name__ for event in found]
    assert kinds.count("SecondSwapped") == 1
    assert kinds.count("TankFilled") == 1  # that of the second fill alone
    assert [event.second for event in found if isinstance(event, TankFilled)] == [True]
    first = tank_of(shed).washed[0].seq
    assert not any(getattr(line.event, "second", False) for line in touching(shed.shift, {first}))
