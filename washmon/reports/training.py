"""The register of training, and the certificate of a person: rows for a file, and pages.

The same inputs give the same bytes. Who made it and when are inputs, too.
"""

from collections.abc import Callable, Iterable, Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import date, datetime

from washmon.line.state import ShiftState
from washmon.line.training import (
    Course,
    Register,
    Signed,
    TrainingStage,
    after_months,
    completed,
    score_words,
    stages,
)
from washmon.reports.cells import Column
from washmon.reports.csv_export import CsvPart, in_csv, rows_in_csv
from washmon.reports.paper import PaperSize, Running, Sheet
from washmon.reports.tables import Table

ADVICE = {"on": "shown", "delayed": "10 min late", "off": "not shown"}
"""Whether the program advised the trainee, as it is printed."""
SIMULATED = (
    "Each scenario is a shift on a simulated line: it is practice, and no record of produce. The "
    "score is out of 100, by what the trainee could know."
)
_HEADS = ("Person", "Scenario", "On", "Advice", "Score", "Passed", "Trainer", "Signed off")
_SHARES = (1.3, 5, 2, 1.8, 1.2, 1.2, 1.3, 2)


@dataclass(frozen=True, slots=True)
class TrainingLine:
    """One sign-off, with the course that holds, if one does."""

    signed: Signed
    course: Course | None


def training_lines(
    register: Register, first: date = date.min, last: date = date.max
) -> tuple[TrainingLine, ...]:
    """Return the sign-offs of a period, by the day on which they were given, the oldest first."""
    return tuple(
        TrainingLine(one, register.course) for one in register.signed if first <= one.on <= last
    )


def _passed(line: TrainingLine) -> bool | None:
    return None if line.course is None else line.signed.what.score >= line.course.pass_mark


def _until(line: TrainingLine) -> str | None:
    if line.course is None or not _passed(line):
        return None
    return after_months(line.signed.what.on, line.course.months).isoformat()


def _none(_shift: ShiftState) -> tuple[TrainingLine, ...]:
    return ()


TRAINING: Table[TrainingLine] = Table(
    "training",
    "one row for each practice attempt that a trainer signed off",
    (
        Column("person", "initials of who was trained", lambda line: line.signed.what.person),
        Column("scenario", "its title", lambda line: line.signed.what.scenario),
        Column("on", "day of the attempt", lambda line: line.signed.what.on.isoformat()),
        Column(
            "advice",
            "whether advice was shown: on, delayed or off",
            lambda line: line.signed.what.advice,
        ),
        Column("score", "out of 100", lambda line: round(line.signed.what.score, 1)),
        Column("passed", "whether it reaches the pass mark of the course that holds", _passed),
        Column("due_again", "last day on which it holds", _until),
        Column("trainer", "initials of who signed it off", lambda line: line.signed.trainer),
        Column("signed_on", "day of the sign-off", lambda line: line.signed.on.isoformat()),
        Column("attempt", "chain of the attempt", lambda line: line.signed.what.attempt),
        Column("head", "hash that it ended with", lambda line: line.signed.what.head),
    ),
    _none,
)


def training_csv(lines: Sequence[TrainingLine]) -> CsvPart:
    """Return the whole file of these sign-offs."""
    head = rows_in_csv([[column.name for column in TRAINING.columns]])
    rows = in_csv(TRAINING, lines)
    return CsvPart(head.text + rows.text, rows.rows)


def training_rows(lines: Iterable[TrainingLine]) -> list[tuple[str, ...]]:
    """Return the rows of the register as they are printed."""
    return [
        (
            line.signed.what.person,
            line.signed.what.scenario,
            line.signed.what.on.isoformat(),
            ADVICE.get(line.signed.what.advice, line.signed.what.advice),
            score_words(line.signed.what.score, line.course or Course(scenarios=())),
            {True: "yes", False: "no", None: "–"}[_passed(line)],
            line.signed.trainer,
            line.signed.on.isoformat(),
        )
        for line in lines
    ]


@dataclass(frozen=True, slots=True)
class Printing:
    """What a page says of itself: the site, who made it and when, and what proves it."""

    site: str
    maker: str
    made_at: datetime
    head: str
    """Hash that the site's own chain ends with: the register stands on it."""
    paper: PaperSize = PaperSize.A4


def list_training(sheet: Sheet, lines: Sequence[TrainingLine]) -> None:
    """Print the register on a sheet, or say that there is nothing in it."""
    sheet.say(SIMULATED)
    if lines:
        sheet.listing(_HEADS, _SHARES, training_rows(lines))
    else:
        sheet.say("Nobody was signed off.")


def printed_register(register: Register, about: Printing) -> bytes:
    """Return the whole register as a PDF."""

    def fill(sheet: Sheet) -> None:
        sheet.heading("Register of training by practice")
        _course(sheet, register.course)
        list_training(sheet, training_lines(register))
        _about(sheet, about)

    return _printed("Register of training", about, fill)


def printed_certificate(
    register: Register, course: Course, person: str, about: Printing, *, name: str = ""
) -> bytes:
    """Return the certificate of a person as a PDF; it says what is lacking, where something is.

    ``person`` are initials, ``name`` what the set-up knows behind them.
    """
    found = stages(register, course, person, about.made_at.date())

    def fill(sheet: Sheet) -> None:
        who = f"{name} ({person})" if name else person
        sheet.heading(f"Certificate of training by practice: {who}")
        until = completed(found)
        if until is None:
            sheet.say("NOT COMPLETE: not every scenario of the course is passed.", bold=True)
        else:
            sheet.say(f"Complete. It holds until {until.isoformat()}.", bold=True)
        _course(sheet, course)
        heads = ("Scenario", "Standing", "On", "Advice", "Score", "Trainer", "Holds until")
        sheet.listing(
            heads, (5, 2.2, 2, 1.8, 1.2, 1.3, 2), [_stage_row(one, course) for one in found]
        )
        sheet.say(SIMULATED)
        _about(sheet, about)
        for words in ("Trainee", "Trainer"):
            sheet.line_to_sign(words, 14.0)

    return _printed(f"Certificate of {person}", about, fill)


def _stage_row(stage: TrainingStage, course: Course) -> tuple[str, ...]:
    best = stage.best
    if best is None:
        return (stage.scenario, stage.standing.value, "–", "–", "–", "–", "–")
    return (
        stage.scenario,
        stage.standing.value,
        best.what.on.isoformat(),
        ADVICE.get(best.what.advice, best.what.advice),
        score_words(best.what.score, course),
        best.trainer,
        "–" if stage.until is None else stage.until.isoformat(),
    )


def _course(sheet: Sheet, course: Course | None) -> None:
    if course is None:
        sheet.say("No course was set.")
        return
    sheet.facts(
        (
            ("Course", f"{len(course.scenarios)} scenarios, in this order:"),
            *(("", f"{place}. {title}") for place, title in enumerate(course.scenarios, 1)),
            ("Pass mark", f"{course.pass_mark:g} of 100"),
            ("Due again", f"after {course.months} months"),
        )
    )


def _about(sheet: Sheet, about: Printing) -> None:
    sheet.facts(
        (
            ("Made by", about.maker or "not told"),
            ("Made at", about.made_at.isoformat(sep=" ", timespec="seconds")),
            ("Journal", f"the site's chain, which ends with {about.head or 'nothing'}"),
        )
    )


def _printed(title: str, about: Printing, fill: Callable[[Sheet], None]) -> bytes:
    def laid_out(pages: int) -> Sheet:
        running = Running(title, about.site, f"site {about.head or 'nothing'}")
        sheet = Sheet(about.paper, running, about.made_at, pages)
        fill(sheet)
        return sheet

    with closing(laid_out(1)) as draft:
        pages = draft.pages_count  # each page tells how many there are
    with closing(laid_out(pages)) as sheet:
        return bytes(sheet.output())
