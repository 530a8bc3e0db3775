"""What a batch met in the water, and summaries of tanks of peracetic acid."""

import pytest

from tests.shed import Shed, a_peracetic_setup
from washmon.line.events import BatchWashed, ReadingTaken
from washmon.reports.exposure import ct_hocl_mg_min_l
from washmon.reports.summing import summarize
from washmon.reports.tables import BATCHES, SUMMARIES


def batch_of(shed: Shed) -> BatchWashed:
    return shed.shift.tank(1).washed[-1].event


def test_exposure_is_hypochlorous_acid_times_minutes_in_all_tanks() -> None:
    shed = Shed()
    for tank, ph in ((1, 7.0), (2, 7.5)):
        shed.fill(tank)
        shed.wait(1).read(tank, 50, ph=ph, water_c=20)
    shed.wash(1, tanks=(1, 2), contact_s=90)
    # pKa 7.58 at 20 °C (Morris 1966): 79.3 % HOCl at pH 7.0 and 54.7 % at pH 7.5.
    found = ct_hocl_mg_min_l(shed.shift, batch_of(shed))
    assert found == pytest.approx(50 * 1.5 * (0.793 + 0.547), rel=0.002)


def test_without_a_timed_contact_or_a_reading_there_is_no_exposure() -> None:
    shed = Shed()
    shed.fill()
    shed.wash(1, contact_s=60)
    assert ct_hocl_mg_min_l(shed.shift, batch_of(shed)) is None
    shed.read(1, 50, ph=7.0)
    shed.wash(1)
    assert ct_hocl_mg_min_l(shed.shift, batch_of(shed)) is None
    shed.wash(1, contact_s=60)
    assert ct_hocl_mg_min_l(shed.shift, batch_of(shed)) is not None


def test_new_columns_stand_at_the_end_so_that_old_ones_keep_their_place() -> None:
    told = [one.name for one in BATCHES.columns]
    assert told[told.index("ct_hocl_mg_min_l") :] == [
        "ct_hocl_mg_min_l",
        "imported",
        "at_utc",
        "recorded_at_utc",
        "limits_not_kept",
        "lot_source",
        "sent_to",
    ]
    names = [column.name for column in SUMMARIES.columns]
    later = [name for name in names[names.index("corrections") + 1 :] if "paa_" not in name]
    assert later == [
        "signing",
        "signed_by",
        "signed_at",
        "reviewed_by",
        "reviewed_at",
        "corrected_after_signing",
        "journal_hash",
        "imported",
        "cost_sanitizers",
        "cost_acids",
        "cost_water",
        "cost_total",
        "currency",
        "started_at_utc",
        "ended_at_utc",
        "signed_at_utc",
        "reviewed_at_utc",
        "review_working_days",
    ]


def test_a_tank_of_peracetic_acid_is_summed_up_in_its_own_limits() -> None:
    shed = Shed(a_peracetic_setup())
    shed.fill()
    for paa in (50.0, 25.0, 10.0):
        shed.wait(5)
        shed.tell(ReadingTaken(at=shed.now, by="RM", tank=1, paa_mg_l=paa, ph=5.5))
        shed.wash(1)
    (summary,) = summarize(shed.shift)
    assert summary.paa is not None
    assert (summary.paa.lowest, summary.paa.highest) == (10, 50)
    assert summary.paa.within == pytest.approx(1 / 3)
    assert summary.paa.at_least_critical == pytest.approx(2 / 3)
    assert summary.paa_time is not None
    assert (summary.fac, summary.fac_time, summary.ph_time) == (None, None, None)
