"""What speaks against a course, or against signing practice off."""

from collections.abc import Iterator

from washmon.line.finding import Fault
from washmon.line.message import Message
from washmon.line.training import Course, Register, Trained

MOST_SCENARIOS, MOST_MONTHS, MOST_POINTS = 30, 120, 100.0


def course_faults(course: Course) -> Iterator[Fault]:
    """Yield what speaks against a course."""
    if not course.scenarios:
        yield Fault("scenarios", Message("Choose at least one scenario."))
    if len(set(course.scenarios)) != len(course.scenarios):
        yield Fault("scenarios", Message("Each scenario stands in a course once."))
    if len(course.scenarios) > MOST_SCENARIOS:
        yield Fault("scenarios", Message("Choose {most} at most.", {"most": MOST_SCENARIOS}))
    if not 1.0 <= course.pass_mark <= MOST_POINTS:
        yield Fault("pass_mark", Message("The pass mark is between 1 and 100 points."))
    if not 1 <= course.months <= MOST_MONTHS:
        yield Fault(
            "months", Message("It is due again after 1 to {most} months.", {"most": MOST_MONTHS})
        )


def sign_off_faults(what: Trained, by: str, known: Register) -> Iterator[Fault]:
    """Yield what speaks against signing an attempt off."""
    if not what.person.strip():
        yield Fault("person", Message("The attempt names nobody."))
    if what.person.strip().casefold() == by.strip().casefold():
        yield Fault("by", Message("Nobody signs off their own training: ask another trainer."))
    if not 0.0 <= what.score <= MOST_POINTS:
        yield Fault("score", Message("A score is between 0 and 100 points."))
    if any(one.what.attempt == what.attempt for one in known.signed):
        yield Fault("attempt", Message("This attempt was signed off already."))
