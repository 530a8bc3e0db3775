"""Trends over shifts, through the page: choose, read, save."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from msgspec.structs import replace
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QFileDialog
from pytestqt.qtbot import QtBot

from tests.gui.logbook.conftest import NOW, READER
from tests.gui.logbook.past import keep, three_tanks
from tests.reports.priced import priced
from tests.shed import START, Shed, a_setup
from tests.some import some
from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext
from washmon.gui.kit.control_view import BarPanel, ControlPanel
from washmon.gui.settings import Settings
from washmon.gui.trends.page import TrendsPage
from washmon.gui.trends.trends_views import COSTS, USED, WEEKS, Figures, control
from washmon.line.events import ShiftEnded
from washmon.line.setup import LineSetup
from washmon.reports.control import RuleSet
from washmon.reports.trends import TrendPoint, TrendQuantity
from washmon.store.store import Store
from washmon.units import UnitSystem

UNWRITTEN = Path("no-such-folder", "looks.ini")
LOWS = (40, 42, 41, 43, 40, 42, 41, 43, 40, 12)


@pytest.fixture
def client(tmp_path: Path) -> Iterator[RecorderClient]:
    """Ten shifts, every other day; the low before the re-dose of the last one is far too low."""
    with Store.open(tmp_path / "shed.db") as store:
        for at, low in enumerate(LOWS):
            chain = keep(store, a_shift(2 * (len(LOWS) - at), low).shift, f"shift-{at}")
            if at == 0:
                store.save_summaries(chain, [(1, "{}")])  # of another version
    client = RecorderClient(Store.open(tmp_path / "shed.db"), clock=lambda: NOW)
    client.start()
    yield client
    client.close()


def a_shift(
    days_ago: int, low: float, setup: LineSetup | None = None, *, ml_acid: float = 0.0
) -> Shed:
    shed = Shed(setup or three_tanks(), start=START - timedelta(days=days_ago))
    shed.fill()
    shed.dose(ml=200)
    shed.wait(6).read(fac=50, ph=7.0)
    shed.wash(4)
    shed.read(fac=low, ph=7.2)
    shed.dose()
    if ml_acid:
        shed.wait(10).acid(ml=ml_acid)
    shed.tell(ShiftEnded(at=shed.now, by="RM"))
    return shed


def opened(
    qtbot: QtBot, client: RecorderClient, person: UserContext = READER, settings: Path = UNWRITTEN
) -> TrendsPage:
    page = TrendsPage(client, Settings(settings))
    qtbot.addWidget(page)
    page.resize(1366, 700)
    page.show()
    with qtbot.waitSignal(page.loaded):
        page.open(person)
    return page


def choose(page: TrendsPage, key: str) -> None:
    page.quantity.put(key)
    page.quantity.editor.activated.emit(page.quantity.editor.currentIndex())


def rows(page: TrendsPage) -> list[list[str]]:
    return [[cell.text for cell in row] for row in page.found.model.rows]


def test_the_first_line_and_tank_are_charted_at_once(qtbot: QtBot, client: RecorderClient) -> None:
    page = opened(qtbot, client)
    (_, below) = page.chart.view.panels
    above = individuals(page)
    assert isinstance(below, ControlPanel)
    assert [point.y for point in above.points] == list(LOWS)
    assert len(below.points) == len(LOWS) - 1
    assert page.line.text == "Leaf line"
    assert page.tank.editor.currentText() == "1  First dunk"
    assert [level.words for level in above.levels][1] == "mean 38.4"


def test_a_point_that_breaks_a_rule_is_listed_in_words_and_opens_its_shift(
    qtbot: QtBot, client: RecorderClient
) -> None:
    page = opened(qtbot, client)
    row, *_ = rows(page)
    assert row[0] == "Tue 5 May 2026"
    assert row[1] == "12.0"
    assert "beyond three sigma" in row[2]
    assert "a step beyond the limit of ranges" in row[2]
    assert individuals(page).points[-1].rules == ("1",)
    with qtbot.waitSignal(page.opened) as asked:
        page.found.table.opened.emit(0)
    assert asked.args == ["shift-9"]


@pytest.mark.parametrize("key", [*TrendQuantity, WEEKS, USED])
def test_every_quantity_can_be_shown(qtbot: QtBot, client: RecorderClient, key: str) -> None:
    page = opened(qtbot, client)
    choose(page, key)
    weighed = key != TrendQuantity.LOST_PER_KG  # no batch of these shifts was
    assert bool(page.chart.view.panels) is weighed
    assert page.png.isEnabled() is weighed
    assert bool(page.chart.view.nothing) or weighed


def test_another_tank_has_nothing_and_says_so(qtbot: QtBot, client: RecorderClient) -> None:
    page = opened(qtbot, client)
    page.tank.put("2")
    page.tank.editor.activated.emit(1)
    assert page.chart.view.panels == ()
    assert "tells anything" in page.chart.view.nothing
    assert page.found.nothing.isVisible()


def test_fewer_days_leave_too_few_points_for_limits(qtbot: QtBot, client: RecorderClient) -> None:
    page = opened(qtbot, client)
    client.clock = lambda: NOW + timedelta(days=20)
    page.days.put("30")
    with qtbot.waitSignal(page.loaded):
        page.days.editor.activated.emit(0)
    assert len(page.chart.view.panels) == 1
    assert page.remark.words.text() == "4 points: limits need at least 8."


def test_weeks_add_up_and_rules_do_not_apply(qtbot: QtBot, client: RecorderClient) -> None:
    page = opened(qtbot, client)
    choose(page, WEEKS)
    assert not page.rules.isEnabled()
    assert sum(int(row[1]) for row in rows(page)) == len(LOWS)
    assert all("hypochlorite" in row[5] for row in some(rows(page)))
    assert rows(page)[0][0] == "2026-05-04"


def test_figures_come_with_the_readers_decimal_sign(qtbot: QtBot, client: RecorderClient) -> None:
    page = opened(qtbot, client, UserContext("RM", UnitSystem.METRIC, ","))
    assert individuals(page).levels[1].words == "mean 38,4"
    assert rows(page)[0][1] == "12,0"


def test_other_rules_can_be_chosen(qtbot: QtBot, client: RecorderClient) -> None:
    page = opened(qtbot, client)
    page.rules.put(RuleSet.NELSON)
    page.draw()
    assert page.chart.view.panels


@pytest.mark.parametrize("kind", ["png", "svg"])
def test_the_picture_is_saved_without_stopping_the_window(
    qtbot: QtBot, client: RecorderClient, tmp_path: Path, kind: str
) -> None:
    page = opened(qtbot, client)
    (page.png if kind == "png" else page.svg).click()
    dialog = page.picture.file.dialog
    assert isinstance(dialog, QFileDialog)
    assert dialog.selectedFiles()[0].endswith(f"washmon-trend-leaf-line-2026-05-07.{kind}")
    target = tmp_path / f"mine.{kind}"
    dialog.fileSelected.emit(str(target))
    dialog.reject()
    assert page.picture.file.dialog is None
    assert page.message.words.text() == f"Written: {target}"
    if kind == "png":
        assert not QImage.fromData(target.read_bytes()).isNull()
    else:
        assert target.read_bytes().startswith(b"<?xml")


def test_a_folder_that_is_gone_is_told_in_one_sentence(
    qtbot: QtBot, client: RecorderClient, tmp_path: Path
) -> None:
    page = opened(qtbot, client)
    page.picture.save(tmp_path / "gone" / "mine.png")
    assert "There is no folder" in page.message.words.text()
    assert not list(tmp_path.glob("**/mine*"))


def test_an_empty_database_says_so(
    qtbot: QtBot, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    client = RecorderClient(Store.open(tmp_path / "empty.db"), clock=lambda: NOW)
    client.start()
    request.addfinalizer(client.close)
    page = opened(qtbot, client)
    assert page.chart.view.panels == ()
    assert not page.png.isEnabled()
    choose(page, WEEKS)
    assert page.chart.view.nothing == "No shift began in these days."


def together(page: TrendsPage) -> None:
    page.tank.put("0")
    page.tank.editor.activated.emit(3)


def test_lows_are_of_one_tank_and_weeks_and_doses_of_all_together(
    qtbot: QtBot, client: RecorderClient
) -> None:
    page = opened(qtbot, client)
    together(page)
    assert page.chart.view.nothing == "Choose one tank: each has its own chart."
    choose(page, WEEKS)
    assert page.chart.view.panels
    assert "All tanks together" in page.chart.view.caption
    choose(page, TrendQuantity.DOSES)
    assert [point.y for point in individuals(page).points] == [2] * len(LOWS)
    choose(page, TrendQuantity.LOST_PER_BATCH)
    assert individuals(page).title == "Lost per batch, mg per batch"
    assert individuals(page).points[-1].y == pytest.approx((50 - 12) * 500 / 4)


def individuals(page: TrendsPage) -> ControlPanel:
    panel = page.chart.view.panels[0]
    assert isinstance(panel, ControlPanel)
    return panel


def bars(page: TrendsPage, at: int = 0) -> BarPanel:
    panel = page.chart.view.panels[at]
    assert isinstance(panel, BarPanel)
    return panel


def test_the_chart_itself_says_whether_its_points_suit_it(
    qtbot: QtBot, client: RecorderClient
) -> None:
    page = opened(qtbot, client)
    assert "points do not seem to follow one another" in page.chart.view.caption
    assert page.remark.isHidden()
    figures = Figures(TrendQuantity.PH, "pH", READER)
    climbing = [TrendPoint(START + timedelta(days=at), "c", 6.0 + at / 10) for at in range(20)]
    shown = control(figures, climbing, RuleSet.LIMITS, "Leaf line")
    assert "POINTS FOLLOW ONE ANOTHER (0.85; chance: ±0.44)" in shown.view.caption
    assert "either something changed for good, or the limits are not to be trusted" in shown.remark


def test_what_went_in_is_stacked_by_week_and_listed_in_units(
    qtbot: QtBot, client: RecorderClient
) -> None:
    page = opened(qtbot, client)
    choose(page, USED)
    liquids, water = bars(page), bars(page, 1)
    assert liquids.names == ("hypochlorite",)
    assert sum(bar.parts[0] for bar in liquids.bars) == pytest.approx(10 * 0.26)
    assert sum(bar.parts[0] for bar in water.bars) == pytest.approx(10 * 500)
    assert page.found.model.heads == ("Week of", "Shifts", "Water", "hypochlorite", "")
    assert plain(rows(page)[0][2:4]) == ["500 L", "260 mL"]


def plain(cells: list[str]) -> list[str]:
    return [cell.replace("\N{NO-BREAK SPACE}", " ") for cell in cells]


def test_without_prices_the_cost_is_said_not_to_be_known(
    qtbot: QtBot, client: RecorderClient
) -> None:
    page = opened(qtbot, client)
    choose(page, COSTS)
    assert page.chart.view.panels == ()
    assert "No price was in the set-up" in page.chart.view.nothing
    assert set(rows(page)[0][2:-1]) == {"not known"}


def test_weeks_cost_what_their_products_and_water_cost(
    qtbot: QtBot, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    unpriced = replace(priced(), acids=a_setup().acids)
    with Store.open(tmp_path / "priced.db") as store:
        keep(store, a_shift(7, 40, priced()).shift, "one")
        soured = a_shift(0, 40, unpriced, ml_acid=50)
        keep(store, soured.shift, "two")
    client = RecorderClient(Store.open(tmp_path / "priced.db"), clock=lambda: NOW)
    client.start()
    request.addfinalizer(client.close)
    page = opened(qtbot, client)
    choose(page, COSTS)
    panel = bars(page)
    assert panel.title == "Cost, EUR"
    assert panel.names == ("hypochlorite", "vinegar", "Water")
    # 260 mL at 1.50 a litre and 500 L at 2.40 a cubic metre; 50 mL of vinegar without a price.
    assert [list(bar.parts) for bar in panel.bars] == [
        [pytest.approx(0.39), 0, pytest.approx(1.20)],
        [pytest.approx(0.39), 0, pytest.approx(1.20)],
    ]
    assert [bar.mark for bar in panel.bars] == ["", "?"]
    newest, before = (plain(row)[:-1] for row in rows(page))
    assert newest[2:] == ["at least 1.59 EUR", "0.39 EUR", "not known", "1.20 EUR"]
    assert before[2:] == ["1.59 EUR", "0.39 EUR", "–", "1.20 EUR"]
    assert "had no price" in page.remark.words.text()
    assert "Cost, EUR" in page.chart.svg().decode()


def test_a_summary_of_another_version_is_made_once_and_kept(
    qtbot: QtBot, client: RecorderClient
) -> None:
    def of_the_first(store: Store) -> list[str]:
        return [row.body for row in store.summaries(["shift-0"])]

    assert client.recorder.read(of_the_first).result() == ["{}"]
    opened(qtbot, client)
    assert all("redose_lows" in body for body in some(client.recorder.read(of_the_first).result()))
