"""The editor of scenarios: what is typed comes back, what can't be is told, a draft is tried."""

from datetime import time
from pathlib import Path

import pytest
from msgspec.structs import replace
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from tests.gui.plots import plots_in
from tests.shed import a_setup, a_tank
from tests.some import some
from washmon.gui.kit.confirm import ConfirmQuestion
from washmon.gui.kit.form_fields import FormField, TextField
from washmon.gui.kit.text import Text
from washmon.gui.practice import making
from washmon.gui.scenarios.editor import ScenarioEditor
from washmon.gui.scenarios.fields import ClockField, ProseField, read_clock
from washmon.gui.setup_guide.fields import AmountField
from washmon.gui.touch_typing import takes_letters
from washmon.line.setup import LineSetup, Stage
from washmon.sessions.making.trying import Watch, try_out
from washmon.sessions.practice.parameters import Dirtiness
from washmon.sessions.practice.scenario import Scenario
from washmon.sessions.practice.scenario_files import parse_scenario
from washmon.sessions.practice.shelf import OnShelf, ScenarioShelf
from washmon.units import UnitSystem


@pytest.fixture
def shelf(tmp_path: Path) -> ScenarioShelf:
    return ScenarioShelf(tmp_path / "shelf")


@pytest.fixture
def editor(qtbot: QtBot, shelf: ScenarioShelf) -> ScenarioEditor:
    made = ScenarioEditor(shelf)
    qtbot.addWidget(made)
    made.resize(1340, 720)
    made.show()
    made.open(None, None)
    return made


def fields(editor: ScenarioEditor) -> dict[str, FormField]:
    return {path: field for page in editor.pages for path, field in page.fields()}


def write(editor: ScenarioEditor, path: str, text: str) -> None:
    """Type into a field as a person would."""
    field = fields(editor)[path]
    assert isinstance(field, AmountField | TextField)
    field.editor.clear()
    QTest.keyClicks(field.editor, text)
    field.left.emit()


def tell(editor: ScenarioEditor) -> None:
    """Write the words that every scenario needs."""
    write(editor, "title", "The pump fails")
    write(editor, "goal", "See that nothing is dosed any more.")
    fields(editor)["briefing"].put("It is early, and the pump is new.")


def own(shelf: ScenarioShelf) -> list[Scenario]:
    return [one.scenario for one in shelf.read() if one.is_own]


def built_in(shelf: ScenarioShelf, place: int) -> OnShelf:
    return shelf.read()[place]


def test_a_scenario_written_by_hand_is_on_the_shelf_with_its_units(
    editor: ScenarioEditor, shelf: ScenarioShelf, qtbot: QtBot
) -> None:
    tell(editor)
    editor.writing.set_taste(UnitSystem.US)
    write(editor, "tap.celsius", "50")  # °F, as is meant by who reads US units
    write(editor, "tap.alkalinity_mg_l", "180 mg/L")
    write(editor, "world.strength_share", "50")
    write(editor, "pace.minutes", "2.5 h")
    with qtbot.waitSignal(editor.saved):
        editor.save.click()
    (scenario,) = own(shelf)
    assert scenario.title == "The pump fails"
    assert scenario.tap.celsius == pytest.approx(10.0)
    assert scenario.tap.alkalinity_mg_l == pytest.approx(180.0)
    assert scenario.world.strength_share == pytest.approx(0.5)
    assert scenario.pace.minutes == pytest.approx(150.0)
    assert not editor.unsaved


def test_whatever_a_scenario_says_comes_back_from_the_pages_as_it_was(
    editor: ScenarioEditor, shelf: ScenarioShelf
) -> None:
    for one in shelf.read():
        editor.open(one, None)
        draft = editor.draft()
        words = " ".join(one.scenario.briefing.split())
        assert draft == _with_briefing(one.scenario, words)
        assert not editor.unsaved


def _with_briefing(scenario: Scenario, words: str) -> Scenario:
    return replace(scenario, briefing=words)


def test_what_cannot_be_is_told_beside_its_field_and_saving_goes_there(
    editor: ScenarioEditor, shelf: ScenarioShelf
) -> None:
    tell(editor)
    write(editor, "tap.ph", "12")
    write(editor, "pace.first_batch", "soon")
    editor.save.click()
    assert own(shelf) == []
    assert editor.page is editor.water
    assert "between 5.0 and 10.0" in fields(editor)["tap.ph"].fault.text
    assert fields(editor)["pace.first_batch"].fault.text
    assert "2 things" in editor.message.words.text()
    write(editor, "tap.ph", "8")
    assert fields(editor)["tap.ph"].fault.text == ""


def test_an_empty_scenario_says_what_is_missing(editor: ScenarioEditor) -> None:
    editor.save.click()
    assert editor.page is editor.words
    assert fields(editor)["title"].fault.text
    assert fields(editor)["goal"].fault.text


def test_events_are_added_moved_on_the_line_and_kept_in_order(
    editor: ScenarioEditor, shelf: ScenarioShelf, qtbot: QtBot
) -> None:
    tell(editor)
    editor.go_to(editor.pages.index(editor.events))
    page = editor.events
    page.add.click()
    write(editor, "happens.0.say", "The pump stops.")
    page.add.click()
    first, second = page.roster.forms
    assert first.at.moment == time(7, 0)
    assert second.at.moment == time(7, 10)
    second_field = dict(second.fields())["dirtiness"]
    second_field.put(Dirtiness.MUDDY)
    line = page.timeline
    y = round(line.height() * 0.58)
    start, end = (QPoint(round(line.x_of(minute)), y) for minute in (70.0, 20.0))
    QTest.mousePress(line, Qt.MouseButton.LeftButton, pos=start)
    QTest.mouseMove(line, end)
    line._move_to(20.0)
    QTest.mouseRelease(line, Qt.MouseButton.LeftButton, pos=end)
    assert [form.at.moment for form in page.roster.forms] == [time(6, 20), time(7, 0)]
    QTest.keyClick(line, Qt.Key.Key_Right)
    assert page.roster.forms[0].at.moment == time(6, 21)
    with qtbot.waitSignal(editor.saved):
        editor.save.click()
    (scenario,) = own(shelf)
    assert [(one.at, one.dirtiness) for one in scenario.happens] == [
        (time(6, 21), Dirtiness.MUDDY),
        (time(7, 0), None),
    ]


def test_events_keep_their_place_in_a_shift_that_begins_at_another_time(
    editor: ScenarioEditor, shelf: ScenarioShelf
) -> None:
    one = built_in(shelf, 1)  # begins at 09:10, events at 10:00 and 11:10
    editor.open(one, None)
    begins = fields(editor)["pace.begins"]
    assert isinstance(begins, ClockField)
    for text in ("no time", "23:40"):
        begins.editor.clear()
        QTest.keyClicks(begins.editor, text)
        begins.left.emit()
    assert [event.at for event in editor.draft().happens] == [time(0, 30), time(1, 40)]
    assert "moved along" in editor.message.words.text()
    editor.save.click()
    assert [event.at for event in own(shelf)[0].happens] == [time(0, 30), time(1, 40)]


def test_the_keys_on_the_screen_come_for_several_lines_of_text_too(editor: ScenarioEditor) -> None:
    briefing = fields(editor)["briefing"]
    assert isinstance(briefing, ProseField)
    assert takes_letters(briefing.editor)


def test_an_event_is_removed_after_a_question(editor: ScenarioEditor, shelf: ScenarioShelf) -> None:
    editor.open(built_in(shelf, 1), None)
    page = editor.events
    editor.go_to(editor.pages.index(page))
    page.roster.remove.click()
    (question,) = editor.findChildren(ConfirmQuestion)
    question.yes.click()
    assert len(editor.draft().happens) == 1


def test_the_shed_s_own_line_comes_with_its_products_and_units(
    editor: ScenarioEditor, shelf: ScenarioShelf, qtbot: QtBot
) -> None:
    shed = a_setup(a_tank(1, "Long flume"), a_tank(2, "Last rinse", Stage.RINSE))
    editor.open(None, shed)
    tell(editor)
    editor.line.source.row.button("own").click()
    with qtbot.waitSignal(editor.saved):
        editor.save.click()
    (scenario,) = own(shelf)
    line = scenario.line.own()
    assert isinstance(line, LineSetup)
    assert [tank.name for tank in line.tanks] == ["Long flume"]
    assert line.taste is shed.taste
    assert [one.strength for one in line.sanitizers] == [one.strength for one in shed.sanitizers]
    assert line.people == ()
    editor.open(next(one for one in shelf.read() if one.is_own), None)
    assert editor.line.source.text == "kept"
    assert editor.draft().line == scenario.line


def test_a_practice_line_may_be_kept_with_peracetic_acid(
    editor: ScenarioEditor, shelf: ScenarioShelf, qtbot: QtBot
) -> None:
    tell(editor)
    editor.go_to(editor.pages.index(editor.line))
    told = [one.text() for one in editor.line.facts.findChildren(Text)]
    assert not [words for words in told if "eracetic" in words]
    editor.line.kept_with.row.button("peracetic acid").click()
    told = [one.text() for one in editor.line.facts.findChildren(Text)]
    assert any("eracetic" in words for words in some(told))
    with qtbot.waitSignal(editor.saved):
        editor.save.click()
    (scenario,) = own(shelf)
    assert scenario.line.peracetic
    assert scenario.setup("AB").tanks[0].peracetic is not None


def test_one_of_the_program_s_is_saved_as_a_copy_and_ones_own_in_place(
    editor: ScenarioEditor, shelf: ScenarioShelf
) -> None:
    editor.open(built_in(shelf, 0), None)
    for minutes in ("100", "90"):
        write(editor, "pace.minutes", minutes)
        editor.save.click()
    assert [one.pace.minutes for one in own(shelf)] == [90.0]
    assert len(shelf.read()) == 8


def test_leaving_with_what_is_not_saved_asks(editor: ScenarioEditor, qtbot: QtBot) -> None:
    with qtbot.waitSignal(editor.left):
        editor.leave.click()
    write(editor, "title", "Half done")
    editor.leave.click()
    (question,) = editor.findChildren(ConfirmQuestion)
    question.no.click()
    assert fields(editor)["title"].read() == "Half done"
    editor.leave.click()
    with qtbot.waitSignal(editor.left):
        editor.findChildren(ConfirmQuestion)[-1].yes.click()


def test_a_draft_is_tried_by_both_and_drawn_with_its_limits(
    editor: ScenarioEditor, shelf: ScenarioShelf, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    shares: list[float] = []
    real = try_out

    def watched(text: str, watch: Watch) -> object:
        def note(share: float) -> None:
            shares.append(share)
            watch(share)

        return real(text, note)

    monkeypatch.setattr(making, "try_out", watched)
    editor.open(built_in(shelf, 0), None)
    write(editor, "pace.minutes", "40")
    page = editor.preview
    editor.go_to(editor.pages.index(page))
    with qtbot.waitSignal(editor.tried, timeout=30_000) as tried:
        page.go.click()
    assert tried.args is not None
    text, score = tried.args
    assert parse_scenario(text).pace.minutes == 40.0
    assert f"{score:.0f}" in page.message.words.text()
    assert page._plots.count() == 2
    page.plotted.button("ph").click()
    low, high = plots_in(page._plots)[0].view.span
    assert 5.0 < low < 7.0 < high < 10.0
    assert shares == sorted(shares)
    assert shares[-1] > 0.7
    write(editor, "pace.minutes", "45")
    editor.go_to(0)
    editor.go_to(editor.pages.index(page))
    assert page.old.isVisible()


def test_a_draft_without_a_solution_is_called_so(
    editor: ScenarioEditor, shelf: ScenarioShelf, qtbot: QtBot
) -> None:
    editor.open(built_in(shelf, 0), None)
    write(editor, "pace.minutes", "40")
    write(editor, "world.strength_share", "5")
    write(editor, "world.demand_share", "2000")
    editor.go_to(editor.pages.index(editor.preview))
    with qtbot.waitSignal(editor.tried, timeout=30_000):
        editor.preview.go.click()
    assert "fails this one too" in editor.preview.message.words.text()


def test_trying_can_be_stopped(editor: ScenarioEditor, shelf: ScenarioShelf, qtbot: QtBot) -> None:
    editor.open(built_in(shelf, 0), None)
    page = editor.preview
    editor.go_to(editor.pages.index(page))
    done: list[object] = []
    page.working.came.connect(done.append)
    page.go.click()
    with qtbot.waitSignal(page.working.progressed, timeout=20_000):
        pass
    page.stop.click()
    assert page.go.isVisible()
    assert done == []


@pytest.mark.parametrize(
    ("text", "at"),
    [
        ("6:30", time(6, 30)),
        ("0630", time(6, 30)),
        ("6.30", time(6, 30)),
        ("23:59:30", time(23, 59, 30)),
        ("24:00", None),
        ("6", None),
        ("noon", None),
        ("", None),
    ],
)
def test_a_time_of_day_is_read_as_people_write_it(text: str, at: time | None) -> None:
    assert read_clock(text) == at
