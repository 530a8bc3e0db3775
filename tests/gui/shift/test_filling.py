"""The guide from an empty line to the first batch, read from the journal alone."""

from datetime import date

import pytest
from msgspec.structs import replace
from pytestqt.qtbot import QtBot

from tests.shed import Shed, a_setup, a_tank
from washmon.gui.context import UserContext
from washmon.gui.shift.filling import FillingStage, TankGuide, guide
from washmon.gui.shift.filling_page import FillingGuide
from washmon.line.flags import Step, StepKind
from washmon.line.kinds import EntryKind
from washmon.line.message import Message
from washmon.line.plan import Plan
from washmon.planning.advice import Advice, advise
from washmon.planning.snapshot import Snapshot
from washmon.units import UnitSystem

PERSON = UserContext("RM", UnitSystem.US)


def snapshot(shed: Shed) -> Snapshot:
    return Snapshot(now=shed.now, shift=shed.shift, advice=advise(shed.shift, shed.now))


def first(shed: Shed) -> TankGuide:
    return guide(snapshot(shed), PERSON)[0]


@pytest.fixture
def shed() -> Shed:
    return Shed(a_setup(taste=UnitSystem.US))


def test_an_empty_tank_is_to_be_filled_with_its_volume(shed: Shed) -> None:
    said = first(shed)
    assert (said.stage, said.kind) == (FillingStage.EMPTY, EntryKind.WATER)
    # 500 L are 132 US gallons (3.785411784 L each: NIST SP 811, Appendix B).
    assert "132" in said.words


def test_a_filled_tank_is_to_be_dosed_in_the_shed_s_measure_with_its_caution(shed: Shed) -> None:
    shed.fill()
    said = first(shed)
    assert (said.stage, said.kind) == (FillingStage.DOSE, EntryKind.DOSE)
    assert "cup" in said.words or "tbsp" in said.words or "tsp" in said.words
    assert said.caution.startswith("WARNING")
    assert "acid" in said.caution


def test_a_dosed_tank_waits_and_then_is_measured(shed: Shed) -> None:
    shed.fill()
    shed.dose(ml=200)
    shed.wait(1)
    said = first(shed)
    assert (said.stage, said.kind) == (FillingStage.WAIT, None)
    assert "07:05" in said.words
    shed.wait(5)
    said = first(shed)
    assert (said.stage, said.kind) == (FillingStage.MEASURE, EntryKind.READING)


def test_a_good_reading_makes_a_tank_ready_and_a_bad_one_says_what_to_do(shed: Shed) -> None:
    shed.fill()
    shed.dose(ml=200)
    shed.wait(6)
    shed.read(fac=30, ph=7.0)
    said = first(shed)
    assert (said.stage, said.kind) == (FillingStage.MEND, EntryKind.DOSE)
    shed.dose(ml=80)
    shed.wait(6)
    shed.read(fac=50, ph=7.0)
    assert first(shed).stage is FillingStage.READY
    assert first(shed).place == 4


def test_a_meter_that_is_overdue_can_be_checked_from_there() -> None:
    shed = Shed(a_setup(meter_checked_on=date(2026, 3, 1)))
    shed.fill()
    shed.dose(ml=200)
    shed.wait(6).read(fac=50, ph=7.0)
    seen = snapshot(shed)
    tank = seen.advice.tank(1)
    assert "meter-unchecked" in {flag.rule for flag in tank.flags}
    check = Step(kind=StepKind.VERIFY, say=Message("Check the pH meter in a buffer"))
    advice = Advice(tanks=(replace(tank, plan=Plan(tank=1, now=check)),))
    said = guide(replace(seen, advice=advice), PERSON)[0]
    assert (said.kind, said.answer) == (EntryKind.INSTRUMENT, "Checked it")


def test_a_second_fill_that_is_ready_is_swapped_in_by_the_word_of_the_board() -> None:
    """A tank whose water may serve an hour, with fresh water ready beside it."""
    tank = a_tank(1, "First dunk", hours_per_fill=1.0, second_volume_l=500.0)
    shed = Shed(a_setup(tank))
    shed.fill()
    shed.dose(ml=200)
    shed.wait(6).read(fac=50, ph=7.0)
    shed.wait(50).fill(second=True)
    shed.dose(ml=200, second=True)
    shed.wait(6).read(fac=50, ph=7.0, second=True)
    shed.wait(1)
    said = first(shed)
    assert (said.kind, said.answer) == (EntryKind.WATER, "Swapped it in")


def test_without_a_shift_there_is_no_guide(shed: Shed) -> None:
    assert guide(Snapshot(now=shed.now), PERSON) == ()


def test_the_page_asks_for_the_entry_that_a_tank_needs(qtbot: QtBot, shed: Shed) -> None:
    page = FillingGuide()
    qtbot.addWidget(page)
    page.show()
    page.show_snapshot(snapshot(shed), PERSON)
    with qtbot.waitSignal(page.asked) as asked:
        page.cards[1].answer.click()
    assert asked.args[:2] == [EntryKind.WATER, 2]
    shed.fill(1)
    page.show_snapshot(snapshot(shed), PERSON)
    with qtbot.waitSignal(page.asked) as asked:
        page.cards[0].answer.click()
    assert asked.args[:2] == [EntryKind.DOSE, 1]


def test_the_page_counts_the_tanks_that_are_ready(qtbot: QtBot, shed: Shed) -> None:
    page = FillingGuide()
    qtbot.addWidget(page)
    page.show()
    shed.fill(1)
    shed.read(1, 50, ph=7.0)
    page.show_snapshot(snapshot(shed), PERSON)
    assert "1 of 2" in page.facts.text()
    qtbot.waitUntil(page.cards[0].ready.isVisible)
    assert not page.cards[0].answer.isVisible()
    assert not page.cards[1].ready.isVisible()


def test_the_page_follows_the_line_from_eight_tanks_to_two(qtbot: QtBot, shed: Shed) -> None:
    page = FillingGuide()
    qtbot.addWidget(page)
    many = Shed(a_setup(*(a_tank(number, f"Tank {number}") for number in range(1, 9))))
    page.show_snapshot(snapshot(many), PERSON)
    assert len(page.cards) == 8
    page.show_snapshot(snapshot(shed), PERSON)
    assert len(page.cards) == 2
    with qtbot.waitSignal(page.left):
        page.go.click()
