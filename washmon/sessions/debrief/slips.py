"""What cost points, moment by moment: batches by their fate, amounts, unsafe acts, late answers."""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from enum import StrEnum

from msgspec import Struct
from msgspec.structs import replace

from washmon.sessions.debrief.additions import OFF, Addition, Harm
from washmon.sessions.debrief.facts import Facts
from washmon.sessions.debrief.washed import Fate, Washed

WORK, HOLDS, CHECKS, AMOUNTS, SAFETY, SOON, USE = 40.0, 15.0, 15.0, 10.0, 10.0, 5.0, 5.0
"""Points of the parts of the score."""
POINTS_PER_HARM = 5.0
SOON_MIN = 10.0
"""A pressing flag that waited no longer was answered soon."""
NEAR = timedelta(minutes=10)
"""So near in time, slips of one kind are one moment."""


class SlipKind(StrEnum):
    """What went wrong."""

    PH_LEFT = "pH left outside its limits, or not measured"
    WENT_ON = "washed on outside the operating limits"
    CHECK_LATE = "a check came too late"
    CHECK_MISSED = "washed in water that nobody had measured"
    HOLD_MISSED = "in question, and not held"
    KNOWN_BAD = "washed on in water known to be bad"
    HOLD_NEEDLESS = "held though nothing spoke against it"
    TO_HOLD = "washed so that it had to be held"
    TOO_MUCH = "too much put in"
    TOO_LITTLE = "too little put in"
    NOT_DUE = "put in when it was not due, or before a check"
    ACID_TOO_MUCH = "too much acid"
    ACID_IN_LOW_PH = "acid into water of a low pH"
    ACID_WITH_BLEACH = "acid and bleach within the mixing time of each other"
    OVER_LABEL = "over the label maximum"
    OVER_PEROXIDE = "peroxide over its legal maximum"
    LATE_ANSWER = "a pressing flag waited"
    NOT_WASHED = "batches that were not washed"


class Slip(Struct, frozen=True, kw_only=True):
    """One moment that cost points: the first and last time of it, and in which tanks.

    ``cost`` is in points of the parts; ``count`` is how many batches, amounts, acts or flags. A
    batch counts once, however many of its tanks it concerns: ``batches`` are their places in the
    journal.
    """

    kind: SlipKind
    at: datetime
    until: datetime
    tanks: tuple[int, ...]
    cost: float
    count: int = 1
    batches: frozenset[int] = frozenset()


_BY_FATE = {
    Fate.NO_PH: SlipKind.PH_LEFT,
    Fate.OUTSIDE: SlipKind.WENT_ON,
    Fate.LATE: SlipKind.CHECK_LATE,
    Fate.UNKNOWN: SlipKind.CHECK_MISSED,
    Fate.NEEDLESS: SlipKind.HOLD_NEEDLESS,
    Fate.HELD: SlipKind.TO_HOLD,
    Fate.IN_VAIN: SlipKind.KNOWN_BAD,
    Fate.SOLD: SlipKind.HOLD_MISSED,
    Fate.KNOWN_BAD: SlipKind.KNOWN_BAD,
}
_BY_HARM = {
    Harm.ACID_IN_LOW_PH: SlipKind.ACID_IN_LOW_PH,
    Harm.ACID_WITH_BLEACH: SlipKind.ACID_WITH_BLEACH,
    Harm.OVER_LABEL: SlipKind.OVER_LABEL,
    Harm.OVER_PEROXIDE: SlipKind.OVER_PEROXIDE,
}


def slips(facts: Facts, best: Facts) -> tuple[Slip, ...]:
    """Return what cost points, the dearest first; ``best`` is the plain good strategy."""
    due = max(best.credit, len(facts.known), 1.0)
    found = [
        *_batches(facts, due),
        *_not_washed(facts, best, due),
        *_left_by_others(facts),
        *_amounts(facts),
        *_harms(facts),
        *_late(facts),
    ]
    return tuple(sorted(_together(found), key=lambda slip: (-slip.cost, slip.at)))


def _batches(facts: Facts, due: float) -> Iterator[Slip]:
    for one in facts.known:
        if one.fate is not Fate.WELL:
            cost = WORK * (1.0 - one.worth) / due
            cost += 0.0 if one.watched else CHECKS / len(facts.known)
            cost += _unheld(facts) if _wrongly_sold_or_held(one) else 0.0
            yield Slip(
                kind=_BY_FATE[one.fate],
                at=one.at,
                until=one.at,
                tanks=(one.tank,),
                cost=cost,
                batches=frozenset({one.seq}),
            )


def _not_washed(facts: Facts, best: Facts, due: float) -> Iterator[Slip]:
    """Yield what the line stood still for, or what was left at the end."""
    undone = best.credit - len(facts.known)
    if undone > 0.0:
        yield Slip(
            kind=SlipKind.NOT_WASHED,
            at=facts.begins + timedelta(minutes=facts.minutes),
            until=facts.begins + timedelta(minutes=facts.minutes),
            tanks=tuple(tank.tank.number for tank in facts.tanks),
            cost=WORK * undone / due,
            count=max(best.washed - facts.washed, 1),  # one that went through one tank of two
        )


def _wrongly_sold_or_held(one: Washed) -> bool:
    return one.needless or (one.asked and not one.held)


def _unheld(facts: Facts) -> float:
    """Return what one batch costs that was not held and should, or the other way round."""
    return HOLDS / max(1, facts.questioned.needed + facts.held_needlessly)


def _left_by_others(facts: Facts) -> Iterator[Slip]:
    """Yield what a colleague had washed and nobody held."""
    own = {(one.seq, one.tank) for one in facts.known}
    at = {batch.seq: batch.event.at for tank in facts.state.tanks for batch in tank.washed}
    for seq, tank in sorted(facts.questioned.asked - facts.questioned.held - own):
        yield Slip(
            kind=SlipKind.HOLD_MISSED,
            at=at[seq],
            until=at[seq],
            tanks=(tank,),
            cost=_unheld(facts),
            batches=frozenset({seq}),
        )


def _amounts(facts: Facts) -> Iterator[Slip]:
    for one in facts.additions:
        if one.wrong:
            cost = AMOUNTS / len(facts.additions)
            yield Slip(kind=_wrong(one), at=one.at, until=one.at, tanks=(one.tank,), cost=cost)


def _wrong(one: Addition) -> SlipKind:
    if one.off is None:
        return SlipKind.NOT_DUE
    if one.off < OFF:
        return SlipKind.TOO_LITTLE
    return SlipKind.ACID_TOO_MUCH if one.is_acid else SlipKind.TOO_MUCH


def _harms(facts: Facts) -> Iterator[Slip]:
    for one in facts.unsafe:
        kind = _BY_HARM[one.harm]
        yield Slip(kind=kind, at=one.at, until=one.at, tanks=(one.tank,), cost=POINTS_PER_HARM)


def _late(facts: Facts) -> Iterator[Slip]:
    for wait in facts.waits:
        if wait.minutes > SOON_MIN:
            yield Slip(
                kind=SlipKind.LATE_ANSWER,
                at=wait.raised_at,
                until=wait.raised_at + timedelta(minutes=wait.minutes),
                tanks=(wait.flag.tank,),
                cost=SOON / len(facts.waits),
            )


def _together(found: Sequence[Slip]) -> Iterator[Slip]:
    """Join slips of one kind that follow each other, whatever their tank, into one moment."""
    for kind in SlipKind:
        now: Slip | None = None
        for slip in sorted((one for one in found if one.kind is kind), key=lambda one: one.at):
            if now is not None and slip.at - now.until <= NEAR:
                now = _joined(now, slip)
                continue
            if now is not None:
                yield now
            now = slip
        if now is not None:
            yield now


def _joined(one: Slip, other: Slip) -> Slip:
    batches = one.batches | other.batches
    return replace(
        one,
        until=max(one.until, other.until),
        tanks=tuple(sorted({*one.tanks, *other.tanks})),
        cost=one.cost + other.cost,
        count=len(batches) or one.count + other.count,
        batches=batches,
    )
