"""The score of an attempt, out of 100: seven parts, each with its reason, so that it can be argued.

It goes by what could be known and by what there was to do: each batch counts in each of its tanks
(:mod:`washmon.sessions.debrief.washed`), and all points count only as far as that work was done, as
well as the plain good strategy did it on the same morning, and without waste. How many points a
part is worth is the trainer's business and ours, not science: common practice, no published source.
"""

from collections.abc import Sequence
from functools import lru_cache

from msgspec import Struct

from washmon.line.journal import Entry
from washmon.line.message import Figure, Message
from washmon.line.setup import LineSetup
from washmon.sessions.debrief.additions import OFF
from washmon.sessions.debrief.facts import Facts, Use, facts_of
from washmon.sessions.debrief.slips import (
    AMOUNTS,
    CHECKS,
    HOLDS,
    POINTS_PER_HARM,
    SAFETY,
    SOON,
    SOON_MIN,
    USE,
    WORK,
    Slip,
    slips,
)
from washmon.sessions.debrief.washed import Fate, by_worst
from washmon.sessions.practice.attempt import Run
from washmon.sessions.practice.scenario_files import with_changes
from washmon.sessions.practice.trainee import CHAIN, yardstick
from washmon.units import Kind

ENOUGH = 1.2
"""So many times the yardstick's use is still as good."""
TOO_MUCH = 2.5
WASTE = 0.75
"""Of all points, for too much water or chemical."""
DUE = 0.4
"""At least so much of what the yardstick washed was to be washed well: where it fails itself, its
own run is no measure."""


class ScorePart(Struct, frozen=True, kw_only=True):
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
    parts: tuple[ScorePart, ...]
    counts: float
    """The share of all points that counts, 0 to 1: whoever leaves the work undone, holds what is
    good or wastes water earns nothing with clean hands."""
    why_counts: Message
    slips: tuple[Slip, ...] = ()
    """What cost points at a moment, the dearest first."""

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
        best = _best(world, facts.attempt.seed, facts.state.setup)
    else:
        best = facts_of(CHAIN, good.entries)
    parts = (
        _work(facts, best),
        _holds(facts),
        _checks(facts),
        _amounts(facts),
        _safety(facts),
        _soon(facts),
        _use(facts, best),
    )
    counts, why = _counts(facts, best)
    return Debrief(
        chain=chain,
        facts=facts,
        yardstick=best,
        parts=parts,
        counts=counts,
        why_counts=why,
        slips=slips(facts, best),
    )


@lru_cache(maxsize=32)
def _best(text: str, seed: int, line: LineSetup) -> Facts:
    return facts_of(CHAIN, yardstick(text, seed, line).entries)


def _done(facts: Facts, best: Facts) -> float:
    """Return the share of the work that was done, 0 to 1, against the plain good strategy."""
    due = max(best.credit, DUE * len(best.known))
    if due == 0.0:
        return float(facts.credit > 0.0)
    return min(max(facts.credit / due, 0.0), 1.0)


def _counts(facts: Facts, best: Facts) -> tuple[float, Message]:
    """Return which share of the points counts, and why."""
    overdosed = max(0.0, _overdosed(facts) - _overdosed(best))
    wasted = max(1.0 - _thrift(facts, best), overdosed)
    done = _done(facts, best)
    counts = done * (1.0 - WASTE * wasted)
    why = Message(
        "{share} of the points count. Work done: {done} of what the plain good strategy did by "
        "what could be known. Chemical and water: {times} times what was needed; too much at a "
        "time: {over} of {additions}.",
        {
            "share": _figure(100 * counts, Kind.PERCENT),
            "done": _figure(100 * done, Kind.PERCENT),
            "times": f"{_times(facts, best):.1f}",
            "over": sum(one.off is not None and one.off > OFF for one in facts.additions),
            "additions": len(facts.additions),
        },
    )
    return counts, why


def _figure(value: float, kind: Kind = Kind.COUNT) -> Figure:
    return Figure(round(value), kind)


def _part(key: str, title: str, share: float, most: float, why: Message) -> ScorePart:
    points = most * min(max(share, 0.0), 1.0)
    return ScorePart(key=key, title=Message(title), points=round(points, 1), most=most, why=why)


def _work(facts: Facts, best: Facts) -> ScorePart:
    fates = by_worst(facts.known).values()
    why = Message(
        "Batches washed: {washed}; the plain good strategy washed {best} in the same time. By the "
        "worst of its tanks: {well} behind a good check in limits, {no_ph} with the pH outside or "
        "not measured, {outside} though the check was outside limits, {late} while a check was "
        "overdue, {unknown} in water nobody measured, {held} held, {sold} in question and not "
        "held, {bad} in water known to be bad.",
        {
            "washed": facts.washed,
            "best": best.washed,
            **{
                name: sum(fate in these for fate in fates)
                for name, these in (
                    ("well", {Fate.WELL}),
                    ("no_ph", {Fate.NO_PH}),
                    ("outside", {Fate.OUTSIDE}),
                    ("late", {Fate.LATE}),
                    ("unknown", {Fate.UNKNOWN}),
                    ("held", {Fate.HELD, Fate.NEEDLESS}),
                    ("sold", {Fate.SOLD}),
                    ("bad", {Fate.KNOWN_BAD, Fate.IN_VAIN}),
                )
            },
        },
    )
    return _part("work", "Washed well", _done(facts, best), WORK, why)


def _holds(facts: Facts) -> ScorePart:
    """Score what was in question, and what was not, by who held it."""
    questioned = facts.questioned
    due = questioned.needed + facts.held_needlessly
    looked = any(tank.checks_made for tank in facts.tanks)
    why = Message(
        "Batches in question: {needed}; of these held: {done}. Held without a reason: {needless}. "
        "By the true water {low} met less than the critical low; of these {unseen} stood behind a "
        "good check: nobody could know.",
        {
            "needed": questioned.batches,
            "done": questioned.batches_held,
            "needless": facts.batches_held_needlessly,
            "low": len({one.seq for one in facts.low}),
            "unseen": len({one.seq for one in facts.unseen}),
        },
    )
    share = questioned.done / due if due else 1.0
    earned = share if facts.washed and looked else 0.0  # who never looked can't know
    return _part("holds", "Held what was in question", earned, HOLDS, why)


def _checks(facts: Facts) -> ScorePart:
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
    return _part("checks", "Checked in time", share, CHECKS, why)


def _amounts(facts: Facts) -> ScorePart:
    wrong = sum(addition.wrong for addition in facts.additions)
    count = len(facts.additions)
    share = 1.0 - wrong / count if count else 0.0
    why = Message(
        "{wrong} of {count} additions were off by more than 20 %, not due, or made before the last "
        "one was checked.",
        {"wrong": wrong, "count": count},
    )
    return _part("amounts", "Right amounts", share, AMOUNTS, why)


def _safety(facts: Facts) -> ScorePart:
    acts = len(facts.unsafe)
    why = Message("No unsafe act.")
    if acts:
        named = ", ".join(dict.fromkeys(act.harm.value for act in facts.unsafe))
        why = Message(
            "{acts} unsafe acts ({named}), each costs {points} points.",
            {"acts": acts, "named": named, "points": f"{POINTS_PER_HARM:g}"},
        )
    share = 1.0 - POINTS_PER_HARM * acts / SAFETY
    return _part("safety", "Safe hands", share, SAFETY, why)


def _soon(facts: Facts) -> ScorePart:
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
    return _part("soon", "Flags answered soon", share, SOON, why)


def _use(facts: Facts, best: Facts) -> ScorePart:
    mine, theirs = facts.use, best.use
    share = _thrift(facts, best)
    why = Message(
        "You used {mine} of the sanitizer and {water} of water; the plain good strategy used "
        "{theirs} and {their_water} on the same morning.",
        {
            "mine": _figure(mine.sanitizer, Kind.SMALL_VOLUME),
            "water": _figure(mine.water_l, Kind.VOLUME),
            "theirs": _figure(theirs.sanitizer, Kind.SMALL_VOLUME),
            "their_water": _figure(theirs.water_l, Kind.VOLUME),
        },
    )
    return _part("use", "Chemical and water", share if facts.washed else 0.0, USE, why)


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
