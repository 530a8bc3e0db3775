"""What the page of training shows: people, their way through a course, what can be signed off."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date

from washmon.gui.i18n import tr
from washmon.gui.kit.state_mark import MarkState
from washmon.gui.logbook.table import Cell, Listing, Row
from washmon.gui.practice.choose_page import showing_word
from washmon.line.setup import LineSetup
from washmon.line.training import (
    Course,
    Register,
    Standing,
    TrainingStage,
    completed,
    score_words,
    stages,
)
from washmon.recorder.attempts import KeptAttempt
from washmon.sessions.practice.parameters import PracticeError
from washmon.sessions.practice.scenario_files import parse_scenario

_LOOKS = {
    Standing.PASSED: MarkState.IN_LIMITS,
    Standing.DUE: MarkState.ACT,
    Standing.BELOW: MarkState.WATCH,
    Standing.OPEN: MarkState.UNKNOWN,
}


@dataclass(frozen=True)
class Trainees:
    """All that the page knows: the register, finished attempts, and the site's last hash."""

    register: Register = field(default_factory=Register)
    attempts: tuple[KeptAttempt, ...] = ()
    head: str = ""

    def people(self, setup: LineSetup | None) -> tuple[str, ...]:
        """Return the initials of those of the set-up, and of everybody who practised."""
        known = [one.initials for one in setup.people] if setup is not None else []
        tried = [one.attempt.trainee for one in self.attempts]
        told = [one.what.person for one in self.register.signed]
        return tuple(dict.fromkeys([*known, *sorted({*tried, *told})]))

    def unsigned(self, person: str) -> tuple[KeptAttempt, ...]:
        """Return the finished attempts of a person that nobody has signed off, newest first."""
        signed = {one.what.attempt for one in self.register.signed}
        return tuple(
            one
            for one in self.attempts
            if one.attempt.trainee == person and one.row.chain not in signed
        )


def title_of(kept: KeptAttempt) -> str:
    """Return the title of an attempt's scenario."""
    try:
        return parse_scenario(kept.attempt.scenario).title
    except PracticeError:
        return tr("a scenario of another version")


def people_listing(found: Trainees, course: Course, people: Iterable[str], today: date) -> Listing:
    """Return a row for each person: how far through the course, and until when it holds."""
    rows: list[Row] = []
    for person in people:
        ways = stages(found.register, course, person, today)
        passed = sum(one.standing is Standing.PASSED for one in ways)
        until = completed(ways)
        look = MarkState.IN_LIMITS if until else MarkState.WATCH if passed else MarkState.UNKNOWN
        if any(one.standing is Standing.DUE for one in ways):
            look = MarkState.ACT
        rows.append(
            (
                Cell(person, look=look),
                Cell(tr("{passed} of {all}", passed=passed, all=len(ways))),
                Cell(until.isoformat() if until else "–"),
            )
        )
    return Listing((tr("Person"), tr("Passed"), tr("Holds until")), tuple(rows))


def way_listing(ways: Sequence[TrainingStage], course: Course) -> Listing:
    """Return a row for each scenario of the course."""
    heads = (
        tr("Scenario"),
        tr("Standing"),
        tr("Score"),
        tr("On"),
        tr("Advice"),
        tr("Trainer"),
        tr("Holds until"),
    )
    return Listing(heads, tuple(_way_row(place, one, course) for place, one in enumerate(ways, 1)))


def _way_row(place: int, stage: TrainingStage, course: Course) -> Row:
    best = stage.best
    return (
        Cell(f"{place}. {stage.scenario}"),
        Cell(tr(stage.standing.value), look=_LOOKS[stage.standing]),
        Cell(score_words(best.what.score, course) if best else "–", number=True),
        Cell(best.what.on.isoformat() if best else "–"),
        Cell(showing_word(best.what.advice) if best else "–"),
        Cell(best.trainer if best else "–"),
        Cell(stage.until.isoformat() if stage.until else "–"),
    )


def attempts_listing(found: Sequence[KeptAttempt]) -> Listing:
    """Return a row for each attempt that can be signed off."""
    rows = tuple(
        (
            Cell(title_of(one)),
            Cell(f"{one.attempt.begun_at:%Y-%m-%d %H:%M}"),
            Cell(showing_word(one.attempt.advice)),
        )
        for one in found
    )
    return Listing((tr("Attempt"), tr("Begun"), tr("Advice")), rows)
