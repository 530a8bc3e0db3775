"""Training by practice: the course, who passed what of it, and when it is due again.

Food-safety rules ask for records of the training of people, with the date, the topic and the
persons trained (21 CFR 112.30(b)(1)). Scenarios, pass mark and months are the shed's own:
common practice, no published source.
"""

import math
from calendar import monthrange
from collections.abc import Iterable
from datetime import date, timedelta
from enum import StrEnum
from typing import NamedTuple

from msgspec import Struct


class Course(Struct, frozen=True, kw_only=True):
    """Scenarios by their titles, in order; ``pass_mark`` is in points of 100.

    What was passed is due again after so many ``months``.
    """

    scenarios: tuple[str, ...]
    pass_mark: float = 70.0
    months: int = 12


def score_words(score: float, course: Course) -> str:
    """Return a score in whole points; with a tenth where it would read as passed and is not."""
    misread = round(score) >= course.pass_mark > score
    return f"{math.floor(10 * score) / 10:.1f}" if misread else f"{score:.0f}"


class Trained(Struct, frozen=True, kw_only=True):
    """A practice attempt that a trainer signs off.

    ``attempt`` is its chain and ``head`` the hash that it ended with, so that what was signed can
    be told from what was changed; ``on`` is the day of the attempt, ``advice`` whether it was
    shown: on, delayed or off; ``score`` is out of 100.
    """

    person: str
    scenario: str
    attempt: str
    head: str
    on: date
    advice: str
    score: float


class Signed(NamedTuple):
    """A sign-off as it stands in the journal: what, by which trainer, and on which day."""

    what: Trained
    trainer: str
    on: date


class Register(Struct, frozen=True, kw_only=True):
    """The course that holds, if one was set, and all sign-offs, the oldest first."""

    course: Course | None = None
    signed: tuple[Signed, ...] = ()

    def of(self, person: str, scenario: str) -> tuple[Signed, ...]:
        """Return the sign-offs of a person in a scenario, the oldest first."""
        return tuple(
            one for one in self.signed if (one.what.person, one.what.scenario) == (person, scenario)
        )


class Standing(StrEnum):
    """How a person stands in one scenario of the course."""

    PASSED = "passed"
    DUE = "due again"
    BELOW = "under the pass mark"
    OPEN = "not yet"


class TrainingStage(NamedTuple):
    """One scenario of the course for one person; ``until`` is the last day on which it holds."""

    scenario: str
    standing: Standing
    best: Signed | None
    until: date | None


def stages(
    register: Register, course: Course, person: str, today: date
) -> tuple[TrainingStage, ...]:
    """Return how a person stands in each scenario of a course, in its order."""
    return tuple(_stage(register, course, person, one, today) for one in course.scenarios)


def _stage(
    register: Register, course: Course, person: str, scenario: str, today: date
) -> TrainingStage:
    found = register.of(person, scenario)
    passed = [one for one in found if one.what.score >= course.pass_mark]
    if not passed:
        best = max(found, key=lambda one: one.what.score, default=None)
        return TrainingStage(scenario, Standing.BELOW if best else Standing.OPEN, best, None)
    newest = max(passed, key=lambda one: one.what.on)
    until = after_months(newest.what.on, course.months)
    return TrainingStage(
        scenario, Standing.PASSED if today <= until else Standing.DUE, newest, until
    )


def completed(found: Iterable[TrainingStage]) -> date | None:
    """Return up to which day a whole course holds; None while something of it is not passed."""
    every = tuple(found)
    untils = [one.until for one in every if one.standing is Standing.PASSED and one.until]
    return min(untils) if every and len(untils) == len(every) else None


SOON_DAYS = 30
"""So long before training is due again it is said: common practice, no published source."""


class DueAgain(NamedTuple):
    """Whose training is due again, or soon will be, and until when all that was passed held."""

    person: str
    until: date


def due_again(register: Register, people: Iterable[str], today: date) -> tuple[DueAgain, ...]:
    """Return whose training no longer holds, or not for long; the first that ended comes first.

    Who has passed nothing yet is not in it, nor is anybody where no course was set.
    """
    course = register.course
    if course is None:
        return ()
    last = today + timedelta(days=SOON_DAYS)
    found = []
    for person in people:
        ways = stages(register, course, person, today)
        ends = [one.until for one in ways if one.until is not None and one.until <= last]
        if ends:
            found.append(DueAgain(person, min(ends)))
    return tuple(sorted(found, key=lambda one: (one.until, one.person)))


def after_months(day: date, months: int) -> date:
    """Return the same day so many months later; the last of a month that has no such day."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))
