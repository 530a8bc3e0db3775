"""Each value of a record is marked by the limit that it does not keep, on screen and on paper."""

import io
from functools import cache
from typing import Any

import pytest
from msgspec.structs import replace
from pypdf import PdfReader

from tests.shed import Shed, a_peracetic_setup, a_setup, a_tank
from washmon.gui.context import UserContext
from washmon.gui.kit.state_mark import MarkState as Mark
from washmon.gui.logbook.shift_tables import listing
from washmon.line.setup import LabelBasis, LineSetup, Look, TemperatureRule, TemperatureRuleKind
from washmon.reports.cells import written
from washmon.reports.printed import printed
from washmon.reports.record_lists import LISTS
from washmon.reports.tables import BATCHES, READINGS, Table
from washmon.units import UnitSystem

WORDS = ("CRITICAL", "OVER LABEL", "LOW", "HIGH")
PERSON = UserContext("RM", UnitSystem.METRIC)


def marks(shed: Shed) -> dict[str, Mark | None]:
    """What stands in the newest line of the list, and how it is marked."""
    row = listing(LISTS["readings"], shed.shift, PERSON).rows[-1]
    return {cell.text.replace("\N{NO-BREAK SPACE}", " "): cell.look for cell in row if cell.text}


def words(shed: Shed) -> str:
    pages = PdfReader(io.BytesIO(printed(shed.shift))).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


@pytest.mark.parametrize(
    ("values", "text", "mark", "word"),
    [
        # The limits of tests/shed.py: critical 25, 35 to 75, label 100 ppm; pH 6.5 to 7.5; 60 NTU.
        ({"turbidity_ntu": 180.0, "look": Look.READABLE}, "180 NTU, card readable", "act", "HIGH"),
        ({"turbidity_ntu": 60.0, "look": Look.READABLE}, "60 NTU, card readable", None, None),
        ({"turbidity_ntu": 10.0, "look": Look.GONE}, "10 NTU, card gone", "act", "HIGH"),
        ({"fac_mg_l": 24.0}, "24 ppm by kit", "stop", "CRITICAL"),
        ({"fac_mg_l": 25.0}, "25 ppm by kit", "act", "LOW"),
        ({"fac_mg_l": 35.0}, "35 ppm by kit", None, None),
        ({"fac_mg_l": 76.0}, "76 ppm by kit", "act", "HIGH"),
        ({"fac_mg_l": 120.0}, "120 ppm by kit", "stop", "OVER LABEL"),
        ({"total_mg_l": 120.0}, "120 ppm", "stop", "OVER LABEL"),
        ({"ph": 8.0}, "8.0", "act", "HIGH"),
        ({"ph": 9.1}, "9.1", "stop", "CRITICAL"),
        ({"ph": 6.4}, "6.4", "act", "LOW"),
        ({"ph": 7.5}, "7.5", None, None),
        ({"water_c": 20.0, "pulp_c": 20.0}, "20 °C", "act", "LOW"),
    ],
)
def test_a_value_is_marked_by_its_limit(
    values: dict[str, Any], text: str, mark: str | None, word: str | None
) -> None:
    tank = a_tank(1, "First", critical_ph=9.0)
    by_total = replace(tank.chlorine, label_basis=LabelBasis.TOTAL)
    warmer = TemperatureRule(kind=TemperatureRuleKind.WARMER, by_c=5.0)
    shed = Shed(a_setup(replace(tank, chlorine=by_total, temperature_rule=warmer)))
    shed.fill()
    shed.tell(replace(shed.read(1).event, **values))
    found = marks(shed)
    looks = [look for said, look in found.items() if said == text]
    if "pulp_c" in values:
        row = listing(LISTS["readings"], shed.shift, PERSON).rows[-1]
        looks = [cell.look for cell in row if "20" in cell.text and cell.look] or looks
    assert looks[0] == (None if mark is None else Mark(mark))
    plain, marked = unmarked(shed.shift.setup), words(shed)
    told = [one for one in WORDS if marked.count(one) > plain.count(one)]
    assert told == ([] if word is None else [word])


@cache
def unmarked(setup: LineSetup) -> str:
    """What is printed of a shift with nothing measured that has a limit."""
    shed = Shed(setup)
    shed.fill()
    shed.read(1, orp_mv=700.0)
    return words(shed)


def test_peroxide_over_the_law_is_marked() -> None:
    shed = Shed(a_peracetic_setup())
    shed.fill()
    shed.read(1, paa_mg_l=50.0, peroxide_mg_l=90.0)
    assert marks(shed)["90 ppm"] is Mark.ACT
    assert "OVER LEGAL" in words(shed)


@pytest.mark.parametrize(
    ("contact_s", "mark", "word", "told"),
    [
        # The limits: 60 s, held under 30 s.
        (60.0, None, None, ""),
        (45.0, Mark.ACT, "45 s, SHORT", "contact time"),
        (29.0, Mark.STOP, "29 s, CRITICAL", "critical contact time"),
    ],
)
def test_a_batch_that_stayed_too_short_is_marked_on_screen_paper_and_in_its_file(
    contact_s: float, mark: Mark | None, word: str | None, told: str
) -> None:
    shed = Shed(a_setup(a_tank(1, "First", critical_contact_s=30.0)))
    shed.fill()
    shed.wash(1, contact_s=contact_s)
    (row,) = listing(LISTS["batches"], shed.shift, PERSON).rows
    said = f"{contact_s:g}\N{NO-BREAK SPACE}s"
    assert [cell.look for cell in row if cell.text == said] == [mark]
    printed_words = words(shed)
    assert (word or f"{contact_s:g} s") in printed_words
    assert ("SHORT and CRITICAL" in printed_words) is (mark is not None)
    assert in_file(BATCHES, shed) == told


def test_the_file_of_readings_names_the_limits_that_one_does_not_keep() -> None:
    shed = Shed(a_setup(a_tank(1, "First", look_limit=Look.GONE)))
    shed.fill()
    shed.read(1, 24.0, ph=8.0, turbidity_ntu=180.0, look=Look.READABLE)
    assert in_file(READINGS, shed) == "critical low; pH high; cloudiness"
    shed.read(1, 50.0, ph=7.0, turbidity_ntu=20.0, look=Look.GONE)
    assert in_file(READINGS, shed) == "cloudiness by card"


def in_file(table: Table[Any], shed: Shed) -> str:
    """What the newest row of a file says of limits."""
    column = next(one for one in table.columns if one.name == "limits_not_kept")
    return written(column.cell(list(table.rows(shed.shift))[-1]))
