"""The shelf in the window: import, export, copy, delete with undo, start; and who solves what."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from tests.gui.practice.conftest import Hands
from washmon.gui.practice import making
from washmon.gui.practice.shelf_page import ShelfPage
from washmon.sessions.practice.scenario_files import scenarios

TEXT = scenarios()[0][1].replace("First fill by the book", "Our own first fill")


@pytest.fixture
def page(hands: Hands, monkeypatch: pytest.MonkeyPatch) -> Iterator[ShelfPage]:
    """Open the shelf, on which trying takes no time."""
    scores = {text: 95.0 for _, text in scenarios()}
    monkeypatch.setattr(making, "good_score", lambda text, _watch: scores.get(text, 41.0))
    hands.click(hands.room.choose.shelf)
    shelf = hands.room.shelf
    assert hands.room.pages.currentWidget() is shelf
    yield shelf
    shelf.trials.stop()


@pytest.fixture
def mine(tmp_path: Path) -> Path:
    file = tmp_path / "mine.toml"
    file.write_text(TEXT, encoding="utf-8", newline="")
    return file


def titles(page: ShelfPage) -> list[str]:
    return [row[0].text for row in page.model.rows]


def test_each_scenario_says_what_it_is_and_whether_the_rules_lead_through_it(
    page: ShelfPage, mine: Path, qtbot: QtBot
) -> None:
    page.take_file(str(mine))
    qtbot.waitUntil(lambda: all("being tried" not in row[5].text for row in page.model.rows))
    first = [cell.text for cell in page.model.rows[0]]
    assert first[:3] == ["First fill by the book", "2", "2 h"]
    assert first[3].startswith("Make up two tanks")
    assert first[4:] == ["washmon", "solved (95)", "–"]
    assert [cell.text for cell in page.model.rows[-1]][4:6] == ["own", "no solution (41)"]


def test_a_scenario_from_a_file_is_there_after_a_restart(
    page: ShelfPage, mine: Path, qtbot: QtBot, tmp_path: Path, hands: Hands
) -> None:
    page.take_file(str(mine))
    mine.unlink()
    hands.close()
    again = Hands(qtbot, tmp_path / "shed.db")
    try:
        assert [one.scenario.title for one in again.room.choose.found].count(
            "Our own first fill"
        ) == 1
    finally:
        again.close()


def test_what_cannot_be_used_is_refused_in_a_sentence(page: ShelfPage, tmp_path: Path) -> None:
    bad = tmp_path / "bad.toml"
    bad.write_text(TEXT.replace("tanks = 2", "tanks = 0"), encoding="utf-8")
    page.take_file(str(bad))
    assert "no tanks" in page.message.words.text()
    assert len(page.found) == len(scenarios())


def test_deleting_can_be_undone_and_the_program_s_stay(page: ShelfPage, mine: Path) -> None:
    page.table.selectRow(0)
    assert not page.remove.isEnabled()
    page.take_file(str(mine))
    QTest.mouseClick(page.remove, Qt.MouseButton.LeftButton)
    assert "Our own first fill" not in titles(page)
    QTest.mouseClick(page.message.action, Qt.MouseButton.LeftButton)
    assert titles(page).count("Our own first fill") == 1
    chosen = page.chosen()
    assert chosen is not None
    assert chosen.text == TEXT


def test_copies_are_told_apart_and_a_file_is_written_as_it_is(
    page: ShelfPage, tmp_path: Path
) -> None:
    page.table.selectRow(1)
    before = page.chosen()
    assert before is not None
    for _ in range(2):
        page.table.selectRow(1)
        QTest.mouseClick(page.copy, Qt.MouseButton.LeftButton)
    name = before.scenario.title
    assert f"{name}, a copy" in titles(page)
    assert f"{name}, copy 2" in titles(page)
    page.table.selectRow(1)
    page.write_to(str(tmp_path / "out.toml"))
    assert (tmp_path / "out.toml").read_bytes().decode() == before.text
    page.write_to(str(tmp_path / "no such folder" / "out.toml"))
    assert "could not be written" in page.message.words.text()


def test_a_scenario_of_the_shelf_is_practised(
    page: ShelfPage, mine: Path, hands: Hands, qtbot: QtBot
) -> None:
    page.take_file(str(mine))
    QTest.mouseClick(page.start, Qt.MouseButton.LeftButton)
    choose = hands.room.choose
    assert hands.room.pages.currentWidget() is choose
    chosen = choose.chosen()
    assert chosen is not None
    assert chosen.text == TEXT
    choose.trainee.put("AB")
    hands.click(choose.begin)
    qtbot.waitUntil(hands._has_shift)
    assert hands.practice.stage.scenario.title == "Our own first fill"


def test_nobody_tries_on_once_the_shelf_is_left(hands: Hands, qtbot: QtBot) -> None:
    hands.click(hands.room.choose.shelf)
    trials = hands.room.shelf.trials
    hands.click(hands.room.shelf.back)
    qtbot.waitUntil(lambda: not trials.busy, timeout=20_000)
