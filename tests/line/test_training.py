"""The course and its register: who passed what, and when it is due again."""

from datetime import date

from msgspec.structs import replace

from washmon.line.check_training import course_faults, sign_off_faults
from washmon.line.training import (
    Course,
    Register,
    Signed,
    Standing,
    Trained,
    after_months,
    completed,
    due_again,
    score_words,
    stages,
)

COURSE = Course(scenarios=("One", "Two"), pass_mark=70.0, months=12)
DAY = date(2026, 5, 7)


def a_sign_off(scenario: str = "One", score: float = 80.0, on: date = DAY) -> Signed:
    what = Trained(
        person="TK",
        scenario=scenario,
        attempt=f"practice-{scenario}-{on}",
        head="ab",
        on=on,
        advice="off",
        score=score,
    )
    return Signed(what, "RM", on)


def standing(*signed: Signed, today: date = DAY) -> list[Standing]:
    found = stages(Register(course=COURSE, signed=signed), COURSE, "TK", today)
    return [one.standing for one in found]


def test_each_scenario_is_open_under_the_mark_passed_or_due_again() -> None:
    assert standing() == [Standing.OPEN, Standing.OPEN]
    assert standing(a_sign_off(score=69.9)) == [Standing.BELOW, Standing.OPEN]
    assert standing(a_sign_off(score=70.0)) == [Standing.PASSED, Standing.OPEN]
    assert standing(a_sign_off(), today=date(2027, 5, 7))[0] is Standing.PASSED
    assert standing(a_sign_off(), today=date(2027, 5, 8))[0] is Standing.DUE


def test_a_score_never_reads_as_passed_that_is_not() -> None:
    told = [score_words(score, COURSE) for score in (69.4, 69.5, 69.97, 70.0, 84.5)]
    assert told == ["69", "69.5", "69.9", "70", "84"]


def test_a_later_attempt_under_the_mark_takes_nothing_away() -> None:
    later = a_sign_off(score=10.0, on=date(2026, 6, 1))
    assert standing(a_sign_off(), later)[0] is Standing.PASSED


def test_a_course_holds_until_the_first_of_it_is_due() -> None:
    two = a_sign_off("Two", on=date(2026, 8, 31))
    register = Register(course=COURSE, signed=(a_sign_off(), two))
    assert completed(stages(register, COURSE, "TK", DAY)) == date(2027, 5, 7)
    assert completed(stages(register, COURSE, "TK", date(2027, 6, 1))) is None
    assert completed(stages(register, COURSE, "XY", DAY)) is None


def test_months_end_where_their_month_does() -> None:
    assert after_months(date(2024, 2, 29), 12) == date(2025, 2, 28)
    assert after_months(date(2026, 8, 31), 6) == date(2027, 2, 28)
    assert after_months(date(2026, 12, 1), 1) == date(2027, 1, 1)


def test_who_is_to_be_trained_again_is_known_a_month_before() -> None:
    signed = (a_sign_off(), a_sign_off("Two", on=date(2026, 3, 1)))
    register = Register(course=COURSE, signed=signed)

    def due(today: date) -> list[tuple[str, date]]:
        found = due_again(register, ("TK", "RM"), today)
        return [(one.person, one.until) for one in found]

    assert due(date(2027, 1, 29)) == []
    assert due(date(2027, 1, 30)) == [("TK", date(2027, 3, 1))]  # SOON_DAYS before
    assert due(date(2027, 4, 8)) == [("TK", date(2027, 3, 1))]
    assert due_again(Register(signed=signed), ("TK",), date(2030, 1, 1)) == ()  # no course was set
    assert due_again(register, ("RM",), date(2030, 1, 1)) == ()  # has passed nothing yet


def test_an_impossible_course_is_refused() -> None:
    assert not list(course_faults(COURSE))
    for wrong in (
        replace(COURSE, scenarios=()),
        replace(COURSE, scenarios=("One", "One")),
        replace(COURSE, pass_mark=0.0),
        replace(COURSE, pass_mark=101.0),
        replace(COURSE, months=0),
        replace(COURSE, months=121),
    ):
        assert len(list(course_faults(wrong))) == 1


def test_an_attempt_is_signed_off_once_and_by_somebody_else() -> None:
    signed = a_sign_off()
    known = Register(course=COURSE, signed=(signed,))
    fresh = a_sign_off("Two").what
    assert not list(sign_off_faults(fresh, "RM", known))
    assert [one.field for one in sign_off_faults(fresh, "TK", known)] == ["by"]
    assert [one.field for one in sign_off_faults(signed.what, "RM", known)] == ["attempt"]
    assert [one.field for one in sign_off_faults(replace(fresh, score=101.0), "RM", known)] == [
        "score"
    ]
