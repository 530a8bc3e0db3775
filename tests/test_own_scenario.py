"""What comes with the program is a scenario of its own: no line of it repeats one that is known.

That one has targets of 50, 50 and 10 ppm side by side, critical lows of 25, 25 and 5, and three
vessels of 5 US gallons.
"""

from collections.abc import Iterator

import pytest
from msgspec.structs import replace

from tests.tools import make_screenshots
from tests.tools.demo_stories import STORIES
from washmon import data
from washmon.line.setup import Tank
from washmon.line.templates import templates
from washmon.sessions.file import read
from washmon.sessions.practice.parameters import parameters
from washmon.sessions.practice.practice_setup import practice_setup
from washmon.sessions.practice.scenario_files import scenarios

TARGETS, CRITICAL_LOWS = [10.0, 50.0, 50.0], [5.0, 25.0, 25.0]
FIVE_GALLONS_L = 5 * 3.785411784  # NIST Handbook 44, appendix C

Tanks = tuple[Tank, ...]


def lines() -> Iterator[tuple[str, Tanks]]:
    """Yield the tanks of every line that comes with the program, each with where it stands."""
    for template in templates():
        yield f"template {template.title}", template.tanks
    for path in data.demo_sessions():
        yield f"demo shift {path.stem}", read(path).setup.tanks
    for name, (shift, _) in STORIES.items():
        yield f"story {name}", shift.setup.tanks
    for scenario, _ in scenarios():
        yield f"scenario {scenario.title}", scenario.setup("AB").tanks
    for commodity in parameters().commodity:
        yield f"practice line {commodity}", practice_setup(commodity, 8).tanks
    pictures = (make_screenshots.CALM, make_screenshots.MISTAKES, make_screenshots.MUDDY)
    for place in (*pictures, make_screenshots.WELL):
        yield f"picture of {place}", make_screenshots.demo(place).setup.tanks


def repeats(tanks: Tanks) -> list[str]:
    """Return what a line repeats: levels of three vessels side by side, or three volumes."""
    found = []
    threes = [tanks[at : at + 3] for at in range(len(tanks) - 2)]
    if any(sorted(one.chlorine.target_mg_l for one in three) == TARGETS for three in threes):
        found.append("targets")
    if any(
        sorted(one.chlorine.critical_low_mg_l for one in three) == CRITICAL_LOWS for three in threes
    ):
        found.append("critical lows")
    if sum(abs(one.volume_l / FIVE_GALLONS_L - 1) < 0.02 for one in tanks) > 2:
        found.append("vessels of 5 gallons")
    return found


@pytest.mark.parametrize(("where", "tanks"), [pytest.param(*one, id=one[0]) for one in lines()])
def test_no_line_that_comes_with_the_program_repeats_the_known_one(
    where: str, tanks: Tanks
) -> None:
    assert (where, repeats(tanks)) == (where, [])


@pytest.mark.parametrize("order", [(0, 1, 2), (2, 0, 1), (1, 2, 0)])
def test_the_known_one_would_be_found_whatever_stands_before_it(order: tuple[int, ...]) -> None:
    other = templates()[2].tanks[0]
    known = [
        replace(
            other,
            volume_l=18.93,
            chlorine=replace(other.chlorine, target_mg_l=target, critical_low_mg_l=critical),
        )
        for target, critical in ((50.0, 25.0), (50.0, 25.0), (10.0, 5.0))
    ]
    line = tuple(known[place] for place in order)
    everything = ["targets", "critical lows", "vessels of 5 gallons"]
    assert repeats(line) == everything
    assert repeats((other, *line)) == everything
    assert repeats((*line[:2], other)) == []
