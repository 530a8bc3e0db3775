"""Looking good is not being good: gaming the score pays less than honest carelessness.

So it is in the first scenario; DEVELOPERS.md tells in which others it is not.
The distances are ours: no source says what a score should be. ``tests.tools.strategies`` prints the
whole table of strategies and scenarios.
"""

from functools import cache

import pytest

from washmon.sessions.debrief.score import debrief
from washmon.sessions.practice.scenario_files import scenarios
from washmon.sessions.practice.trainee import CHAIN, GAMES, GOOD, HASTY, Manner, scripted

TEXT = scenarios()[0][1]


@cache
def score(manner: Manner) -> float:
    return debrief(CHAIN, scripted(TEXT, manner).entries).score


def test_honest_carelessness_earns_something_and_far_less_than_good_work() -> None:
    assert score(GOOD) >= 80.0
    assert 15.0 <= score(HASTY) <= score(GOOD) - 30.0


@pytest.mark.parametrize("name", GAMES)
def test_no_way_of_gaming_pays(name: str) -> None:
    assert score(GAMES[name]) < score(HASTY)
