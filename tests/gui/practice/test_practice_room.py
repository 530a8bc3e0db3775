"""Practice in the window: the same Board and keypad, another clock, and never a record."""

import csv
import threading
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QLineEdit
from pytestqt.qtbot import QtBot

from tests.gui.practice.conftest import Hands
from tests.shed import CHAIN, Shed
from washmon.gui.action_bar import Action
from washmon.gui.kit import theme
from washmon.gui.kit.confirm import ConfirmQuestion
from washmon.gui.logbook.shift_list import ShiftList
from washmon.gui.main_window import SMALLEST_PX
from washmon.gui.practice.chart import AttemptChart
from washmon.gui.practice.practice_frame import EDGE_PX
from washmon.line.events import BatchWashed, DoseAdded, ReadingTaken, ShiftStarted, TankFilled
from washmon.line.practice_events import BehindTheScenes
from washmon.line.state import ShiftState
from washmon.planning import advice as advice_module
from washmon.planning.advice import Advice
from washmon.recorder import Recorder
from washmon.sessions.practice.jumping import Stop
from washmon.sessions.practice.standing import AttemptStanding, Standings
from washmon.sessions.practice.veil import Showing
from washmon.store.store import Store


def make_up(hands: Hands, tank: int) -> None:
    """Fill a tank and dose what the Board advises, by keypad."""
    count = len(hands.events())
    hands.press(Qt.Key.Key_F5, str(tank), Qt.Key.Key_Return)
    if hands.sheet.isVisible():
        hands.press(Qt.Key.Key_Return)
    hands.settled(count + 1)
    hands.press(Qt.Key.Key_F3, str(tank), "210", Qt.Key.Key_Return)
    hands.settled(count + 2)


def test_a_practice_shift_is_made_up_by_the_same_keys(hands: Hands) -> None:
    hands.begin(1)
    make_up(hands, 1)
    filled, dosed = (entry.event for entry in hands.events()[-2:])
    assert isinstance(filled, TankFilled)
    assert isinstance(dosed, DoseAdded)
    # Filling takes eight minutes of practice, a dose one; by the clock on the wall hardly any.
    assert hands.practice.stage.minutes == pytest.approx(9.0)
    assert hands.practice.stage.line.level_mg_l(1) > 30.0


@pytest.mark.parametrize(
    ("scenario", "kind", "tests", "minutes"), [(1, "fac", 2, 2.0 + 1.0), (7, "paa", 1, 3.0)]
)
def test_a_reading_is_tested_not_typed_and_takes_its_time(
    hands: Hands, scenario: int, kind: str, tests: int, minutes: float
) -> None:
    hands.begin(scenario)
    make_up(hands, 1)
    before = hands.practice.stage.minutes
    hands.press(Qt.Key.Key_F1, "1")
    levels = {"fac_mg_l", "paa_mg_l"} & hands.sheet.grid.fields.keys()
    assert levels == {f"{kind}_mg_l"}
    hands.sheet.field(f"{kind}_method").put("kit")
    hands.sheet.field(f"{kind}_method").edited.emit()
    line = hands.sheet.field(f"{kind}_mg_l").input
    assert isinstance(line, QLineEdit)
    hands.press("77")
    assert line.text() == ""
    line.setFocus()
    hands.press(*[Qt.Key.Key_Space] * tests)
    assert float(line.text()) > 20.0
    assert hands.practice.stage.minutes == pytest.approx(before + minutes)
    count = len(hands.events())
    hands.click(hands.sheet.save)
    hands.qtbot.waitUntil(lambda: hands.sheet.doubted)  # the dose has not mixed in yet
    hands.sheet.anyway.click()
    hands.settled(count + 1)
    reading = hands.events()[-1].event
    assert isinstance(reading, ReadingTaken)
    assert getattr(reading, f"{kind}_mg_l") == float(line.text())
    assert reading.at == hands.practice.clock()


def test_another_method_forgets_what_the_last_one_showed(hands: Hands) -> None:
    hands.begin(1)
    make_up(hands, 1)
    hands.press(Qt.Key.Key_F1, "1", Qt.Key.Key_Space)
    assert hands.sheet.field("fac_mg_l").text
    method = hands.sheet.field("fac_method")
    method.put("meter")
    method.edited.emit()
    assert hands.sheet.field("fac_mg_l").text == ""


def test_everything_can_be_tested_in_one_go(hands: Hands) -> None:
    hands.begin(1)
    make_up(hands, 1)
    hands.press(Qt.Key.Key_F1, "1")
    hands.click(hands.sheet.test_all)
    assert all(hands.sheet.field(key).text for key in ("fac_mg_l", "ph", "turbidity_ntu", "look"))


def test_the_bottle_of_strips_tells_its_date_and_the_bench_what_is_there(hands: Hands) -> None:
    hands.begin(5)
    make_up(hands, 1)
    hands.press(Qt.Key.Key_F1, "1")
    assert "2025-02-28" in hands.sheet.note.text()
    assert [key for key, _ in hands.sheet.field("fac_method").spec.choices] == ["strip", "kit"]


def test_a_jump_goes_to_the_batch_that_comes_and_it_is_sent_on(hands: Hands) -> None:
    hands.begin(1)
    make_up(hands, 1)
    make_up(hands, 2)
    bar = hands.page.bar
    assert not bar.send.isEnabled()
    stops: list[Stop] = []
    hands.practice.jumped.connect(stops.append)
    for _ in range(6):
        if stops[-1:] != [Stop.BATCH]:
            hands.jump()
    assert stops[-1] is Stop.BATCH
    assert hands.practice.stage.minutes == pytest.approx(30.0)
    assert "P-1" in bar.batch.text()
    count = len(hands.events())
    hands.click(bar.send)
    hands.settled(count + 1)
    washed = hands.events()[-1].event
    assert isinstance(washed, BatchWashed)
    assert washed.tanks == (1, 2)
    assert not bar.send.isEnabled()


def test_the_practice_board_looks_ahead_as_the_shed_s_does(hands: Hands, qtbot: QtBot) -> None:
    hands.begin(1)
    make_up(hands, 1)
    hands.practice.pass_minutes(10.0)
    hands.press(Qt.Key.Key_F1, "1")
    hands.click(hands.sheet.test_all)
    hands.click(hands.sheet.save)

    def told() -> bool:
        snapshot = hands.page._snapshot
        ahead = snapshot.forecasts.get(1) if snapshot else None
        return ahead is not None and ahead.readings == 1

    qtbot.waitUntil(told)


def test_a_jump_asks_the_rules_on_the_recorders_thread_and_stops_at_their_flag(
    hands: Hands, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[str] = []
    real = advice_module.advise

    def spying(shift: ShiftState, now: datetime, **more: Any) -> Advice:
        asked.append(threading.current_thread().name)
        return real(shift, now, **more)

    hands.begin(1)
    make_up(hands, 1)
    make_up(hands, 2)
    monkeypatch.setattr("washmon.recorder.foresight.advise", spying)
    hands.practice.stop_line(stopped=True)
    before = hands.calling()
    stops: list[Stop] = []
    hands.practice.jumped.connect(stops.append)
    for _ in range(6):
        if stops[-1:] != [Stop.FLAG]:
            hands.jump()
    assert stops[-1] is Stop.FLAG
    assert set(asked) == {"recorder"}
    hands.qtbot.waitUntil(lambda: bool(hands.calling() - before))


def test_a_batch_that_is_neither_sent_on_nor_stopped_is_tipped_in(hands: Hands) -> None:
    hands.begin(1)
    make_up(hands, 1)
    make_up(hands, 2)
    hands.practice.pass_minutes(30.0 - hands.practice.stage.minutes)
    count = len(hands.events())
    hands.practice.pass_minutes(2.0)
    assert hands.practice.stage.waiting is not None
    hands.practice.pass_minutes(1.5)
    hands.settled(count + 1)
    assert isinstance(hands.events()[-1].event, BatchWashed)
    assert "Nobody stopped the line" in hands.page.board.message.words.text()


def test_a_stopped_line_lets_the_batch_wait(hands: Hands) -> None:
    hands.begin(1)
    make_up(hands, 1)
    make_up(hands, 2)
    hands.click(hands.page.bar.stop)
    hands.practice.pass_minutes(40.0)
    waiting = hands.practice.stage.waiting
    assert waiting is not None
    assert not hands.practice.busy
    stops: list[Stop] = []
    hands.practice.jumped.connect(stops.append)
    hands.jump()
    assert stops[-1] is not Stop.BATCH
    assert hands.page.bar.batch.text().startswith("Line stopped.")
    count = len(hands.events())
    hands.click(hands.page.bar.send)
    hands.settled(count + 1)


def test_the_batch_sheet_has_the_ticket_on_it(hands: Hands) -> None:
    hands.begin(1)
    make_up(hands, 1)
    make_up(hands, 2)
    hands.press(Qt.Key.Key_F2)
    assert not hands.sheet.isVisible()
    assert hands.page.board.message.words.text()
    hands.click(hands.page.bar.stop)
    hands.practice.pass_minutes(30.0)
    waiting = hands.practice.stage.waiting
    assert waiting is not None
    hands.press(Qt.Key.Key_F2)
    assert hands.sheet.field("lot").text == waiting.lot
    assert float(hands.sheet.field("weight_kg").text) == pytest.approx(waiting.weight_kg)


def test_time_runs_as_fast_as_is_chosen_and_can_stand(hands: Hands) -> None:
    hands.begin(1)
    client, clock = hands.practice, hands.practice.play_clock
    seconds = 100.0
    clock.wall = lambda: seconds
    hands.page.bar.speeds.button("60").click()
    hands.click(hands.page.bar.play)
    assert clock.running
    seconds += 2.0
    clock.frame()
    assert client.stage.minutes == pytest.approx(2.0)
    hands.click(hands.page.bar.play)
    assert not clock.running


def test_what_the_trainer_changes_is_not_told_on_the_board(hands: Hands, qtbot: QtBot) -> None:
    hands.begin(1)
    share = hands.practice.stage.line.strength_share
    shown = hands.page.board.message.words.text()
    hands.click(hands.page.lesson.window.panel.weak)
    qtbot.waitUntil(lambda: hands.practice.stage.line.strength_share == share / 2)
    hands.page.lesson.window.panel.loads.button("muddy").click()
    qtbot.waitUntil(lambda: hands.practice.stage.line.world.dirtiness == "muddy")
    assert hands.page.board.message.words.text() == shown
    with Store.open(hands.path, read_only=True) as store:
        behind = [
            entry.event.change
            for entry in store.entries(hands.practice.chain)
            if isinstance(entry.event, BehindTheScenes)
        ]
    assert len([change for change in behind if change is not None]) == 2


@pytest.mark.parametrize(("showing", "flags"), [("on", True), ("off", False)])
def test_advice_is_shown_or_not(hands: Hands, qtbot: QtBot, showing: str, *, flags: bool) -> None:
    hands.begin(6, showing=showing)
    board = hands.page.board.board
    qtbot.waitUntil(lambda: bool(hands.page._snapshot and hands.page._snapshot.advice.flags))
    qtbot.waitUntil(lambda: board.view is not None)
    assert board.view is not None
    assert bool(board.view.flags) is flags


def test_advice_that_is_late_comes_ten_minutes_after_its_flag(hands: Hands, qtbot: QtBot) -> None:
    hands.begin(1, showing="delayed")
    make_up(hands, 1)
    board = hands.page.board.board
    now, who = hands.page.client.clock(), hands.page.person.initials
    washed = BatchWashed(at=now, by=who, tanks=(1,), lot="P-1")
    hands.page.client.enter(washed, sure=True)  # in water that nobody has measured
    qtbot.waitUntil(lambda: bool(hands.page._snapshot and hands.page._snapshot.advice.flags))
    assert board.view is not None
    assert board.view.flags == ()
    hands.practice.pass_minutes(11.0)
    qtbot.waitUntil(lambda: board.view is not None and bool(board.view.flags))


def test_an_attempt_is_kept_when_the_window_closes_and_goes_on_where_it_was(
    qtbot: QtBot, tmp_path: Path
) -> None:
    first = Hands(qtbot, tmp_path / "shed.db")
    first.begin(1)
    make_up(first, 1)
    level, minutes = first.practice.stage.line.level_mg_l(1), first.practice.stage.minutes
    first.close()
    again = Hands(qtbot, tmp_path / "shed.db")
    try:
        assert again.room.choose.current() is not None
        again.click(again.room.choose.resume)
        qtbot.waitUntil(again._has_shift)
        assert again.practice.stage.minutes == pytest.approx(minutes, abs=5 / 60)
        assert again.practice.stage.line.level_mg_l(1) == pytest.approx(level, abs=0.5)
        assert len(again.events()) == 3
        make_up(again, 2)
    finally:
        again.close()


def test_an_attempt_goes_on_where_its_clock_stood_with_its_switches_also_after_a_kill(
    qtbot: QtBot, tmp_path: Path
) -> None:
    first = Hands(qtbot, tmp_path / "shed.db")
    first.begin(1)
    make_up(first, 1)
    first.practice.stop_line(stopped=True)
    first.page.lesson.window.panel.showing.choose("off")
    first.page.lesson.window.panel.showing_chosen.emit("off")
    first.practice.play_clock.speed = 20
    first.practice.pass_minutes(26.5)  # a batch has come meanwhile, and waits
    first.page.keep_standing()  # as the timer does, each second
    minutes, waiting = first.practice.stage.minutes, first.practice.stage.waiting
    assert waiting is not None
    first.room.interrupt = lambda: None  # type: ignore[method-assign]  # as if it was killed
    (kept,) = (tmp_path / "practice").glob("*.json")
    saved = kept.read_bytes()
    first.page.client.play_clock.pause()
    first.page.client.close()
    first.client.close()
    kept.write_bytes(saved)
    again = Hands(qtbot, tmp_path / "shed.db")
    try:
        again.click(again.room.choose.resume)
        qtbot.waitUntil(again._has_shift)
        assert again.practice.stage.minutes == pytest.approx(minutes, abs=5 / 60)
        assert again.practice.stage.waiting == waiting
        assert again.practice.stopped
        assert again.practice.play_clock.speed == 20
        assert again.page._showing is Showing.OFF
    finally:
        again.close()


@pytest.mark.parametrize("text", ["", "{}", "[1]", '{"minutes": "x"}', '{"minutes": 1e9}'])
def test_nonsense_about_where_an_attempt_stood_is_passed_over(tmp_path: Path, text: str) -> None:
    standings = Standings(tmp_path)
    standings.keep("practice-1+", AttemptStanding(12.5, "on", stopped=True, speed=5))
    assert standings.find("practice-1+") == AttemptStanding(12.5, "on", stopped=True, speed=5)
    (file,) = (tmp_path / "practice").iterdir()
    file.write_text(text)
    assert standings.find("practice-1+") is None
    standings.forget("practice-1+")
    assert list((tmp_path / "practice").iterdir()) == []


def test_practice_is_no_record(hands: Hands, qtbot: QtBot) -> None:
    hands.begin(1)
    make_up(hands, 1)
    shifts = ShiftList(hands.client)
    qtbot.addWidget(shifts)
    with qtbot.waitSignal(shifts.loaded):
        shifts.load()
    assert shifts.model.shifts == ()
    with Store.open(hands.path, read_only=True) as store:
        assert store.running_shift() is None
        assert store.last_shift_head() is None
        (row,) = store.shifts(practice=True)
        assert row.practice
        first = store.entries(row.chain)[0].event
        assert isinstance(first, ShiftStarted)
        assert first.practice
        assert store.verify() == []


def test_every_screen_is_striped_and_says_practice(hands: Hands, qtbot: QtBot) -> None:
    def striped() -> bool:
        picture = hands.room.grab().toImage().convertToFormat(QImage.Format.Format_RGB32)
        left = {picture.pixelColor(3, y).name().upper() for y in range(40, 700)}
        shades = theme.current()
        return {shades.watch, shades.on_watch} <= left

    assert striped()
    hands.begin(1)
    assert striped()
    assert not hands.page.board.bar.buttons[Action.LOGBOOK].isVisible()
    with qtbot.waitSignal(hands.room.loaded, timeout=60_000):
        hands.room.open_debrief(hands.practice.chain)
    assert striped()


def test_finishing_leads_to_the_debrief_and_its_files(
    hands: Hands, qtbot: QtBot, tmp_path: Path
) -> None:
    hands.begin(1)
    make_up(hands, 1)
    hands.click(hands.page.bar.finish)
    question = hands.page.findChild(ConfirmQuestion)
    assert question is not None
    with qtbot.waitSignal(hands.room.loaded, timeout=60_000):
        hands.click(question.yes)
    page = hands.room.debrief
    assert hands.room.pages.currentWidget() is page
    assert "of 100" in page.score.text()
    page.write_csv(tmp_path / "debrief.csv")
    with (tmp_path / "debrief.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert {row["practice"] for row in rows} == {"yes"}
    assert rows[-1]["part"] == "score"
    assert {row["advice"] for row in rows} == {"on"}
    assert "batches fewer were washed" in rows[0]["moment_1"]
    moment = page.moments[0]
    with qtbot.waitSignal(hands.room.replay_at_asked) as asked:
        hands.click(moment)
    assert asked.args[1].strftime("%H:%M") in rows[0]["moment_1"]
    pictures = [chart.accessibleName() for chart in page.findChildren(AttemptChart)]
    for what in ("free chlorine", "pH", "cloudiness"):
        assert sum(f"measured {what}" in name for name in pictures) == 2
    *parts, counts, score = (float(row["points"]) for row in rows)
    assert rows[-2]["part"] == "counts"
    assert score == pytest.approx(counts * sum(parts), abs=0.5)
    page.write_pdf(tmp_path / "debrief.pdf")
    assert (tmp_path / "debrief.pdf").read_bytes().startswith(b"%PDF")
    page.write_pdf(tmp_path / "nowhere" / "debrief.pdf")
    assert "debrief.pdf" in page.message.words.text()
    page.write_csv(tmp_path / "nowhere" / "debrief.csv")
    assert "debrief.csv" in page.message.words.text()
    assert page.next is not None
    with qtbot.waitSignal(hands.room.loaded):
        hands.click(page.next)
    assert hands.room.pages.currentWidget() is hands.room.choose


def test_batches_in_question_are_asked_about_before_an_attempt_is_finished(
    hands: Hands, qtbot: QtBot
) -> None:
    hands.begin(1)
    make_up(hands, 1)
    page = hands.page
    now, who = page.client.clock(), page.person.initials
    count = len(hands.events())
    page.client.enter(BatchWashed(at=now, by=who, tanks=(1,), lot="P-1"), sure=True)
    page.client.enter(ReadingTaken(at=now, by=who, tank=1, fac_mg_l=2.0), sure=True)
    hands.settled(count + 2)
    page._finish(yes=True)
    qtbot.waitUntil(lambda: page.findChild(ConfirmQuestion) is not None)
    assert isinstance(hands.events()[-1].event, ReadingTaken)  # nothing has ended yet
    question = page.findChild(ConfirmQuestion)
    assert question is not None
    with qtbot.waitSignal(hands.room.loaded, timeout=60_000):
        hands.click(question.yes)
    assert hands.room.pages.currentWidget() is hands.room.debrief


def test_trainees_are_listed_with_their_attempts_and_scores(hands: Hands, qtbot: QtBot) -> None:
    hands.begin(1, who="xy")
    with qtbot.waitSignal(hands.room.loaded, timeout=60_000):
        hands.page._finish(yes=True)
    with qtbot.waitSignal(hands.room.loaded, timeout=60_000):
        hands.click(hands.room.debrief.back)
    qtbot.waitUntil(lambda: not hands.room.choose.missing_scores())
    (row,) = hands.room.choose.attempts_model.rows
    assert [cell.text for cell in row[:2]] == ["XY", "First fill by the book"]
    assert row[4].text == "Finished"
    assert row[5].text.isdigit()
    assert not hands.room.choose.resume.isEnabled()


def test_two_presses_begin_one_attempt(hands: Hands, qtbot: QtBot) -> None:
    hands.room.choose.trainee.put("AB")
    hands.click(hands.room.choose.begin)
    hands.click(hands.room.choose.begin)
    qtbot.waitUntil(hands._has_shift)
    with qtbot.waitSignal(hands.room.loaded):
        hands.room.open()
    assert len(hands.room.choose.kept) == 1
    assert hands.room.choose.resume.isEnabled()


def test_while_a_debrief_is_worked_out_the_list_says_so_and_somebody_may_go_on(
    hands: Hands, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    hands.begin(1)
    worked = threading.Event()

    def slow(_store: Store, _chain: str) -> object:
        worked.wait(5.0)
        raise ValueError("nothing")

    monkeypatch.setattr("washmon.gui.practice.room.debrief_of", slow)
    chain = hands.practice.chain
    hands.room._ended(chain)
    assert hands.room.pages.currentWidget() is hands.room.choose
    assert "Working out" in hands.room.choose.message.words.text()
    hands.room.open_shelf()
    with qtbot.waitSignal(hands.room.loaded):
        worked.set()
    assert hands.room.pages.currentWidget() is hands.room.shelf


def test_nobody_practises_without_initials(hands: Hands) -> None:
    hands.click(hands.room.choose.begin)
    assert hands.room.play is None
    assert hands.room.choose.trainee.fault.text
    hands.room.choose.trainee.put("ABCDEFGHI")
    hands.click(hands.room.choose.begin)
    assert "8 letters at most" in hands.room.choose.trainee.fault.text


def test_everything_of_practice_fits_the_smallest_window(hands: Hands) -> None:
    hands.begin(1)
    hands.page.bar.briefing.click()
    for part in (
        hands.page.bar,
        hands.page.lesson.window,
        hands.room.choose,
        hands.room.shelf,
        hands.room.debrief,
    ):
        assert part.minimumSizeHint().width() <= SMALLEST_PX[0] - 2 * EDGE_PX
    # The row of entries, which is the Board's own, is what needs most.
    assert hands.room.minimumSizeHint().width() <= 1280
    assert hands.room.minimumSizeHint().height() <= SMALLEST_PX[1]


def test_what_comes_next_is_read_whole_on_a_small_screen(hands: Hands, qtbot: QtBot) -> None:
    hands.begin(6)
    batch = hands.page.bar.batch
    for size in (SMALLEST_PX, (1366, 768), SMALLEST_PX):
        hands.room.resize(*size)
        qtbot.waitUntil(lambda: batch.width() >= batch.sizeHint().width())


def test_a_recorded_shift_becomes_a_scenario_on_the_list_and_the_shelf(
    hands: Hands, tmp_path: Path
) -> None:
    shed = Shed()
    shed.fill()
    shed.dose(ml=200)
    shed.wait(6).read(fac=50, ph=7.0)
    for _ in range(4):
        shed.wait(4).wash()
    keep(hands.client.recorder, hands.qtbot, shed)
    choose = hands.room.choose
    with hands.qtbot.waitSignal(hands.room.making.made, timeout=20_000):
        hands.room.make_from(CHAIN)
    assert "Made from the shift" in choose.message.words.text()
    chosen = choose.chosen()
    assert chosen is not None
    assert chosen[0].title.startswith("From a recorded shift")
    assert len(list((tmp_path / "practice" / "scenarios").glob("*.toml"))) == 1
    choose.trainee.put("AB")
    hands.click(choose.begin)
    hands.qtbot.waitUntil(hands._has_shift)
    shift = hands.page._snapshot.shift if hands.page._snapshot else None
    assert shift is not None
    assert [one.name for one in shift.setup.tanks] == [one.name for one in shed.shift.setup.tanks]


def test_a_shift_that_cannot_be_practised_is_refused_in_a_sentence(hands: Hands) -> None:
    keep(hands.client.recorder, hands.qtbot, Shed())
    with hands.qtbot.waitSignal(hands.room.making.made, timeout=20_000):
        hands.room.make_from(CHAIN)
    assert "Fewer than two batches" in hands.room.choose.message.words.text()


def keep(recorder: Recorder, qtbot: QtBot, shed: Shed) -> None:
    """Journal a shift beside practice, as it would have been recorded."""

    def write(store: Store) -> None:
        for entry in shed.shift.entries:
            store.append(CHAIN, [entry.event], entry.recorded_at)

    written = recorder.read(write)
    qtbot.waitUntil(written.done)
    written.result()
