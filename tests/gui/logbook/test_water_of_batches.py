"""What the record shows of the water that batches met: when, exposure, and peracetic acid."""

from datetime import datetime, timedelta, timezone

import pytest
from pytestqt.qtbot import QtBot

from tests.gui.logbook.conftest import READER
from tests.shed import Shed, a_peracetic_setup, a_setup
from washmon.gui.context import UserContext
from washmon.gui.kit.text import Text
from washmon.gui.logbook.shift_tables import listing
from washmon.gui.logbook.summary_table import SummaryTable
from washmon.line.events import ReadingTaken
from washmon.reports.record_lists import LISTS
from washmon.reports.summing import summarize
from washmon.units import UnitSystem


@pytest.mark.parametrize("sign", [".", ","])
def test_the_batches_say_how_much_active_chlorine_they_met_for_how_long(sign: str) -> None:
    shed = Shed()
    shed.fill()
    shed.wait(1).read(1, 50, ph=7.0, water_c=20)
    shed.wash(1, contact_s=90)
    shed.wash(1)
    listed = listing(LISTS["batches"], shed.shift, UserContext("RM", UnitSystem.METRIC, sign))
    column = listed.heads.index("CT, mg min/L")
    timed, untimed = (row[column].text for row in listed.rows)
    assert sign in timed
    # 79.3 % HOCl at pH 7.0: pKa 7.58 at 20 °C (Morris 1966).
    assert float(timed.replace(sign, ".")) == pytest.approx(50 * 1.5 * 0.793, rel=0.002)
    assert not untimed


def test_no_column_of_exposure_where_no_batch_was_timed() -> None:
    shed = Shed()
    shed.fill()
    shed.wait(1).read(1, 50, ph=7.0)
    shed.wash(1)
    assert "CT, mg min/L" not in listing(LISTS["batches"], shed.shift, READER).heads


def words_of(qtbot: QtBot, shed: Shed) -> list[str]:
    table = SummaryTable()
    qtbot.addWidget(table)
    table.show_summaries(summarize(shed.shift), READER)
    return [one.text().replace("\N{NO-BREAK SPACE}", " ") for one in table.findChildren(Text)]


def test_the_summary_of_peracetic_tanks_tells_of_peracetic_acid(qtbot: QtBot) -> None:
    shed = Shed(a_peracetic_setup())
    shed.fill()
    for paa in (50.0, 25.0, 10.0):
        shed.wait(5)
        shed.tell(ReadingTaken(at=shed.now, by="RM", tank=1, paa_mg_l=paa, ph=5.5))
    shed.wash(1)
    words = words_of(qtbot, shed)
    assert "Peracetic acid" in words
    assert "10 · 25 · 50 ppm" in words
    assert any(one.endswith("under critical") for one in words)
    assert "Free chlorine" not in words


def test_the_summary_of_chlorine_tanks_has_no_rows_of_peracetic_acid(qtbot: QtBot) -> None:
    shed = Shed(a_setup())
    shed.fill()
    shed.wait(1).read(1, 50, ph=7.0)
    words = words_of(qtbot, shed)
    assert "Free chlorine" in words
    assert "Peracetic acid" not in words


def test_the_hour_that_comes_twice_is_told_apart_in_the_lists() -> None:
    # In New York, 1 November 2026, 01:30 comes at UTC-04:00 and again at UTC-05:00.
    shed = Shed(start=datetime(2026, 11, 1, 0, 30, tzinfo=timezone(timedelta(hours=-4))))
    shed.fill()
    shed.wait(60).read(1, 50, ph=7.0)
    shed.now = datetime(2026, 11, 1, 1, 30, tzinfo=timezone(timedelta(hours=-5)))
    shed.read(1, 47, ph=7.0)
    times = [row[0].text for row in listing(LISTS["readings"], shed.shift, READER).rows]
    assert times == ["01:30", "01:30 UTC-05:00"]
