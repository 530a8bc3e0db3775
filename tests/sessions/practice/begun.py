"""Attempts at practice whose tanks are made up, for tests that go on from there."""

from datetime import UTC, datetime

from washmon.line.events import Method
from washmon.line.practice_events import Attempt
from washmon.line.setup import LineSetup
from washmon.sessions.practice.attempt import Run
from washmon.sessions.practice.scenario import Scenario
from washmon.sessions.practice.scenario_files import scenarios
from washmon.sessions.practice.stage import beginning

WHO, CHAIN = "AB", "practice-test"
FIRST = scenarios()[0]


def begun(of: tuple[Scenario, str] = FIRST, line: LineSetup | None = None) -> Run:
    """Both tanks of a scenario made up, mixed and measured: the batches can come."""
    scenario, text = of
    at = datetime(2026, 5, 7, 9, 0, tzinfo=UTC)
    attempt = Attempt(trainee=WHO, scenario=text, seed=5, advice="on", begun_at=at)
    made = Run(attempt, beginning(scenario, at.date(), UTC), CHAIN, line)
    for tank in made.state.setup.tanks:
        made.fill(tank, WHO)
        made.dose_from(tank, 0.0, WHO)
    made.stage.advance(5.0)
    for tank in made.state.setup.tanks:
        made.read(tank, WHO, Method.KIT)
    return made
