"""All running lines at once, and the choice of one at the start."""

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from threading import Event

import pytest
from msgspec.structs import replace
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from tests.gui.logbook.past import keep
from tests.gui.logbook.to_sign import BOSS
from tests.gui.stand import Stand, close_windows
from tests.shed import START, Shed, a_setup, a_tank
from washmon.gui import app as program
from washmon.gui.client import RecorderClient
from washmon.gui.kit.state_mark import MarkState
from washmon.gui.lines.choice import LineChooser, begin_on_a_line, lines_to_choose
from washmon.gui.lines.page import AllLinesPage
from washmon.gui.main_window import MainWindow
from washmon.gui.rooms import Room
from washmon.gui.settings import Settings
from washmon.line.events import LinePaused, Pause, ReadingTaken
from washmon.recorder.line_watch import LineWatch
from washmon.store.store import Store

NOW = START + timedelta(minutes=20)


def a_line(name: str, fac: float | None) -> Shed:
    """A line of one tank that was read, if it was."""
    shed = Shed(replace(a_setup(a_tank(1, "Dunk")), line=name))
    shed.fill()
    shed.wait(5)
    if fac is not None:
        shed.read(1, fac, ph=7.0)
    shed.look()
    return shed


def three_lines(store: Store) -> None:
    for name, fac in (("Calm line", 50), ("Low line", 20), ("New line", None)):
        keep(store, a_line(name, fac).shift, f"of-{name}")


@pytest.fixture
def page(qtbot: QtBot, tmp_path: Path) -> AllLinesPage:
    with Store.open(tmp_path / "shed.db") as store:
        three_lines(store)
    client = RecorderClient(Store.open(tmp_path / "shed.db"), clock=lambda: NOW)
    client.start()
    page = AllLinesPage(client, silence_s=0.05)
    qtbot.addWidget(page, before_close_func=lambda _page: client.close())
    page.resize(1366, 700)
    page.open(BOSS)
    with qtbot.waitSignal(page.shown):
        page.show()
    return page


def lines(page: AllLinesPage) -> list[str]:
    return [row[1].text for row in page.model.rows]


def test_the_tanks_of_all_lines_stand_the_worst_first(page: AllLinesPage) -> None:
    assert lines(page) == ["Low line", "New line", "Calm line"]
    low, new, calm = page.model.rows
    assert [row[0].look for row in (low, new, calm)] == [
        MarkState.STOP,
        MarkState.UNKNOWN,
        MarkState.IN_LIMITS,
    ]
    assert [cell.text.replace("\N{NO-BREAK SPACE}", " ") for cell in calm[2:6]] == [
        "1  Dunk",
        "50 ppm",
        "7.0",
        "15 min ago",
    ]
    assert low[6].text.startswith("free chlorine under the critical low")
    assert new[6].text.startswith("Feed nothing. ")
    assert new[3].text == "–"
    assert page.facts.text().startswith("3 lines run · as of ")


def test_what_another_program_enters_is_seen_and_the_page_rests_when_it_is_left(
    qtbot: QtBot, page: AllLinesPage
) -> None:
    reading = ReadingTaken(at=NOW, by="RM", tank=1, fac_mg_l=48, ph=7.0)
    recorder = page._client.recorder
    recorder.enter(reading, chain="of-New line", sure=True).result(10)
    qtbot.waitUntil(lambda: lines(page) != ["Low line", "New line", "Calm line"])
    paused = LinePaused(at=NOW, by="RM", reason=Pause.BREAK)
    recorder.enter(paused, chain="of-Calm line", sure=True).result(10)
    qtbot.waitUntil(lambda: any("is paused" in row[6].text for row in page.model.rows))
    page.hide()
    assert page._watch is None


def test_leaving_does_not_wait_for_a_database_that_hangs(
    page: AllLinesPage, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked, answers = Event(), Event()
    waited: list[bool] = []

    def hangs(_watch: LineWatch, _store: Store) -> None:
        asked.set()
        waited.append(answers.wait(20))

    monkeypatch.setattr(LineWatch, "_look", hangs)
    assert asked.wait(20)
    page.hide()
    assert waited == []  # the window is free while the database still hangs
    answers.set()


def test_it_is_reached_by_the_menu_and_says_where_nothing_runs(stand: Stand) -> None:
    window = stand.open()
    window.go(Room.LINES)
    page = stand.page(AllLinesPage)
    stand.qtbot.waitUntil(page.nothing.isVisible)
    assert page.nothing.text() == "No line is running."


def run(monkeypatch: pytest.MonkeyPatch, path: Path, look: Callable[[], None]) -> None:
    """Run the program on an address, and look while it would wait for events."""

    def instead_of_waiting(*_: object) -> int:
        look()
        close_windows()
        return 0

    monkeypatch.setattr(QApplication, "exec", instead_of_waiting)
    assert program.run(f"sqlite:///{path}", path.with_suffix(".ini")) == 0


def shown(kind: type) -> list[object]:
    return [
        one for one in QApplication.topLevelWidgets() if isinstance(one, kind) and one.isVisible()
    ]


def test_where_several_lines_run_one_is_chosen_and_remembered(
    stand: Stand, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Store.open(stand.path) as store:
        keep(store, a_line("Low line", 20).shift, "one")
        assert lines_to_choose(store) == []
        keep(store, a_line("Calm line", 50).shift, "two")

    def choose() -> None:
        (page,) = shown(LineChooser)
        assert isinstance(page, LineChooser)
        assert [one.label for one in page.buttons] == [
            "Calm line, since 07:00, begun by RM",
            "Low line, since 07:00, begun by RM",
        ]
        assert not shown(MainWindow)
        page.buttons[0].click()
        assert not page.isVisible()
        sees("Calm line")

    def sees(line: str) -> None:
        (window,) = shown(MainWindow)
        assert isinstance(window, MainWindow)
        stand.qtbot.waitUntil(lambda: window.snapshot is not None)
        assert window.snapshot is not None
        assert window.snapshot.shift is not None
        assert window.snapshot.shift.setup.line == line

    run(monkeypatch, stand.path, choose)
    settings = Settings(stand.path.with_suffix(".ini"))
    assert settings.line == "Calm line"
    begun: list[str | None] = []
    with Store.open(stand.path) as store:
        assert begin_on_a_line(store, settings, begun.append) == []
    assert begun == ["Calm line"]
