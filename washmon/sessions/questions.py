"""Questions at a replay: the moments that teach, and an answer held against rules and record."""

import hashlib
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from typing import NamedTuple

from msgspec import UNSET, Struct

from washmon.line.event_base import RULES
from washmon.line.events import (
    AcidAdded,
    BatchWashed,
    DoseAdded,
    Event,
    HoldPlaced,
    ReadingTaken,
    SecondSwapped,
    TankFilled,
    WaterExchanged,
)
from washmon.line.flags import Amount, Flag, Step, StepKind
from washmon.line.message import Figure, Message
from washmon.planning.advice import Advice, by_urgency
from washmon.sessions.file import LessonKind
from washmon.sessions.player import Player
from washmon.units import Kind

LOOKED_AHEAD = timedelta(minutes=30)
"""So long after a question something counts as the answer that was given then."""
MOST, APART_S, MOST_CHECKS = 8, 600.0, 2
"""So many usual questions in a shift at most, so far apart; of them so few whose answer is to
measure. Common practice, no published source: many questions of one kind are answered asleep."""
NEAR = 0.2
"""An amount within a fifth of the rules' one is as good."""
CHOICES = (
    StepKind.CHECK,
    StepKind.DOSE,
    StepKind.ACID,
    StepKind.LOWER,
    StepKind.CHANGE_WATER,
    StepKind.HOLD,
    StepKind.WAIT,
    StepKind.LEAVE,
    StepKind.LOOK,
    StepKind.WARM,
    StepKind.CONTACT,
    StepKind.FILL,
    StepKind.VERIFY,
)
SELDOM = frozenset({StepKind.WARM, StepKind.CONTACT, StepKind.FILL, StepKind.VERIFY})
"""Offered only where one of them is wanted."""
_DOES: dict[type[Event], StepKind] = {
    ReadingTaken: StepKind.CHECK,
    DoseAdded: StepKind.DOSE,
    AcidAdded: StepKind.ACID,
    WaterExchanged: StepKind.LOWER,
    TankFilled: StepKind.CHANGE_WATER,
    SecondSwapped: StepKind.CHANGE_WATER,
    HoldPlaced: StepKind.HOLD,
}


class Question(Struct, frozen=True, kw_only=True):
    """One moment at which to ask; ``text`` is the trainer's own question, empty for the usual."""

    offset_s: float
    at: datetime
    tank: int
    flags: tuple[Flag, ...] = ()
    text: str = ""
    answers: tuple[str, ...] = ()
    """The trainer's own answers, the right one first; empty where steps are offered."""
    wanted: StepKind | None = None
    """What the plan asked for at that moment, as it was told then; None where it was not told."""


class Given(NamedTuple):
    """What somebody would do: the kind of step and, where one goes in, how much; and to which tank.

    ``tank`` 0 is the one that was asked about. ``words`` is one of a question's own answers.
    """

    kind: StepKind
    amount: Amount | None = None
    tank: int = 0
    words: str = ""


class AnswerVerdict(Struct, frozen=True, kw_only=True):
    """An answer beside the rules' step and what was done then."""

    agrees: bool
    said: Message
    rules: Step
    done: Event | None = None
    done_agrees: bool | None = None


def questions(player: Player) -> tuple[Question, ...]:
    """Return where to ask, in order.

    That is where flags came up or a plan came to ask for another kind of step, a few of these and
    of as many kinds as there are, and wherever the trainer asks.
    """
    found = few(list(_usual(player)))
    for lesson in player.session.lessons:
        before = (one for one in player.events if one.entry.seq <= lesson.after)
        played = max(before, key=lambda one: one.entry.seq, default=None)
        if lesson.kind is LessonKind.QUESTION and played is not None:
            found.append(
                Question(
                    offset_s=played.offset_s,
                    at=played.at,
                    tank=lesson.tank or _tank_of(played.event, player),
                    text=lesson.text,
                    answers=() if lesson.answers is UNSET else lesson.answers,
                )
            )
    return tuple(sorted(found, key=lambda question: question.offset_s))


def few(usual: Sequence[Question]) -> list[Question]:
    """Return some questions, in turn of each kind, what presses most first; none near another."""
    waiting: dict[StepKind | None, list[Question]] = {}
    for question in usual:
        waiting.setdefault(question.wanted, []).append(question)
    kinds = sorted(waiting, key=lambda kind: len(StepKind) if kind is None else kind.rank)
    chosen: list[Question] = []
    while len(chosen) < MOST and any(waiting.values()):
        for kind in kinds:
            checks = sum(one.wanted is StepKind.CHECK for one in chosen)
            if kind is StepKind.CHECK and checks >= MOST_CHECKS:
                waiting[kind] = []
            far = [one for one in waiting[kind] if _is_far(one, chosen)]
            chosen += far[:1]
            waiting[kind] = far[1:]
    return chosen[:MOST]


def _is_far(question: Question, others: Sequence[Question]) -> bool:
    return all(abs(question.offset_s - one.offset_s) >= APART_S for one in others)


def _usual(player: Player) -> Iterator[Question]:
    last: dict[int, StepKind] = {}
    for change in player.changes:
        tanks = [flag.tank for flag in by_urgency(change.raised)]
        for plan in change.plans:
            if plan.hand and last.get(plan.tank) is not plan.now.kind:
                tanks.append(plan.tank)
            last[plan.tank] = plan.now.kind
        if tanks:
            yield Question(
                offset_s=change.offset_s,
                at=change.at,
                tank=tanks[0],
                flags=change.raised,
                wanted=last.get(tanks[0]),
            )


def _tank_of(event: Event, player: Player) -> int:
    tank = getattr(event, "tank", None)
    return tank if isinstance(tank, int) else player.session.setup.tanks[0].number


def done_then(player: Player, question: Question) -> Event | None:
    """Return what somebody did about a tank soon after, if they did."""
    until = question.at + LOOKED_AHEAD
    for played in player.events:
        event = played.event
        late = (played.offset_s, played.at) > (question.offset_s, question.at)
        if not late or played.at > until or event.by == RULES or isinstance(event, BatchWashed):
            continue
        if getattr(event, "second", False):  # it was done to other water
            continue
        if type(event) in _DOES and getattr(event, "tank", None) == question.tank:
            return event
    return None


def judge(given: Given, question: Question, advice: Advice, done: Event | None) -> AnswerVerdict:
    """Hold an answer against the rules' step for the tank, and against what was done then."""
    step = advice.tank(question.tank).step
    if question.answers:
        return _by_trainer(given, question, step, done)
    agrees, said = _against(given, step)
    if given.tank not in {0, question.tank}:
        agrees, said = False, Message("Tank {tank} presses more.", {"tank": question.tank})
    verdict = AnswerVerdict(agrees=agrees, said=said, rules=step, done=done)
    if done is None:
        return verdict
    amount = done.amount if isinstance(done, DoseAdded | AcidAdded) else None
    same, _ = _against(Given(_DOES[type(done)], amount), step)
    return AnswerVerdict(agrees=agrees, said=said, rules=step, done=done, done_agrees=same)


def _by_trainer(given: Given, question: Question, step: Step, done: Event | None) -> AnswerVerdict:
    """Hold an answer against the trainer's own right one."""
    right = question.answers[0]
    agrees = given.words == right
    said = Message("That is right.")
    if not agrees:
        said = Message("Right would be: {answer}.", {"answer": right})
    return AnswerVerdict(agrees=agrees, said=said, rules=step, done=done)


def offered(question: Question) -> tuple[str, ...]:
    """Return a question's own answers in an order that gives nothing away, always the same."""
    return tuple(sorted(question.answers, key=lambda one: hashlib.sha256(one.encode()).digest()))


def _against(given: Given, step: Step) -> tuple[bool, Message]:
    if given.kind is not step.kind:
        return False, Message("The rules would do something else first.")
    if step.amount is None:
        return True, Message("The rules say so too.")
    if given.amount is None or given.amount.unit != step.amount.unit:
        return False, Message("The step is the rules' one; the amount is missing.")
    low = step.amount_low if step.amount_low is not None else step.amount.value * (1 - NEAR)
    high = step.amount_high if step.amount_high is not None else step.amount.value * (1 + NEAR)
    low, high = min(low, step.amount.value * (1 - NEAR)), max(high, step.amount.value * (1 + NEAR))
    if low <= given.amount.value <= high:
        return True, Message("The rules say so too, and the amount is near theirs.")
    kind = Kind.SMALL_VOLUME if step.amount.unit == "mL" else Kind.MASS
    figures: dict[str, Figure | str | int] = {
        "right": Figure(round(step.amount.value), kind),
        "off": Figure(round(100 * abs(given.amount.value / step.amount.value - 1)), Kind.PERCENT),
    }
    more = given.amount.value > step.amount.value
    text = "The step is right, but that is {off} more than {right}."
    if not more:
        text = "The step is right, but that is {off} less than {right}."
    return False, Message(text, dict(figures))
