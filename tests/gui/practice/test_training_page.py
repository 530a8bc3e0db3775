"""Training by hand: an attempt is signed off, the course is changed, and papers are written."""

from pathlib import Path

import pytest
from PySide6.QtCore import Qt

from tests.gui.stand import Stand, begin_shift
from washmon.gui.kit.confirm import ConfirmQuestion
from washmon.gui.rooms import Room
from washmon.gui.training.page import CERTIFICATE, CSV, REGISTER, TrainingPage
from washmon.line.journal import SITE
from washmon.line.registry import training_of
from washmon.line.training import Register
from washmon.sessions.practice.scenario_files import scenarios
from washmon.sessions.practice.trainee import CHAIN, HASTY, scripted
from washmon.store.store import Store

Key = Qt.Key
pytestmark = pytest.mark.qt_log_ignore("This plugin does not support", extend=True)
TITLES = [scenario.title for scenario, _ in scenarios() if not scenario.line.peracetic]
"""Of a shed of chlorine: those that it is offered as a course."""
TEXT = scenarios()[0][1].replace("minutes = 120", "minutes = 60")
TRAINEE = HASTY.who


@pytest.fixture
def stand(stand: Stand) -> Stand:
    begin_shift(stand.path)
    with Store.open(stand.path) as store:
        for entry in scripted(TEXT, HASTY).entries:
            store.append(CHAIN, [entry.event], entry.recorded_at)
    return stand


def page(stand: Stand) -> TrainingPage:
    found = stand.window.rooms.page(Room.TRAINING)
    with stand.qtbot.waitSignal(found.loaded):
        stand.window.go(Room.TRAINING)
    return stand.page(TrainingPage)


def register(stand: Stand) -> Register:
    read = stand.window.client.recorder.read(lambda store: training_of(store.entries(SITE)))
    return read.result(10)


def choose(found: TrainingPage, person: str) -> None:
    people = [row[0].text for row in found.list.people.model.rows]
    found.list.people.table.selectRow(people.index(person))


def test_an_attempt_is_signed_off_and_stands_in_the_register(stand: Stand, tmp_path: Path) -> None:
    stand.open()
    stand.window.header.person_chosen.emit("TK")
    found = page(stand)
    stand.window.header.person_chosen.emit("RM")  # whoever stands here now signs
    assert "No course was set" in found.list.about.text()
    choose(found, "RM")
    assert not found.list.sign.isEnabled()
    choose(found, TRAINEE)
    assert [row[0].text for row in found.list.attempts.model.rows] == [TITLES[0]]
    for answer in ("no", "yes"):
        stand.click(found.list.sign)
        stand.click(found.list.sign)
        stand.qtbot.waitUntil(lambda: bool(found.findChildren(ConfirmQuestion)), timeout=60_000)
        stand.window.client.recorder.read(lambda _store: None).result(60)
        (question,) = found.findChildren(ConfirmQuestion)
        assert "of 100" in question.words.text()
        assert register(stand).signed == ()
        if answer == "no":
            stand.click(question.no)
            stand.qtbot.waitUntil(lambda: not found.findChildren(ConfirmQuestion))
    with stand.qtbot.waitSignal(found.loaded):
        stand.click(question.yes)
    (signed,) = register(stand).signed
    assert (signed.what.person, signed.what.scenario) == (TRAINEE, TITLES[0])
    assert (signed.what.attempt, signed.trainer) == (CHAIN, "RM")
    assert "Signed off" in found.list.message.words.text()
    assert found.list.person == TRAINEE
    assert found.list.attempts.model.rows == ()
    way = found.list.way.model.rows[0]
    assert way[2].text == f"{signed.what.score:.0f}"
    for wanted, name in ((CSV, "t.csv"), (REGISTER, "t.pdf"), (CERTIFICATE, "c.pdf")):
        found.write(tmp_path / name, wanted)
        assert name in found.list.message.words.text()
        assert (tmp_path / name).stat().st_size > 100
    found.write(tmp_path / "nowhere" / "t.csv", CSV)
    assert "t.csv" in found.list.message.words.text()
    assert not (tmp_path / "nowhere").exists()


def test_a_course_is_put_in_order_and_saved(stand: Stand) -> None:
    stand.open()
    found = page(stand)
    stand.click(found.list.change)
    course = found.course
    stand.qtbot.waitUntil(course.isVisible)
    assert course.taken == TITLES
    course.list.table.selectRow(1)
    stand.click(course.up)
    course.list.table.selectRow(5)
    stand.click(course.turn)
    assert course.taken == [TITLES[1], TITLES[0], *TITLES[2:5]]
    assert found.unsaved
    stand.click(course.back)
    (question,) = found.findChildren(ConfirmQuestion)
    stand.click(question.no)
    assert course.isVisible()
    course.months.put("some")
    stand.click(course.save)
    assert course.months.fault.text
    course.months.put("6")
    course.pass_mark.put("130")
    stand.click(course.save)
    stand.qtbot.waitUntil(lambda: "between 1 and 100" in course.message.words.text())
    course.pass_mark.put("75")
    with stand.qtbot.waitSignal(found.loaded):
        stand.click(course.save)
    saved = register(stand).course
    assert saved is not None
    assert (list(saved.scenarios), saved.pass_mark, saved.months) == (course.taken, 75.0, 6)
    assert "pass mark 75" in found.list.about.text()
    assert not found.unsaved


def test_after_a_replay_the_head_tells_of_this_shed_again(stand: Stand) -> None:
    window = stand.open()
    window.sessions.open_shift(CHAIN, None)
    stand.wait_for(Room.REPLAY)
    stand.qtbot.waitUntil(lambda: "Replay" in window.header.saved.text())
    page(stand)
    assert "all entries saved" in window.header.saved.text()
