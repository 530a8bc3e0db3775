"""Looking good is not being good: gaming the score pays less than honest carelessness.

So it is in each scenario. The distances are ours: no source says what a score should be. The table
of strategies and scenarios is kept beside, written by ``python -m tests.tools.strategies``; here
it is held against what it promises, and some of its cells against the program of today.
"""

import pytest

from tests.sessions.practice.plays import TEXTS, played
from tests.some import some
from tests.tools.strategies import GOOD_ONE, HONEST, STRATEGIES, kept_table
from washmon.sessions.practice.trainee import GAMES

TABLE = kept_table()
pytestmark = pytest.mark.xdist_group("practice scenarios")


def test_the_table_has_each_strategy_and_each_scenario() -> None:
    assert list(TABLE) == list(STRATEGIES)
    assert all(len(row) == len(TEXTS) for row in some(TABLE.values()))


def test_honest_carelessness_earns_something_and_far_less_than_good_work() -> None:
    for good, honest in some(zip(TABLE[GOOD_ONE], TABLE[HONEST], strict=True)):
        assert good >= 90
        assert 20 <= honest <= good - 20


@pytest.mark.parametrize("name", GAMES)
def test_no_way_of_gaming_pays_in_any_scenario(name: str) -> None:
    for game, honest in some(zip(TABLE[name], TABLE[HONEST], strict=True)):
        assert game <= honest - 4


@pytest.mark.parametrize("name", [GOOD_ONE, HONEST, "strip each batch and act on none"])
def test_the_first_column_is_what_the_program_scores_today(name: str) -> None:
    assert played(TEXTS[0], STRATEGIES[name]).score == pytest.approx(TABLE[name][0], abs=0.51)


@pytest.mark.parametrize("name", ["dump every five batches"])
def test_the_last_column_is_what_the_program_scores_today(name: str) -> None:
    assert played(TEXTS[-1], STRATEGIES[name]).score == pytest.approx(TABLE[name][-1], abs=0.51)
