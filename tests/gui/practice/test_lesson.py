"""A lesson driven through the real windows: the trainer's with the truth, the trainee's without."""

import re
from functools import cache
from pathlib import Path

import pytest
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLabel, QWidget
from pytestqt.qtbot import QtBot

from tests import ears, looks
from tests.gui.plots import plots_in
from tests.gui.practice.conftest import NOW, Hands
from tests.some import some
from washmon.gui import practice
from washmon.gui.kit.confirm import ConfirmQuestion
from washmon.gui.practice import room
from washmon.gui.practice.debrief_words import moment_words, teaching_sentences
from washmon.gui.practice.offered_question import offered
from washmon.gui.practice.side_by_side import same_water
from washmon.gui.practice.trainer_desk import standing
from washmon.gui.practice.trainer_window import ASK, CHANGE, LOG, TrainerWindow
from washmon.line.events import TankFilled
from washmon.line.practice_events import Asked, BehindTheScenes, WorldChange
from washmon.recorder.attempts import attempt_of
from washmon.sessions.debrief.facts import facts_of
from washmon.sessions.debrief.score import Debrief, debrief
from washmon.sessions.debrief.slips import Slip, SlipKind
from washmon.sessions.practice.attempt import Run
from washmon.sessions.practice.scenario_files import scenarios
from washmon.sessions.practice.trainee import GOOD, scripted
from washmon.store.store import Store
from washmon.units import Kind

TRAINERS = {
    "offered_question.py",
    "trainer_desk.py",
    "trainer_panel.py",
    "trainer_window.py",
    "truth_panel.py",
}
DEBRIEFS = {"chart_views.py", "debrief_words.py"}


def open_trainer(hands: Hands) -> TrainerWindow:
    """Open the trainer's window, where there is one screen after a question."""
    hands.click(hands.page.bar.trainer)
    for question in hands.page.findChildren(ConfirmQuestion):
        hands.click(question.yes)
    window = hands.page.lesson.window
    assert window.isVisible()
    return window


def begin_short(hands: Hands, who: str, showing: str = "on") -> None:
    """Begin a short form of the scenario in which a colleague has made up the tanks."""
    text = scenarios()[5][1].replace("minutes = 200", "minutes = 121")
    hands.room._shelf.keep(text)
    choose = hands.room.choose
    choose.load(text)
    choose.trainee.put(who)
    choose.showing.choose(showing)
    hands.click(choose.begin)
    hands.qtbot.waitUntil(hands._has_shift)


@pytest.mark.parametrize(
    ("kind", "tanks", "count", "cost", "words"),
    [
        (SlipKind.CHECK_LATE, (1,), 1, 0.9, "tank 1: 1 batch went in while .*; about 1 point[.]"),
        (SlipKind.CHECK_LATE, (1, 2), 4, 3.1, "tanks 1 and 2: 4 batches went .*; about 3 points"),
        (SlipKind.LATE_ANSWER, (2,), 1, 2.0, "tank 2: a pressing flag waited; about 2 points"),
        (SlipKind.TOO_MUCH, (2,), 1, 2.0, "too much was put in; about 2 points"),
        (SlipKind.OVER_LABEL, (2,), 2, 5.0, "the label's maximum was passed; about 5 points"),
    ],
)
def test_one_of_something_is_told_as_one(
    kind: SlipKind, tanks: tuple[int, ...], count: int, cost: float, words: str
) -> None:
    slip = Slip(kind=kind, at=NOW, until=NOW, tanks=tanks, cost=cost, count=count)
    assert re.search(words, moment_words(slip))


@cache
def going_home(text: str) -> Run:
    """Return the attempt of somebody good who washes one batch."""
    return scripted(text, replace(GOOD, stops_after=1))


@pytest.fixture
def soon(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the yardstick of a debrief go home early: here nobody looks at the score."""

    def debriefed(store: Store, chain: str) -> Debrief:
        entries = store.entries(chain)
        return debrief(chain, entries, going_home(attempt_of(entries).scenario))

    monkeypatch.setattr(room, "debrief_of", debriefed)


def told_behind(hands: Hands, chain: str) -> list[BehindTheScenes]:
    with Store.open(hands.path, read_only=True) as store:
        events = [entry.event for entry in store.entries(chain)]
    behind = [one for one in events if isinstance(one, BehindTheScenes)]
    return [one for one in behind if one.attempt is None]


def shown_words(page: QWidget) -> str:
    """Return all that a person can read in a window, its sheets and tips included."""
    seen = [one for one in page.findChildren(QLabel) if one.window() is page.window()]
    return " ".join(f"{one.text()} {one.toolTip()} {one.accessibleName()}" for one in seen)


def ask(window: TrainerWindow, *, by_class: bool) -> None:
    panel = window.asking
    window.turn.button(ASK).click()
    panel.put(Asked(question="What comes first?", answers=("Wash", "Measure", "Wait"), right=1))
    panel.to.button("class" if by_class else "trainee").click()
    panel.ask.click()


def ask_the_class(hands: Hands, window: TrainerWindow) -> None:
    """Ask, let the trainer count hands, reveal, and go on: the shift stands meanwhile."""
    hands.click(hands.page.bar.play)
    assert hands.practice.play_clock.running
    ask(window, by_class=True)
    assert not hands.practice.play_clock.running
    cover = hands.page.lesson.cover
    assert cover.isVisible()
    assert cover.question.text() == "What comes first?"
    assert not hands.page.board.isEnabled()
    assert not any(one.button.isEnabled() for one in some(cover.answers))
    for at, count in ((0, 4), (1, 7), (2, 1)):
        for _ in range(count):
            window.asking.more[at].click()
    window.asking.fewer[0].click()
    assert [one.text() for one in window.asking.counts[:3]] == ["3", "7", "1"]
    assert not any(one.count.isVisible() for one in some(cover.answers))
    window.asking.reveal.click()
    assert [one.count.text() for one in cover.answers] == ["3", "7", "1"]
    assert [one.mark.isVisible() for one in cover.answers] == [False, True, False]
    assert "7 of 11" in cover.foot.text()
    window.asking.go_on.click()
    assert cover.isHidden()
    assert hands.page.board.isEnabled()
    assert hands.practice.play_clock.running
    hands.practice.play_clock.pause()


@pytest.mark.usefixtures("soon")
def test_a_lesson_from_its_beginning_to_its_debrief(hands: Hands, qtbot: QtBot) -> None:
    begin_short(hands, "AB", showing="off")
    page, chain = hands.page, hands.practice.chain
    window = open_trainer(hands)

    # What is true and what is coming stand in the trainer's window.
    free = hands.practice.stage.line.level_mg_l(1)
    assert window.truth.values[1, 0].text() == page.person.show(free, Kind.CONCENTRATION)
    assert window.truth.values[2, 5].text().endswith("ago")
    assert "a batch of P-" in window.coming.text()
    assert "the time is over" in window.coming.text()

    # A change, and one that is taken back.
    line = hands.practice.stage.line
    share, load = line.strength_share, line.world.dirtiness
    hands.click(window.panel.weak)
    qtbot.waitUntil(lambda: hands.practice.stage.line.strength_share == share / 2)
    window.panel.loads.button("muddy").click()
    qtbot.waitUntil(lambda: hands.practice.stage.line.world.dirtiness == "muddy")
    hands.click(window.undo)
    qtbot.waitUntil(lambda: line.world.dirtiness == load)
    assert line.strength_share == share / 2

    ask_the_class(hands, window)

    # The log, and after the end the debrief, tell all of it.
    qtbot.waitUntil(lambda: len(told_behind(hands, chain)) == 4)
    window.turn.button(LOG).click()
    qtbot.waitUntil(lambda: (window.draw(), len(window.log_model.rows) == 4)[1])
    with qtbot.waitSignal(hands.room.loaded, timeout=60_000):
        page._finish(yes=True)
    assert hands.room.pages.currentWidget() is hands.room.debrief
    found, person = hands.room.debrief._found, hands.room.debrief._person
    assert found is not None
    assert person is not None
    said = " ".join(teaching_sentences(found, person))
    assert "product at 50 % of its first strength" in said
    assert "load muddy" in said
    assert f"load {load}" in said
    assert "7 of 11 were right: Measure" in said


def test_the_trainee_s_window_never_shows_the_truth(hands: Hands, qtbot: QtBot) -> None:
    hands.begin(6, showing="off")
    window = open_trainer(hands)
    hands.practice.pass_minutes(3.0)
    window.panel.loads.button("muddy").click()
    qtbot.waitUntil(lambda: hands.practice.stage.line.world.dirtiness == "muddy")
    window.draw()
    truths = {text.text() for (_, row), text in window.truth.values.items() if row in {2, 3}}
    assert len(truths) == 4
    ask(window, by_class=False)
    for _ in range(2):
        words = shown_words(hands.room)
        assert not [one for one in truths if re.search(rf"(?<![\d.]){re.escape(one)}", words)]
        assert "muddy" not in words.casefold()
        assert not hands.room.findChildren(TrainerWindow)[0].isAncestorOf(hands.page)
        window.asking.go_on.click()
    assert window.isWindow()
    assert hands.room.window() is not window


def test_a_trainee_answers_on_their_own_screen_and_changes_their_mind(
    hands: Hands, qtbot: QtBot
) -> None:
    hands.begin(1)
    window = open_trainer(hands)
    ask(window, by_class=False)
    cover = hands.page.lesson.cover
    QTest.mouseClick(cover.answers[0].button, Qt.MouseButton.LeftButton)
    QTest.keyClicks(cover, "b")
    asked = window.desk.asked
    assert asked is not None
    assert asked.counts == (0, 1, 0)
    assert [one.button.isChecked() for one in cover.answers] == [False, True, False]
    window.asking.reveal.click()
    QTest.keyClicks(cover, "c")
    assert window.desk.asked is not None
    assert window.desk.asked.counts == (0, 1, 0)
    window.close()  # nobody is left behind a question
    assert cover.isHidden()
    qtbot.waitUntil(lambda: len(told_behind(hands, hands.practice.chain)) == 1)


def test_a_question_that_cannot_be_answered_is_not_asked(hands: Hands) -> None:
    hands.begin(1)
    window = open_trainer(hands)
    panel = window.asking
    for answers, right, words in (
        (("Yes", "", ""), 0, "two answers"),
        (("Yes", "No", ""), 2, "right answer is empty"),
        (("", "", ""), 0, "two answers"),
        (("Yes", "Yes", "No"), 0, "the same"),
    ):
        panel.put(Asked(question="Well?", answers=answers, right=right))
        panel.ask.click()
        assert words in panel.message.words.text()
    panel.put(Asked(question="", answers=("Yes", "No"), right=0))
    panel.ask.click()
    assert panel.question.fault.text
    assert window.desk.asked is None
    panel.put(Asked(question="Well?", answers=("Yes", "", "No"), right=2))
    panel.ask.click()  # an empty answer before the right one moves it up
    asked = Asked(question="Well?", answers=("Yes", "No"), right=1, counts=(0, 0))
    assert window.desk.asked == asked


def test_what_has_changed_since_is_not_taken_back(hands: Hands, qtbot: QtBot) -> None:
    hands.begin(2)
    window = open_trainer(hands)
    stage = hands.practice.stage
    window.panel.loads.button("clean").click()
    qtbot.waitUntil(lambda: stage.line.world.dirtiness == "clean")
    hands.practice.pass_minutes(60.0)  # at 10:00 a muddy load comes
    assert stage.line.world.dirtiness == "muddy"
    hands.click(window.undo)
    assert "changed since" in window.message.words.text()
    assert stage.line.world.dirtiness == "muddy"
    assert not window.undo.isEnabled()


def test_what_is_so_already_is_no_change_to_take_back(hands: Hands, qtbot: QtBot) -> None:
    hands.begin(2)
    window = open_trainer(hands)
    line = hands.practice.stage.line
    window.panel.loads.button(line.world.dirtiness.value).click()
    assert not window.undo.isEnabled()
    for _ in range(2):
        hands.click(window.panel.weak)
        qtbot.waitUntil(lambda: line.strength_share == 0.5)
    hands.click(window.undo)
    qtbot.waitUntil(lambda: line.strength_share == 1.0)
    assert "as before" in window.message.words.text()


def test_a_question_of_empty_tanks_asks_for_water_not_for_their_chlorine(hands: Hands) -> None:
    hands.begin(1)
    stage = hands.practice.stage
    asked = offered(stage, None, hands.page.person)
    assert "empty" in asked.question
    assert asked.answers[asked.right].startswith("Water")
    stage.act(TankFilled(at=stage.now, by="AB", tank=2, volume_l=480.0), 2)
    stage.advance(10.0)
    asked = offered(stage, None, hands.page.person)
    assert "Second dunk" in asked.question
    assert asked.answers[asked.right].split() == ["About", "0", "ppm"]


def test_how_things_stand_is_said_as_a_change_would_say_it(hands: Hands) -> None:
    hands.begin(4)  # half as strong as its label from the first
    stage = hands.practice.stage
    stage.change(WorldChange(strength_share=0.6, decay_share=3.0))
    told = standing(stage, WorldChange(strength_share=1.0, decay_share=1.0))
    assert told == WorldChange(strength_share=0.6, decay_share=3.0)


def test_a_question_is_offered_from_how_things_stand(hands: Hands) -> None:
    hands.begin(6)
    window = open_trainer(hands)
    window.turn.button(ASK).click()
    window.asking.offer.click()
    assert window.asking.question.text.startswith("First dunk")
    window.asking.ask.click()
    asked = window.desk.asked
    assert asked is not None
    assert 0 <= asked.right < len(asked.answers)


def test_the_scenarios_own_questions_are_offered_first_and_each_once(hands: Hands) -> None:
    hands.begin(6)
    stage = hands.practice.stage
    stage.scenario = replace(stage.scenario, asks=("Why does it fall? | Soil | Sun | Wind",))
    window = open_trainer(hands)
    window.turn.button(ASK).click()
    window.asking.offer.click()
    assert window.asking.question.text == "Why does it fall?"
    window.asking.ask.click()
    asked = window.desk.asked
    assert asked is not None
    assert sorted(asked.answers) == ["Soil", "Sun", "Wind"]
    assert asked.answers[asked.right] == "Soil"
    window.asking.reveal.click()
    window.asking.go_on.click()
    hands.qtbot.waitUntil(lambda: _was_asked(hands, "Why does it fall?"))
    window.asking.offer.click()
    assert window.asking.question.text.startswith("First dunk")


def _was_asked(hands: Hands, question: str) -> bool:
    shift = hands.page._snapshot.shift if hands.page._snapshot is not None else None
    entries = shift.entries if shift is not None else ()
    told = [one.event.asked for one in entries if isinstance(one.event, BehindTheScenes)]
    return any(isinstance(one, Asked) and one.question == question for one in told)


def test_one_screen_is_asked_about_before_the_truth_stands_on_it_and_another_is_not(
    hands: Hands, monkeypatch: pytest.MonkeyPatch
) -> None:
    hands.begin(1)
    hands.click(hands.page.bar.trainer)
    (question,) = hands.page.findChildren(ConfirmQuestion)
    hands.click(question.no)
    assert hands.page.lesson.window.isHidden()
    beside = hands.room.screen()
    for module in ("lesson", "trainer_window"):
        name = f"washmon.gui.practice.{module}.other_screen"
        monkeypatch.setattr(name, lambda _page: beside)
    hands.click(hands.page.bar.trainer)
    window = hands.page.lesson.window
    assert window.isVisible()
    assert window.isMaximized()


@pytest.mark.usefixtures("soon")
def test_two_attempts_on_the_same_water_stand_side_by_side(hands: Hands, qtbot: QtBot) -> None:
    choose = hands.room.choose
    for load in ("muddy", ""):
        begin_short(hands, "AB")
        if load:
            hands.practice.change_world(WorldChange(dirtiness=load))
            qtbot.waitUntil(lambda: hands.practice.stage.line.world.dirtiness == "muddy")
        with qtbot.waitSignal(hands.room.loaded):
            hands.room.open()
        assert choose.pair.isEnabled() is not bool(load)  # one alone has nothing beside it
    kept = choose.current()
    assert kept is not None
    (other,) = same_water(kept, choose.kept)
    assert other.row.chain != kept.row.chain
    pair = hands.room.pair
    with qtbot.waitSignal(hands.room.loaded, timeout=60_000):
        hands.click(choose.pair)
    assert hands.room.pages.currentWidget() is pair
    first, second = pair.model.heads[1:]
    assert first != second  # the same person on the same day: told apart by the time
    assert pair.model.rows[-1][0].text == "Score"
    assert pair._plots.count() == 2
    pair.plotted.button("ph").click()
    plots = plots_in(pair._plots)
    assert {one.accessibleName().split(" of ")[0] for one in some(plots)} == {"True pH"}
    assert "the trainer made it so: load muddy" in pair.message.words.text()


def test_the_trainer_s_window_and_a_question_are_whole_on_a_small_screen(hands: Hands) -> None:
    hands.begin(6)
    window = open_trainer(hands)
    window.resize(1024, 600)
    faults = []
    for page in (CHANGE, ASK, LOG):
        window.turn.button(page).click()
        hands.qtbot.wait(10)
        faults += [*looks.faults(window), *ears.faults(window)]
    hands.room.resize(1024, 566)
    ask(window, by_class=True)
    hands.qtbot.wait(10)
    faults += looks.faults(hands.room)
    window.asking.reveal.click()
    hands.qtbot.wait(10)
    faults += [*looks.faults(hands.room), *looks.faults(window)]
    assert faults == []


def test_hints_are_shown_one_by_one_told_in_the_debrief_and_there_after_a_restart(
    hands: Hands, qtbot: QtBot
) -> None:
    hints = '\nhints = ["Look at the card.", "What was washed since?"]\n'
    text = scenarios()[0][1].replace("version = 1\n", f"version = 3\n{hints}")
    hands.room._shelf.keep(text)
    hands.room.choose.load(text)
    hands.room.choose.trainee.put("AB")
    hands.click(hands.room.choose.begin)
    qtbot.waitUntil(hands._has_shift)
    briefing, chain = hands.page.briefing, hands.practice.chain
    hands.click(hands.page.bar.briefing)
    assert briefing.hints.isHidden()
    hands.click(briefing.more)
    assert briefing.hints.text() == "Look at the card."
    qtbot.waitUntil(lambda: len(told_behind(hands, chain)) == 1)
    with qtbot.waitSignal(hands.room.loaded):
        hands.room.open()
    hands.click(hands.room.choose.resume)
    qtbot.waitUntil(hands._has_shift)
    again = hands.page.briefing
    assert again.hints.text() == "Look at the card."
    again.more.click()
    assert again.more.isHidden()
    qtbot.waitUntil(lambda: len(told_behind(hands, chain)) == 2)
    with Store.open(hands.path, read_only=True) as store:
        facts = facts_of(chain, store.entries(chain))
    assert [hint for _, hint in facts.hints] == ["Look at the card.", "What was washed since?"]


def test_only_what_a_trainer_sees_asks_what_is_true() -> None:
    """Of the pages of practice; the debrief speaks of what is over."""
    folder = Path(practice.__file__).parent
    asks = {
        path.name
        for path in folder.glob("*.py")
        if re.search(r"\.truth\b[^.]|\.level_mg_l\(|strength_share\b", path.read_text("utf-8"))
    }
    assert asks == TRAINERS | DEBRIEFS
