"""What a shift cost, in its summary: known, at least so much, or not known."""

import pytest
from msgspec.structs import replace
from pytestqt.qtbot import QtBot

from tests.gui.logbook.conftest import READER
from tests.reports.priced import a_shift, priced
from tests.shed import a_setup
from washmon.gui.kit.text import Text
from washmon.gui.logbook.summary_table import SummaryTable
from washmon.line.setup import LineSetup
from washmon.reports.summing import summarize

UNPRICED_ACID = replace(priced(), acids=a_setup().acids)
ONLY_CURRENCY = replace(a_setup(), currency="EUR")


@pytest.mark.parametrize(
    ("setup", "said"),
    [
        (priced(), "3.09 EUR"),
        (UNPRICED_ACID, "at least 3.03 EUR"),
        (ONLY_CURRENCY, "not known"),
        (a_setup(), None),
    ],
)
def test_the_summary_says_what_a_tank_cost(
    qtbot: QtBot, setup: LineSetup, said: str | None
) -> None:
    table = SummaryTable()
    qtbot.addWidget(table)
    table.show_summaries(summarize(a_shift(setup).shift), READER)
    words = [one.text().replace("\N{NO-BREAK SPACE}", " ") for one in table.findChildren(Text)]
    if said is None:
        assert "Cost, with water" not in words
    else:
        assert said in words
        assert "Cost, with water" in words
