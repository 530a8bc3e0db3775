"""Which scenario to practise next, by what went wrong in this one."""

from collections.abc import Iterator, Sequence
from enum import StrEnum

from msgspec import Struct

from washmon.sessions.debrief.score import Debrief
from washmon.sessions.debrief.slips import SlipKind
from washmon.sessions.practice.parameters import Dirtiness
from washmon.sessions.practice.scenario import Scenario

_HARD_MG_L, _ALKALINE = 200.0, 8.0
"""Tap water of which the pH asks for care: alkalinity mg/L as CaCO3, and pH."""
_WEAK = 0.9
AGAIN = 60.0
"""Under so many points the same scenario comes first once more (ours: no source says)."""


class Topic(StrEnum):
    """What a scenario teaches more than another."""

    PH = "pH and acid"
    CHECKS = "checking in time"
    HOLDS = "holding what is in question"
    AMOUNTS = "amounts by the reading, not by the label"
    BESIDE = "what comes with each dose, and stays"
    BASICS = "the work from the first fill on"


_TOPICS = {
    SlipKind.PH_LEFT: Topic.PH,
    SlipKind.ACID_TOO_MUCH: Topic.PH,
    SlipKind.ACID_IN_LOW_PH: Topic.PH,
    SlipKind.ACID_WITH_BLEACH: Topic.PH,
    SlipKind.WENT_ON: Topic.CHECKS,
    SlipKind.CHECK_LATE: Topic.CHECKS,
    SlipKind.CHECK_MISSED: Topic.CHECKS,
    SlipKind.KNOWN_BAD: Topic.HOLDS,
    SlipKind.HOLD_MISSED: Topic.HOLDS,
    SlipKind.HOLD_NEEDLESS: Topic.HOLDS,
    SlipKind.TO_HOLD: Topic.CHECKS,
    SlipKind.TOO_MUCH: Topic.AMOUNTS,
    SlipKind.TOO_LITTLE: Topic.AMOUNTS,
    SlipKind.NOT_DUE: Topic.AMOUNTS,
    SlipKind.OVER_LABEL: Topic.AMOUNTS,
    SlipKind.OVER_PEROXIDE: Topic.BESIDE,
    SlipKind.LATE_ANSWER: Topic.BASICS,
    SlipKind.NOT_WASHED: Topic.BASICS,
}


class Next(Struct, frozen=True, kw_only=True):
    """The scenario that is advised, and what for; the same one where ``again``."""

    scenario: Scenario
    topic: Topic
    again: bool


def topics(scenario: Scenario) -> frozenset[Topic]:
    """Return what a scenario teaches, by its water, produce, product and what came before."""
    return frozenset(_topics(scenario))


def _topics(scenario: Scenario) -> Iterator[Topic]:
    world, tap = scenario.world, scenario.tap
    if tap.alkalinity_mg_l >= _HARD_MG_L or tap.ph >= _ALKALINE:
        yield Topic.PH
    if any(one.dirtiness in {Dirtiness.DIRTY, Dirtiness.MUDDY} for one in scenario.happens):
        yield Topic.CHECKS
    if scenario.before is not None:
        yield Topic.HOLDS
    shares = (world.strength_share, world.strip_share)
    if any(share < _WEAK for share in shares):
        yield Topic.AMOUNTS
    if scenario.line.peracetic:
        yield Topic.BESIDE
    if scenario.level == 1:
        yield Topic.BASICS


def next_one(found: Debrief, shelf: Sequence[Scenario]) -> Next | None:
    """Return what to practise next: what teaches where most points went, else the next level.

    Nothing is advised where there is nothing else.
    """
    lost: dict[Topic, float] = {}
    for slip in found.slips:
        topic = _TOPICS[slip.kind]
        lost[topic] = lost.get(topic, 0.0) + slip.cost
    wanted = sorted(lost, key=lambda topic: -lost[topic]) or [Topic.BASICS]
    mine = found.facts.scenario
    if round(found.score) < AGAIN:
        return Next(scenario=mine, topic=wanted[0], again=True)
    others = [one for one in shelf if one.title != mine.title]
    for topic in wanted:
        for one in sorted(others, key=lambda other: _far(other, mine)):
            if topic in topics(one):
                return Next(scenario=one, topic=topic, again=False)
    later = sorted((one for one in others if one.level >= mine.level), key=lambda one: one.level)
    return Next(scenario=later[0], topic=wanted[0], again=False) if later else None


def _far(other: Scenario, mine: Scenario) -> tuple[bool, int]:
    """Return how far apart two scenarios are: another sanitizer is further than any level."""
    return other.line.peracetic is not mine.line.peracetic, abs(other.level - mine.level)
