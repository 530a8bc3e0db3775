"""The score of an attempt, out of 100: eight parts, each with its reason, so that it can be argued.

How many points a part is worth is the trainer's business and ours, not science: common practice,
no published source.
"""

from collections.abc import Sequence

from msgspec import Struct

from washmon.line.journal import Entry
from washmon.line.message import Figure, Message
from washmon.sessions.debrief.additions import OFF
from washmon.sessions.debrief.facts import Facts, Use, facts_of
from washmon.sessions.practice.attempt import Run
from washmon.sessions.practice.scenario_files import with_changes
from washmon.sessions.practice.trainee import CHAIN, yardstick
from washmon.units import Kind

SOON_MIN = 10.0
"""A pressing flag that waited no longer was answered soon."""
POINTS_PER_MISSED, POINTS_PER_FOUND, POINTS_PER_HARM = 5.0, 1.0, 5.0
ENOUGH = 1.2
"""So many times the yardstick's use is still as good."""
TOO_MUCH = 2.5
WASTE = 0.5
"""Of all points, for too much water or chemical."""


class Part(Struct, frozen=True, kw_only=True):
    """One part of the score: so many of so many points, and why."""

    key: str
    title: Message
    points: float
    most: float
    why: Message


class Debrief(Struct, frozen=True, kw_only=True):
    """An attempt with its facts, the yardstick beside it, and its score."""

    chain: str
    facts: Facts
    yardstick: Facts
    parts: tuple[Part, ...]
    counts: float
    """The share of all points that counts, 0 to 1: whoever leaves the work undone, holds what is
    good or wastes water earns nothing with clean hands."""
    why_counts: Message

    @property
    def score(self) -> float:
        """Return the points of all parts as far as they count, 0 to 100."""
        return self.counts * sum(part.points for part in self.parts)


def debrief(chain: str, entries: Sequence[Entry], good: Run | None = None) -> Debrief:
    """Return the debrief of an attempt; ``good`` is the yardstick's where it is known already.

    Raises:
        PracticeError: the entries are no attempt.
    """
    facts = facts_of(chain, entries)
    if good is None:
        world = with_changes(facts.attempt.scenario, [(at, one) for at, _, one in facts.meddled])
        good = yardstick(world, facts.attempt.seed, facts.state.setup)
    best = facts_of(CHAIN, good.entries)
    parts = (
        _water(facts),
        _produce(facts),
        _checks(facts),
        _amounts(facts),
        _safety(facts),
        _soon(facts),
        _use(facts, best),
        _work(facts, best),
    )
    counts, why = _counts(facts, best)
    return Debrief(
        chain=chain, facts=facts, yardstick=best, parts=parts, counts=counts, why_counts=why
    )


def _counts(facts: Facts, best: Facts) -> tuple[float, Message]:
    """Return which share of the points counts, and why."""
    sold = len({batch.seq for batch in facts.missed})
    done = max(0, facts.washed_well - sold)
    work = min(1.0, done / best.washed_well) if best.washed_well else 1.0
    over = sum(one.off is not None and one.off > OFF for one in facts.additions)
    overdosed = max(0.0, _overdosed(facts) - _overdosed(best))
    wasted = max(1.0 - _thrift(facts, best), overdosed)
    counts = work * (1.0 - WASTE * wasted)
    why = Message(
        "{share} of the points count: {well} of {due} batches were washed behind a good check of "
        "water in its limits, and are free to be sold, less {sold} that should have been held; "
        "held without a reason: {needless}; chemical and water: {times} times what was needed; too "
        "much at a time: {over} of {additions}.",
        {
            "share": _figure(100 * counts, Kind.PERCENT),
            "well": facts.washed_well,
            "due": max(best.washed_well, facts.washed_well),
            "sold": sold,
            "needless": facts.held_needlessly,
            "times": f"{_times(facts, best):.1f}",
            "over": over,
            "additions": len(facts.additions),
        },
    )
    return counts, why


def _figure(value: float, kind: Kind = Kind.COUNT) -> Figure:
    return Figure(round(value), kind)


def _part(key: str, title: str, share: float, most: float, why: Message) -> Part:
    points = most * min(max(share, 0.0), 1.0)
    return Part(key=key, title=Message(title), points=round(points, 1), most=most, why=why)


def _water(facts: Facts) -> Part:
    minutes = sum(tank.minutes for tank in facts.tanks)
    good = sum(tank.both_ok_min for tank in facts.tanks)
    share = good / minutes if minutes else 0.0
    why = Message(
        "By the true water, free chlorine and pH were in their limits for {share} of the time from "
        "the first batch on.",
        {"share": _figure(100 * share, Kind.PERCENT)},
    )
    return _part("water", "Water in its limits", share, 20.0, why)


def _produce(facts: Facts) -> Part:
    most = 25.0
    own = [batch for batch in facts.low if not (batch.by_colleague and batch.held)]
    found = sum(batch.held for batch in own)
    lost = POINTS_PER_MISSED * len(facts.missed) + POINTS_PER_FOUND * found
    why = Message(
        "{low} times a batch met less than the critical low. {missed} were not held though "
        "readings told, or nobody had looked: each costs {five} points. Each of your own that you "
        "held costs {one}. {unseen} stood behind a good check: nobody could know, and they cost "
        "nothing.",
        {
            "low": len(facts.low),
            "missed": len(facts.missed),
            "unseen": len(facts.unseen),
            "five": f"{POINTS_PER_MISSED:g}",
            "one": f"{POINTS_PER_FOUND:g}",
        },
    )
    share = 1.0 - lost / most if facts.washed else 0.0
    return _part("produce", "Nothing unsafe sold", share, most, why)


def _checks(facts: Facts) -> Part:
    washed = sum(tank.washed for tank in facts.tanks)
    watched = sum(tank.watched for tank in facts.tanks)
    share = watched / washed if washed else 0.0
    why = Message(
        "Behind {share} of what you washed stood a check that was still good. Checks made: {made}; "
        "needed: {needed}.",
        {
            "share": _figure(100 * share, Kind.PERCENT),
            "made": sum(tank.checks_made for tank in facts.tanks),
            "needed": sum(tank.checks_needed for tank in facts.tanks),
        },
    )
    return _part("checks", "Checked in time", share, 15.0, why)


def _amounts(facts: Facts) -> Part:
    wrong = sum(addition.wrong for addition in facts.additions)
    count = len(facts.additions)
    share = 1.0 - wrong / count if count else 0.0
    why = Message(
        "{wrong} of {count} additions were off by more than 20 %, not due, or made before the last "
        "one was checked.",
        {"wrong": wrong, "count": count},
    )
    return _part("amounts", "Right amounts", share, 10.0, why)


def _safety(facts: Facts) -> Part:
    most = 10.0
    acts = len(facts.unsafe)
    why = Message("No unsafe act.")
    if acts:
        named = ", ".join(dict.fromkeys(act.harm.value for act in facts.unsafe))
        why = Message(
            "{acts} unsafe acts ({named}), each costs {points} points.",
            {"acts": acts, "named": named, "points": f"{POINTS_PER_HARM:g}"},
        )
    share = 1.0 - POINTS_PER_HARM * acts / most
    return _part("safety", "Safe hands", share, most, why)


def _soon(facts: Facts) -> Part:
    late = [wait for wait in facts.waits if wait.minutes > SOON_MIN]
    count = len(facts.waits)
    share = 1.0 - len(late) / count if count else 1.0
    longest = max((wait.minutes for wait in facts.waits), default=0.0)
    why = Message(
        "{late} of {count} pressing flags waited over {soon}; the longest waited {longest}.",
        {
            "late": len(late),
            "count": count,
            "soon": Figure(SOON_MIN, Kind.TIME),
            "longest": _figure(longest, Kind.TIME),
        },
    )
    return _part("soon", "Flags answered soon", share, 5.0, why)


def _use(facts: Facts, best: Facts) -> Part:
    mine, theirs = facts.use, best.use
    share = _thrift(facts, best)
    why = Message(
        "You used {mine} of hypochlorite and {water} of water; the plain good strategy used "
        "{theirs} and {their_water} on the same morning.",
        {
            "mine": _figure(mine.sanitizer, Kind.SMALL_VOLUME),
            "water": _figure(mine.water_l, Kind.VOLUME),
            "theirs": _figure(theirs.sanitizer, Kind.SMALL_VOLUME),
            "their_water": _figure(theirs.water_l, Kind.VOLUME),
        },
    )
    return _part("use", "Chemical and water", share if facts.washed else 0.0, 5.0, why)


def _overdosed(facts: Facts) -> float:
    """Return the share of additions that were too much at a time, 0 to 1."""
    over = sum(one.off is not None and one.off > OFF for one in facts.additions)
    return over / len(facts.additions) if facts.additions else 0.0


def _times(facts: Facts, best: Facts) -> float:
    """Return how many times as much went in as with the plain good strategy."""
    return max(_ratio(facts.use, best.use, name) for name in ("sanitizer", "water_l"))


def _thrift(facts: Facts, best: Facts) -> float:
    """Return 1 for as little as was needed, 0 for too much."""
    share = (TOO_MUCH - _times(facts, best)) / (TOO_MUCH - ENOUGH)
    return min(max(share, 0.0), 1.0)


def _ratio(mine: Use, theirs: Use, name: str) -> float:
    least = float(getattr(theirs, name))
    used = float(getattr(mine, name))
    return used / least if least > 0 else 1.0 if used == 0 else TOO_MUCH


def _work(facts: Facts, best: Facts) -> Part:
    share = facts.washed / best.washed if best.washed else 1.0
    why = Message(
        "Batches washed: {washed}; the plain good strategy washed {best} in the same time.",
        {"washed": facts.washed, "best": best.washed},
    )
    return _part("work", "Work done", share, 10.0, why)
