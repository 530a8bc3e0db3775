"""Practice water for tests: the model with single effects switched off."""

import time
from collections.abc import Callable

from msgspec.structs import replace

from tests.shed import a_setup, a_tank
from washmon.line.setup import LineSetup
from washmon.sessions.practice.line import WashLine
from washmon.sessions.practice.parameters import Parameters, parameters
from washmon.sessions.practice.water import Contents, TankWater, tap_water
from washmon.sessions.practice.world import Source, World

STEADY = World(
    source=Source(celsius=20.0, demand_mg_l=0.0),
    air_c=20.0,
    pulp_c=20.0,
    strength_share=1.0,
    volume_share=1.0,
)


def still_model(**kinetics: float) -> Parameters:
    """Return a model without air, errors of the hand, or evaporation; kinetics as given."""
    model = parameters()
    still = dict.fromkeys(model.air.__struct_fields__, 0.0)
    return replace(
        model,
        air=replace(model.air, **still),
        bleach=replace(model.bleach, amount_error=0.0),
        kinetics=replace(model.kinetics, **kinetics),
    )


def a_line(
    world: World = STEADY,
    *,
    model: Parameters | None = None,
    seed: int = 1,
    tanks: int = 1,
    setup: LineSetup | None = None,
) -> WashLine:
    """Return a line of full tanks, 500 L each."""
    made = setup or a_setup(*[a_tank(number, f"Tank {number}") for number in range(1, tanks + 1)])
    line = WashLine(made, world, seed, model)
    for tank in made.tanks:
        line.fill(tank.number)
    return line


def a_pool(model: Parameters, **holds: float) -> tuple[TankWater, Contents]:
    """Return 1000 L of water that holds so much, and fresh water for it."""
    fresh = tap_water(STEADY.source, model)
    pool = TankWater(model)
    pool.wanted_l = 1000.0
    pool.take(1000.0, replace(fresh, **holds))
    return pool, fresh


def in_plain_loops(work: Callable[[], object]) -> float:
    """Return how long some work takes, in times of a plain Python loop of a million rounds."""
    return _seconds(work) / min(_seconds(_plain_loop) for _ in range(3))


def _plain_loop() -> int:
    total = 0
    for number in range(1_000_000):
        total += number % 7
    return total


def _seconds(work: Callable[[], object]) -> float:
    began = time.perf_counter()
    work()
    return time.perf_counter() - began
