"""Questions at a replay, and a trainer's lessons in the session file."""

from itertools import pairwise
from pathlib import Path

import pytest

from washmon import data
from washmon.line.event_base import RULES
from washmon.line.events import DoseAdded
from washmon.line.flags import Amount, StepKind
from washmon.line.message import say
from washmon.sessions.file import (
    Lesson,
    LessonKind,
    Session,
    SessionFileError,
    parse,
    read,
    write_lessons,
)
from washmon.sessions.player import Player
from washmon.sessions.questions import (
    APART_S,
    CHOICES,
    MOST,
    MOST_CHECKS,
    Given,
    Question,
    done_then,
    judge,
    offered,
    questions,
)
from washmon.units import UnitSystem


@pytest.fixture(scope="module")
def demo() -> Path:
    return data.demo_sessions()[0]


@pytest.fixture(scope="module")
def player(demo: Path) -> Player:
    return Player(read(demo))


def first(player: Player, kind: StepKind) -> Question:
    """Go to the first question whose answer is of a kind."""
    for question in questions(player):
        player.seek_position(question.offset_s)
        if player.snapshot.advice.tank(question.tank).step.kind is kind:
            return question
    raise AssertionError(kind)


def test_a_few_questions_of_many_kinds_are_asked_where_flags_came_up() -> None:
    for path in data.demo_sessions():
        player = Player(read(path))
        asked = questions(player)
        assert 3 <= len(asked) <= MOST
        assert min(late.offset_s - soon.offset_s for soon, late in pairwise(asked)) >= APART_S
        wanted = [one.wanted for one in asked]
        assert wanted.count(StepKind.CHECK) <= MOST_CHECKS
        raised = {change.offset_s for change in player.changes}
        assert {one.offset_s for one in asked} <= raised
        for one in asked:
            player.seek_position(one.offset_s)
            step = player.snapshot.advice.tank(one.tank).step
            assert step.kind in CHOICES  # what is wanted is among what is offered


def test_the_wrong_tank_is_told(player: Player) -> None:
    question = first(player, StepKind.DOSE)
    other = 3 - question.tank
    verdict = judge(Given(StepKind.DOSE, None, other), question, player.snapshot.advice, None)
    assert not verdict.agrees
    assert say(verdict.said, UnitSystem.METRIC) == f"Tank {question.tank} presses more."


def test_a_question_is_asked_where_a_plan_comes_to_ask_for_another_step(player: Player) -> None:
    asked = questions(player)
    assert len(asked) >= 3
    assert [q.flags for q in asked] == [()] * len(asked)  # nothing was wrong in that shift
    for question in asked:
        player.seek_position(question.offset_s - 1.0)
        before = player.snapshot.advice.tank(question.tank).plan.now.kind
        player.seek_position(question.offset_s)
        plan = player.snapshot.advice.tank(question.tank).plan
        assert plan.hand
        assert plan.now.kind is not before


def test_an_answer_is_held_against_the_rules_and_their_amount(player: Player) -> None:
    question = first(player, StepKind.DOSE)
    advice = player.snapshot.advice
    amount = advice.tank(question.tank).step.amount
    assert amount is not None
    done = done_then(player, question)

    def told(kind: StepKind, value: float | None = None) -> tuple[bool, str]:
        given = Given(kind, None if value is None else Amount(value, amount.unit))
        verdict = judge(given, question, advice, done)
        return verdict.agrees, say(verdict.said, UnitSystem.METRIC)

    assert told(StepKind.DOSE, amount.value) == (
        True,
        "The rules say so too, and the amount is near theirs.",
    )
    too_much, words = told(StepKind.DOSE, 3 * amount.value)
    assert not too_much
    assert "200\N{NO-BREAK SPACE}% more" in words
    assert not told(StepKind.DOSE)[0]
    assert not told(StepKind.HOLD)[0]


def test_what_was_done_then_is_found_and_judged_alike(player: Player) -> None:
    question = first(player, StepKind.DOSE)
    done = done_then(player, question)
    assert isinstance(done, DoseAdded)
    assert done.tank == question.tank
    assert done.by != RULES
    verdict = judge(Given(StepKind.LOOK), question, player.snapshot.advice, done)
    assert verdict.done_agrees is True
    assert not verdict.agrees


LESSONS = (
    Lesson(after=3, kind=LessonKind.NOTE, text="See how the level falls: «watch»."),
    Lesson(after=8, kind=LessonKind.QUESTION, text="What is missing here?", tank=2),
)
OWN = Lesson(
    after=8,
    kind=LessonKind.QUESTION,
    text="Why does it fall?",
    answers=("Soil", "Sun", "The strips are old"),
)


def test_lessons_travel_with_the_session_and_leave_the_shift_as_it_was(
    demo: Path, tmp_path: Path
) -> None:
    before = read(demo)
    target = tmp_path / "lesson.washshift"
    write_lessons(target, before, LESSONS)
    after = read(target)
    assert after.lessons == LESSONS
    assert after.entries == before.entries
    assert after.header.head == before.header.head
    assert after.header.version == 2
    asked = [q for q in questions(Player(after)) if q.text]
    assert [(q.tank, q.text) for q in asked] == [(2, "What is missing here?")]


def test_a_question_may_have_answers_of_its_own(demo: Path, tmp_path: Path) -> None:
    target = tmp_path / "lesson.washshift"
    write_lessons(target, read(demo), (*LESSONS, OWN))
    after = read(target)
    assert after.lessons == (*LESSONS, OWN)
    assert after.header.version == 3
    player = Player(after)
    (asked,) = [one for one in questions(player) if one.answers]
    assert sorted(offered(asked)) == sorted(OWN.answers or ())
    assert offered(asked) == offered(asked)
    advice = player.snapshot.advice

    def told(words: str) -> tuple[bool, str]:
        verdict = judge(Given(StepKind.LOOK, words=words), asked, advice, None)
        return verdict.agrees, say(verdict.said, UnitSystem.METRIC)

    assert told("Soil") == (True, "That is right.")
    assert told("Sun") == (False, "Right would be: Soil.")


def test_a_session_without_lessons_stays_of_the_first_version(demo: Path, tmp_path: Path) -> None:
    target = tmp_path / "lesson.washshift"
    write_lessons(target, read(demo), LESSONS)
    write_lessons(target, read(target), ())
    assert target.read_bytes() == demo.read_bytes()


def test_a_changed_lesson_is_found(demo: Path, tmp_path: Path) -> None:
    target = tmp_path / "lesson.washshift"
    write_lessons(target, read(demo), LESSONS)
    body = target.read_bytes().replace(b"What is missing", b"What is present")
    with pytest.raises(SessionFileError, match="was changed"):
        parse(body, "lesson")


def test_lessons_are_not_saved_with_half_a_shift(demo: Path, tmp_path: Path) -> None:
    whole = read(demo)
    half = Session(header=whole.header, entries=whole.entries[:5], complete=False)
    with pytest.raises(SessionFileError, match="whole one"):
        write_lessons(tmp_path / "half.washshift", half, LESSONS)
    assert not list(tmp_path.iterdir())
