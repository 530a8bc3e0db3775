"""Which batches are in question after a bad check, or before a good one.

How likely a batch in question was washed in water under the critical low.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterator, Mapping
from functools import lru_cache, partial
from itertools import pairwise
from math import erfc, sqrt
from typing import NamedTuple

from washmon.line.events import Corrected, Limit, ReadingTaken
from washmon.line.fold import fold
from washmon.line.judging import (
    counts_total,
    judge_temperature,
    judge_total,
    may_wash,
    over_critical_ph,
    under_critical,
    under_critical_contact,
)
from washmon.line.mixing import standing_total, verifies
from washmon.line.reading import range_of
from washmon.line.same import Same
from washmon.line.setup import Tank
from washmon.line.state import Fill, Order, Placed, ShiftState, TankState, order, passed, value_of
from washmon.rules.base import RuleContext

UNCHECKED = -1
"""In place of a reading that told: nobody had looked yet."""


class BadSpell(NamedTuple):
    """From a good check to the next, a bad one between; ``until`` is missing while it lasts."""

    fill: Fill
    since: Order
    until: Order | None
    told_by: int = UNCHECKED
    """The place of the first bad reading, or UNCHECKED where none was."""


Verdicts = dict[str, bool]
Judge = Callable[[Placed[ReadingTaken]], Verdicts]


def _judge(fill: Fill, spec: Tank) -> Judge:
    """Return what tells the verdicts of a fill's readings, each worked out once."""
    judge = partial(_verdicts, fill=fill, spec=spec)
    if counts_total(spec):  # there a total stands for the readings after it
        return judge
    changes = (Same(fill.doses), Same(fill.acids), Same(fill.exchanges), Same(fill.swapped))
    known = _known_verdicts(*changes, fill.unvouched, Same(spec))

    def look_up(reading: Placed[ReadingTaken]) -> Verdicts:
        found = known.get(reading.seq)
        if found is None or found[0] is not reading:
            found = known[reading.seq] = reading, judge(reading)
        return found[1]

    return look_up


@lru_cache(maxsize=64)
def _known_verdicts(*_what_they_rest_on: object) -> dict[int, tuple[object, Verdicts]]:
    """Return a place for verdicts by the readings' places, with the readings themselves."""
    return {}


def _verdicts(reading: Placed[ReadingTaken], fill: Fill, spec: Tank) -> Verdicts:
    """Return what a reading says of each critical limit that is set: kept or not.

    Before an addition has mixed in, a good value says nothing; a bad one counts at any time.
    """
    event = reading.event
    found = (
        ("level", spec.level_field, _level_kept(reading, fill, spec)),
        ("ph", "ph", _ph_kept(event, spec)),
        ("temperature", "water_c", _warm_enough(event, spec)),
    )
    return {
        what: kept
        for what, field, kept in found
        if kept is False or (kept and verifies(reading, fill, field, spec))
    }


def _level_kept(reading: Placed[ReadingTaken], fill: Fill, spec: Tank) -> bool | None:
    """Tell whether level and label are kept; a total over the label stands until read again."""
    event = reading.event
    level: float | None = getattr(event, spec.level_field)
    kept = None if level is None else may_wash(level, spec)
    if not counts_total(spec):
        return kept
    if level is None:
        return False if judge_total(event.total_mg_l or 0.0, spec) else None
    total = standing_total(fill, spec, order(reading))
    return kept and (total is None or judge_total(total[0], spec) is None)


def _ph_kept(event: ReadingTaken, spec: Tank) -> bool | None:
    if spec.critical_ph is None or event.ph is None or spec.peracetic:
        return None
    return not over_critical_ph(event.ph, spec)


def _warm_enough(event: ReadingTaken, spec: Tank) -> bool | None:
    if not spec.critical_temperature or spec.temperature_rule is None:
        return None
    if event.water_c is None or event.pulp_c is None:
        return None
    return judge_temperature(event.water_c, event.pulp_c, spec) is None


def windows(tank: TankState) -> tuple[BadSpell, ...]:
    """Return the times in which a tank's water is in question.

    One opens after the last good check (not at the bad one) and closes at the first check that is
    good again. Before a fill's first good check, it opens where the fill began: what is washed in
    water that nobody has found good is in question, too.
    """
    return _windows(Same(tank))


@lru_cache(maxsize=64)
def _windows(same: Same[TankState]) -> tuple[BadSpell, ...]:
    """Return the windows; kept, since each look of the rules asks again."""
    return tuple(_found(same.part))


def _found(tank: TankState) -> Iterator[BadSpell]:
    for place, fill in enumerate(tank.fills):
        over = tank.fills[place + 1].used if place + 1 < len(tank.fills) else None
        begun = order(fill.used)
        opened, bad, told_by = begun, {"level"}, UNCHECKED
        judge = _judge(fill, tank.spec)
        for reading in fill.readings:
            said = judge(reading)
            was_bad = bool(bad)
            for what, kept in said.items():
                (bad.discard if kept else bad.add)(what)
            if told_by == UNCHECKED and False in said.values():
                told_by = reading.seq
            if was_bad and not bad:
                if order(reading) > begun:  # else it was a second fill: nothing was washed in it
                    yield from _worth(tank, BadSpell(fill, opened, order(reading), told_by))
                told_by = UNCHECKED
            if not bad and (was_bad or said.get("level")):
                opened = max(begun, order(reading))
        if bad:
            until = order(over) if over else None
            yield from _worth(tank, BadSpell(fill, opened, until, told_by))


def _worth(tank: TankState, window: BadSpell) -> Iterator[BadSpell]:
    """Leave out the time before a first check in which nothing was washed."""
    if window.told_by != UNCHECKED or within(tank, window):
        yield window


def questioned(tank: TankState) -> dict[int, int]:
    """Return a tank's batches washed between good checks around a bad one, with what told so.

    Journal places both. Those that stayed shorter than the critical contact time are among them.
    """
    suspect = dict.fromkeys(_in_no_water(tank), UNCHECKED)
    suspect |= {seq: one.told_by for one in windows(tank) for seq in within(tank, one)}
    for batch in tank.washed:
        stayed_s = batch.event.contact_s
        if stayed_s is not None and under_critical_contact(stayed_s, tank.spec):
            suspect.setdefault(batch.seq, batch.seq)
    return suspect


def _in_no_water(tank: TankState) -> Iterator[int]:
    """Yield the batches washed before any filling, where the one they were washed in was withdrawn.

    Nobody knows what they met.
    """
    first = order(tank.fills[0].used) if tank.fills else None
    for batch in tank.washed:
        if first is not None and order(batch) > first:
            return
        yield batch.seq


def _downstream(shift: ShiftState, tank: TankState) -> dict[int, int]:
    """Return the batches that went through the tanks after a tank while its water was bad.

    What was washed there may have come through the bad water, under an entry of its own.
    """
    after = [other for other in shift.tanks if other.number > tank.number]
    return {
        seq: one.told_by for one in windows(tank) for other in after for seq in within(other, one)
    }


def to_hold(shift: ShiftState, tank: TankState) -> dict[int, int]:
    """Return the batches to be held by a tank's water, each with the place of what told so.

    Left out are those in an open hold, and those of a hold that was placed when they were in
    question already, by what was known then: somebody has decided about that.
    """
    open_ = {seq for hold in shift.open_holds for seq in hold.placed.batches}
    decided = {seq: hold.seq for hold in shift.holds for seq in hold.placed.batches}
    return {
        seq: told_by
        for seq, told_by in _asked(shift, tank).items()
        if seq not in open_
        and (
            seq not in decided
            or decided[seq] < _known_at(shift, told_by)
            or seq not in _asked_then(_Then(shift, decided[seq]), tank.number)
        )
    }


def _asked(shift: ShiftState, tank: TankState) -> dict[int, int]:
    return _downstream(shift, tank) | questioned(tank)


class _Then:
    """A shift as it stood at an entry; equals another of the same entry, by the journal's chain."""

    def __init__(self, shift: ShiftState, seq: int) -> None:
        place = next(at for at, entry in enumerate(shift.entries) if entry.seq == seq)
        self.chain, self.entries = shift.chain, shift.entries[: place + 1]
        self._key = (shift.chain, shift.entries[place].hash)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Then) and self._key == other._key

    def __hash__(self) -> int:
        return hash(self._key)


@lru_cache(maxsize=64)
def _asked_then(then: _Then, number: int) -> frozenset[int]:
    """Return what was in question at an earlier entry; an entry that came later may move water."""
    shift = fold(then.chain, then.entries)
    return frozenset(_asked(shift, shift.tank(number)))


def _known_at(shift: ShiftState, told_by: int) -> int:
    """Return where in the journal a reading came to say what it says, corrections counted in."""
    if told_by not in shift.corrections:
        return told_by
    return next(
        entry.seq
        for entry in reversed(shift.entries)
        if isinstance(entry.event, Corrected) and entry.event.entry == told_by
    )


def limits_failed(tank: TankState, window: BadSpell) -> frozenset[Limit]:
    """Return what put the batches of a window in question."""
    readings, judge = window.fill.readings, _judge(window.fill, tank.spec)
    first = bisect_right(readings, window.since, key=order)
    failed = {
        _limit(what, one, tank.spec)
        for one in passed(readings, window.since, window.until)
        for what, kept in judge(one).items()
        if not kept
    }
    before = reversed(readings[:first])
    if not any(judge(one).get("level") for one in before):
        failed.add(Limit.UNCHECKED)
    return frozenset(failed)


def _limit(what: str, reading: Placed[ReadingTaken], spec: Tank) -> Limit:
    if what != "level":
        return Limit.PH if what == "ph" else Limit.TEMPERATURE
    level: float | None = getattr(reading.event, spec.level_field)
    low = level is not None and under_critical(level, spec)
    return Limit.LOW if low else Limit.LABEL


def tells_of_level(tank: TankState, window: BadSpell) -> bool:
    """Tell whether batches of a window may have met too little, as far as is known."""
    return bool(limits_failed(tank, window) & {Limit.LOW, Limit.UNCHECKED})


def since_last_good_check(tank: TankState) -> tuple[int, ...]:
    """Return the journal places of the batches washed after the newest good check of this fill."""
    if tank.fill is None:
        return ()
    judge = _judge(tank.fill, tank.spec)
    good = [
        reading
        for reading in tank.fill.readings
        if (said := judge(reading)).get("level") and all(said.values())
    ]
    begun = order(tank.fill.used)
    opened = max(begun, order(good[-1])) if good else begun
    return tuple(within(tank, BadSpell(tank.fill, opened, None)))


def within(tank: TankState, window: BadSpell) -> list[int]:
    """Return the places of a tank's batches after one happening and before another."""
    return [batch.seq for batch in passed(tank.washed, window.since, window.until)]


_STRAY = 0.25
"""Of what a batch uses up: how far one strays from the next, where no forecast tells; common
practice, no published source."""
_ENDS = 2.56
"""From 10 to 90 % of a normal distribution, in sigma."""


def chances_below(rule_context: RuleContext) -> dict[int, float]:
    """Return how likely each batch in question met free chlorine under the critical low.

    The forecast's own account of the past tells, if it has heard of all readings: it knows of
    doses, of weights and of what came later. Else a bridge between readings does.
    """
    bridged = bridged_below(rule_context)
    below = told_below(rule_context)
    asked = {
        seq
        for window in windows(rule_context.tank)
        if tells_of_level(rule_context.tank, window)
        for seq in within(rule_context.tank, window)
    }
    return bridged | {seq: chance for seq, chance in below.items() if seq in asked}


def told_below(rule_context: RuleContext) -> Mapping[int, float]:
    """Return what the forecast tells of all batches, in question or not; nothing of old news."""
    ahead = rule_context.forecast
    return {} if ahead is None or ahead.readings < _count_read(rule_context.fill) else ahead.below


def _count_read(fill: Fill) -> int:
    return sum(one.event.fac_mg_l is not None for one in fill.readings)


def bridged_below(rule_context: RuleContext) -> dict[int, float]:
    """Return the same by the readings at both ends alone.

    Between a good and a bad reading the level is taken to fall batch by batch from one to the
    other, as unsure as the readings are at both ends and as the demand of a batch is in between (a
    Brownian bridge). Batches that no such pair of readings brackets are left out.
    """
    if rule_context.spec.peracetic is not None:
        return {}
    found: dict[int, float] = {}
    for window in windows(rule_context.tank):
        if not tells_of_level(rule_context.tank, window):
            continue  # another limit failed: the level was good all the while
        for before, after in pairwise(_read_in(window)):
            added = (window.fill.doses, window.fill.exchanges)
            if not any(passed(one, order(before), order(after)) for one in added):
                found |= _bridged(rule_context, before, after)
    return found


def _read_in(window: BadSpell) -> list[Placed[ReadingTaken]]:
    """Return the readings of free chlorine from the opening of a window to its end.

    Where it opens as a second fill comes into use, those of the time before belong to it.
    """
    readings, until = window.fill.readings, window.until
    at_once = window.since == order(window.fill.used)
    first = 0 if at_once else bisect_left(readings, window.since, key=order)
    last = len(readings) if until is None else bisect_right(readings, until, key=order)
    return [one for one in readings[first:last] if one.event.fac_mg_l is not None]


def _bridged(
    rule_context: RuleContext, before: Placed[ReadingTaken], after: Placed[ReadingTaken]
) -> dict[int, float]:
    batches = rule_context.tank.washed[before.batches : after.batches]
    was, now = value_of(before, "fac_mg_l"), value_of(after, "fac_mg_l")
    first, last = (_spread(rule_context, one.event) for one in (before, after))
    if not batches:
        return {}
    count = len(batches)
    stray = _STRAY * abs(was - now) / count
    if rule_context.forecast is not None:
        stray = (
            rule_context.forecast.batch_mg_l.high - rule_context.forecast.batch_mg_l.low
        ) / _ENDS
    critical = rule_context.spec.chlorine.critical_low_mg_l
    found = {}
    for place, batch in enumerate(batches):
        share = (place + 0.5) / count
        level = was + share * (now - was)
        read = ((1 - share) * first) ** 2 + (share * last) ** 2
        spread = sqrt(read + stray**2 * count * share * (1 - share))
        sigmas = (level - critical) / max(spread, 1e-6)
        found[batch.seq] = erfc(sigmas / sqrt(2)) / 2  # the normal distribution under critical
    return found


def _spread(rule_context: RuleContext, event: ReadingTaken) -> float:
    low, high = range_of(rule_context.setup, rule_context.spec, event)
    return (high - low) / _ENDS
