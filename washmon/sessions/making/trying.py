"""Trying a scenario before anybody learns from it: an obedient supervisor, and a careless one."""

from collections.abc import Callable

from msgspec import Struct

from washmon.sessions.debrief.facts import Facts
from washmon.sessions.debrief.score import debrief
from washmon.sessions.practice.scenario import Scenario
from washmon.sessions.practice.trainee import CHAIN, GOOD, HASTY, scripted

PASSES = 60.0
"""A scenario in which the good strategy scores less has no solution (ours: no source says)."""
_LEAST_DIFFERENCE = 15.0
"""Points that care should bring (ours: no source says)."""
_GOOD_PART = 0.7
"""Of the time of a trial: the obedient one asks the rules at each step."""


def solved(score: float) -> bool:
    """Return whether the good strategy leads through it, by its score as it is written."""
    return round(score) >= PASSES


Watch = Callable[[float], None]
"""Is told which share of the work is done; what it raises ends the work."""


class Trial(Struct, frozen=True, kw_only=True):
    """What became of a scenario in the hands of one scripted trainee."""

    facts: Facts
    score: float


class Tried(Struct, frozen=True, kw_only=True):
    """A scenario that both have played, in the same water."""

    scenario: Scenario
    good: Trial
    careless: Trial

    @property
    def has_solution(self) -> bool:
        """Whether following the rules leads through it."""
        return solved(self.good.score)

    @property
    def tells_apart(self) -> bool:
        """Whether care is rewarded: where both do well, there is little to learn."""
        return self.good.score - self.careless.score >= _LEAST_DIFFERENCE


def good_score(text: str, watch: Watch | None = None) -> float:
    """Return what the good strategy scores in a scenario, held against itself.

    Raises:
        PracticeError: the scenario can't be played.
    """
    good = scripted(text, GOOD, watch=watch)
    return debrief(CHAIN, good.entries, good).score


def try_out(text: str, watch: Watch | None = None) -> Tried:
    """Let an obedient supervisor and a careless one play a scenario.

    Raises:
        PracticeError: the scenario can't be played.
    """

    def first(share: float) -> None:
        if watch is not None:
            watch(_GOOD_PART * share)

    def then(share: float) -> None:
        if watch is not None:
            watch(_GOOD_PART + (1.0 - _GOOD_PART) * share)

    good = scripted(text, GOOD, watch=first)
    careless = scripted(text, HASTY, watch=then)
    best = debrief(CHAIN, good.entries, good)
    other = debrief(CHAIN, careless.entries, good)
    return Tried(
        scenario=good.scenario,
        good=Trial(facts=best.facts, score=best.score),
        careless=Trial(facts=other.facts, score=other.score),
    )
