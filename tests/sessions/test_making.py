"""Scenarios made from recorded shifts: the line, the world, the mistakes, and nobody's name.

What counts as late, wrong or cloudy is common practice, no published source; the worlds are those
that the simulated shifts were run in, so they are known.
"""

from functools import cache

import pytest
from msgspec.structs import replace

from tests.shed import Shed, a_setup, a_tank
from tests.some import some
from washmon import data
from washmon.line.fold import fold
from washmon.line.setup import Look, Person, Price, Role, Stage
from washmon.line.state import ShiftState
from washmon.line.validate import faults
from washmon.sessions.file import read
from washmon.sessions.making.fitted import fitted
from washmon.sessions.making.from_shift import (
    MadeScenario,
    make_scenario,
    scenario_of,
)
from washmon.sessions.making.mistakes import MistakeKind, mistakes
from washmon.sessions.making.own_line import own_line
from washmon.sessions.making.trying import good_score
from washmon.sessions.practice.parameters import Dirtiness, PracticeError
from washmon.sessions.practice.scenario_files import parse_scenario, scenario_text, scenarios
from washmon.sessions.practice.trainee import GOOD, HASTY, scripted


@cache
def demo(place: int) -> ShiftState:
    session = read(data.demo_sessions()[place])
    return fold(session.header.chain, session.entries)


@cache
def made() -> MadeScenario:
    return make_scenario(demo(3))


def test_a_recorded_shift_becomes_a_scenario_that_the_good_strategy_solves() -> None:
    scenario = parse_scenario(made().text)
    assert made().has_solution
    assert made().good_score >= 70.0
    assert scenario.pace.begins.isoformat() == "06:40:00"
    assert scenario.line.commodity == "mixed"
    setup = scenario.setup("AB")
    assert faults(setup) == []
    own = demo(3).setup
    assert [one.name for one in setup.tanks] == [
        one.name for one in own.tanks if one.stage is not Stage.RINSE
    ]
    assert setup.tanks[0].chlorine == own.tanks[0].chlorine
    assert [one.strength for one in setup.sanitizers] == [one.strength for one in own.sanitizers]
    assert setup.taste is own.taste


def test_nobody_no_lot_and_no_place_is_in_the_file() -> None:
    shift = demo(3)
    setup, text = shift.setup, made().text
    named = [setup.site, setup.location, setup.line, shift.chain]
    named += [part for one in setup.people for part in (one.name, f'"{one.initials}"')]
    named += [lot.code for lot in shift.started.lots]
    named += [lot for one in setup.sanitizers if (lot := one.lot)]
    assert not [one for one in some(named) if one in text]
    assert f"{shift.started.at:%Y-%m-%d}" not in text


def test_people_prices_days_and_reasons_are_taken_out_of_the_line() -> None:
    setup = a_setup(a_tank(1, "Wash"), a_tank(2, "Rinse", Stage.RINSE), a_tank(3, "Polish"))
    told = replace(setup.sanitizers[0], lot="JUG-7", price=Price(cost=20.0, amount=5.0))
    boss = Person(initials="ZQ", name="Z", role=Role.MANAGER)
    line = own_line(replace(setup, people=(boss,), sanitizers=(told,)))
    assert [(one.number, one.name) for one in line.tanks] == [(1, "Wash"), (2, "Polish")]
    assert line.people == ()
    assert all(
        not one.lot and one.use_by is None and one.price is None for one in some(line.sanitizers)
    )
    with pytest.raises(PracticeError, match="no tank in which something is washed"):
        own_line(a_setup(a_tank(1, "Rinse", Stage.RINSE)))


def test_the_fitted_world_is_about_the_one_that_the_shift_was_run_in() -> None:
    """Within a factor of two: the simulated lots differ by 30 %, and strength hides in demand."""
    text = scenarios()[0][1]
    truth = parse_scenario(text)
    run = scripted(text, GOOD)
    started = run.state.started
    found = fitted(replace(run.state, started=replace(started, practice=False)), "leafy_greens")
    assert 0.5 <= found.world.demand_share <= 2.0
    assert found.world.strength_share == pytest.approx(truth.world.strength_share, abs=0.15)
    assert found.tap.alkalinity_mg_l == pytest.approx(truth.tap.alkalinity_mg_l, rel=0.6)
    assert found.batch_weight == pytest.approx(truth.pace.batch_weight, rel=0.15)


def washing() -> Shed:
    """A tank that is made up right, and three batches."""
    shed = Shed()
    shed.fill()
    shed.dose(ml=200)
    shed.wait(6).read(fac=50, ph=7.0)
    for _ in range(3):
        shed.wait(4).wash()
    return shed


def test_a_low_reading_that_waits_for_its_dose_is_a_late_dose_once() -> None:
    shed = washing()
    low = shed.now
    shed.read(fac=8, ph=7.0)
    shed.wait(8).read(fac=6, ph=7.0)
    shed.wait(9).dose(ml=180)
    (late,) = [one for one in mistakes(shed.shift) if one.what is MistakeKind.LATE_DOSE]
    assert (late.since, late.tank) == (low, 1)
    assert (late.until - late.since).total_seconds() == pytest.approx(17 * 60)
    said = [one.say for one in scenario_of(shed.shift).happens if one.say]
    assert len(said) == 1
    assert "for 17 min nothing was added" in said[0]


def test_a_dose_in_time_is_no_mistake_and_one_three_times_too_large_is() -> None:
    shed = washing()
    shed.read(fac=20, ph=7.0)
    shed.wait(1).dose(ml=400)
    shed.wait(4).wash()
    found = mistakes(shed.shift)
    assert MistakeKind.LATE_DOSE not in {one.what for one in found}
    (wrong,) = [one for one in found if one.what is MistakeKind.WRONG_AMOUNT]
    assert wrong.share == pytest.approx(1.5)  # as much as a scenario may say
    shares = [one.strength_share for one in scenario_of(shed.shift).happens]
    assert shares[0] == pytest.approx(1.5)


def test_water_that_clouds_over_in_a_few_batches_tells_of_a_dirty_load() -> None:
    shed = washing()
    clear = shed.now
    shed.read(fac=45, look=Look.READABLE)
    shed.wait(4).wash()
    shed.wait(1).read(fac=40, look=Look.GONE)
    shed.wait(10).fill()
    shed.wait(4).wash()
    (cloudy,) = [one for one in mistakes(shed.shift) if one.what is MistakeKind.CLOUDY_LOAD]
    assert cloudy.since == clear
    dirt = [one.dirtiness for one in scenario_of(shed.shift).happens if one.dirtiness]
    assert dirt == [Dirtiness.MUDDY, Dirtiness.USUAL]


def test_what_cannot_be_practised_is_refused_in_a_sentence() -> None:
    with pytest.raises(PracticeError, match="two batches"):
        scenario_of(Shed().shift)
    practice = scripted(scenarios()[0][1], HASTY).state
    with pytest.raises(PracticeError, match="practice shift already"):
        scenario_of(practice)


def test_a_scenario_that_nobody_can_solve_is_called_so() -> None:
    """Bleach with a twentieth of its strength, and eight times the demand."""
    scenario = parse_scenario(made().text)
    world = replace(scenario.world, strength_share=0.05, demand_share=20.0)
    pace = replace(scenario.pace, minutes=90.0)
    text = scenario_text(replace(scenario, world=world, pace=pace, happens=()))
    assert not MadeScenario(text=text, good_score=good_score(text)).has_solution


def test_a_line_of_ones_own_that_is_broken_is_refused_in_a_sentence() -> None:
    text = made().text
    with pytest.raises(PracticeError, match="make them the same"):
        parse_scenario(text.replace("tanks = 1", "tanks = 2"))
    with pytest.raises(PracticeError, match="cannot be used"):
        parse_scenario(text.replace('setup = "{', 'setup = "{{'))
