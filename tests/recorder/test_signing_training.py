"""Courses and sign-offs through the recorder: journaled on the site's chain, behind a PIN."""

import csv
import io
from collections.abc import Iterator
from pathlib import Path

import pytest
from msgspec.structs import replace
from pypdf import PdfReader

from tests.recorder.acting import PIN, Shed, why
from washmon.line.journal import SITE
from washmon.line.registry import training_of
from washmon.line.site_events import CourseSet, TrainingSigned
from washmon.line.training import Course, Register, Trained
from washmon.recorder import Answer, Refused, Saved
from washmon.reports.csv_export import export_rows
from washmon.reports.training import (
    TRAINING,
    Printing,
    printed_certificate,
    printed_register,
    training_lines,
)
from washmon.store.store import Store

COURSE = Course(scenarios=("A weak jug", "Hard water"), pass_mark=70.0, months=6)


@pytest.fixture
def shed(tmp_path: Path) -> Iterator[Shed]:
    made = Shed(tmp_path / "shed.db")
    yield made
    made.recorder.close()


def a_trained(shed: Shed, scenario: str = "A weak jug", score: float = 84.5) -> Trained:
    return Trained(
        person="TK",
        scenario=scenario,
        attempt=f"practice-{scenario}",
        head="ab12",
        on=shed.now.date(),
        advice="off",
        score=score,
    )


def sign(shed: Shed, what: Trained, by: str = "RM", pin: str = "") -> Answer:
    return shed.enter(TrainingSigned(at=shed.now, by=by, what=what), pin=pin)


def register(shed: Shed) -> Register:
    return shed.recorder.read(lambda store: training_of(store.entries(SITE))).result(10)


def text_of(body: bytes) -> str:
    pages = PdfReader(io.BytesIO(body)).pages
    return " ".join(" ".join(page.extract_text().split()) for page in pages)


def test_a_course_and_a_sign_off_are_journaled_where_verify_looks(shed: Shed) -> None:
    what = a_trained(shed)
    assert isinstance(shed.enter(CourseSet(at=shed.now, by="BO", course=COURSE)), Saved)
    assert isinstance(sign(shed, what), Saved)
    found = register(shed)
    assert found.course == COURSE
    assert [(one.what, one.trainer) for one in found.signed] == [(what, "RM")]
    assert "signed off already" in why(sign(shed, what, by="BO"))
    assert "their own" in why(sign(shed, a_trained(shed, "Hard water"), by="TK"))
    small = replace(a_trained(shed, "Hard water"), person="tk")
    assert "their own" in why(sign(shed, small, by="TK"))
    none = CourseSet(at=shed.now, by="BO", course=replace(COURSE, scenarios=()))
    assert "at least one" in why(shed.enter(none))
    broken = shed.recorder.read(lambda store: store.verify()).result(10)
    assert not broken


def test_with_pins_only_who_leads_signs_off_and_with_the_pin(
    shed: Shed,
    kept: str,
) -> None:
    shed.with_pins(kept, "RM", "LU")
    what = a_trained(shed)
    assert "PIN" in why(sign(shed, what))
    assert "not the PIN" in why(sign(shed, what, pin="0000"))
    assert isinstance(sign(shed, what, by="LU", pin=PIN), Refused)
    assert register(shed).signed == ()
    assert isinstance(sign(shed, what, pin=PIN), Saved)


def test_the_register_and_the_certificate_are_files(shed: Shed, tmp_path: Path) -> None:
    shed.enter(CourseSet(at=shed.now, by="BO", course=COURSE))
    sign(shed, a_trained(shed))
    sign(shed, a_trained(shed, "Hard water", 55.0))
    found = register(shed)
    export_rows(tmp_path / "training.csv", TRAINING, [training_lines(found)])
    with (tmp_path / "training.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    told = [(one["person"], one["scenario"], one["score"], one["passed"]) for one in rows]
    assert told == [("TK", "A weak jug", "84.5", "yes"), ("TK", "Hard water", "55", "no")]
    assert [one["trainer"] for one in rows] == ["RM", "RM"]
    about = Printing(site="The shed", maker="BO", made_at=shed.now, head="cd34")
    body = printed_register(found, about)
    assert body == printed_register(found, about)
    printed = text_of(body)
    for words in ("A weak jug", "not shown", "84", "cd34", "no record of produce"):
        assert words in printed
    assert "NOT COMPLETE" in text_of(printed_certificate(found, COURSE, "TK", about))
    named = text_of(printed_certificate(found, COURSE, "TK", about, name="T. Karr"))
    assert "T. Karr (TK)" in named
    sign(shed, replace(a_trained(shed, "Hard water"), attempt="practice-again"))
    assert "Complete. It holds until" in text_of(
        printed_certificate(register(shed), COURSE, "TK", about)
    )


def test_a_binder_lists_what_was_signed_off_in_its_period(shed: Shed) -> None:
    sign(shed, a_trained(shed))
    found = register(shed)
    day = shed.now.date()
    assert len(training_lines(found, day, day)) == 1
    assert training_lines(found, day.replace(year=day.year + 1)) == ()


def test_a_database_knows_both_kinds_again(shed: Shed, tmp_path: Path) -> None:
    shed.enter(CourseSet(at=shed.now, by="BO", course=COURSE))
    sign(shed, a_trained(shed))
    shed.recorder.close()
    with Store.open(tmp_path / "shed.db") as store:
        assert training_of(store.entries(SITE)).course == COURSE
