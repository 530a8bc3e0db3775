"""Which product is in question after a bad check, and how likely it was washed in bad water."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Mapping
from datetime import datetime
from functools import lru_cache
from itertools import pairwise
from math import erfc, sqrt
from typing import NamedTuple

from washmon.line.events import BatchWashed, Corrected, Happened, Limit, ReadingTaken
from washmon.line.flags import Level, Step, StepKind
from washmon.line.held_words import percent
from washmon.line.message import Figure, Message, Moment
from washmon.line.mixing import may_wash, standing_total, verifies
from washmon.line.reading import range_of
from washmon.line.same import Same
from washmon.line.setup import LabelBasis, Tank, TemperatureRuleKind
from washmon.line.state import Fill, Placed, ShiftState, TankState
from washmon.rules.base import Finding, Sight, rule
from washmon.units import Kind

Order = tuple[datetime, int]
UNCHECKED = -1
"""In place of a reading that told: nobody had looked yet."""
_STRAY = 0.25
"""Of what a batch uses up: how far one strays from the next, where no forecast tells; common
practice, no published source."""
_ENDS = 2.56
"""From 10 to 90 % of a normal distribution, in sigma."""

_BAD_CHECK = (
    "A check was not good. Nobody knows when the water turned, so every batch since the good check "
    "before it is in question: {lots}. Washing again does not by itself make it safe; somebody "
    "with the right to decide must."
)
_UNCHECKED_WATER = (
    "Washed before a check found this water good, so nobody knows what the produce met: {lots}. "
    "Washing again does not by itself make it safe; somebody with the right to decide must."
)

_SOME = (
    "Of {count} batches of lot {lot}, about {about} met less than {critical}, by all that was "
    "read; for a single batch the chance goes from {least} to {most}."
)
_FEW = (
    "Of {count} batches of lot {lot}, probably none met less than {critical}, by all that was "
    "read; for a single batch the chance goes from {least} to {most}."
)
_ALIKE = (
    "The chance that a batch of lot {lot} met less than {critical} is about {most} for each of "
    "{count}, by all that was read."
)
_ONE = (
    "The chance that the batch of lot {lot} met less than {critical} is about {most}, by all that "
    "was read."
)


class Window(NamedTuple):
    """From a good check to the next, a bad one between; ``until`` is missing while it lasts."""

    fill: Fill
    since: Order
    until: Order | None
    told_by: int = UNCHECKED
    """The place of the first bad reading, or UNCHECKED where none was."""


def _verdicts(reading: Placed[ReadingTaken], fill: Fill, spec: Tank) -> dict[str, bool]:
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
    if spec.peracetic is not None or spec.chlorine.label_basis is not LabelBasis.TOTAL:
        return kept
    most = spec.chlorine.label_max_mg_l
    if level is None:
        return False if (event.total_mg_l or 0.0) > most else None
    total = standing_total(fill, spec, _order(reading))
    return kept and (total is None or total[0] <= most)


def _ph_kept(event: ReadingTaken, spec: Tank) -> bool | None:
    if spec.critical_ph is None or event.ph is None or spec.peracetic:
        return None
    return event.ph <= spec.critical_ph


def _warm_enough(event: ReadingTaken, spec: Tank) -> bool | None:
    wanted = spec.temperature_rule
    if not spec.critical_temperature or wanted is None:
        return None
    if event.water_c is None or event.pulp_c is None:
        return None
    warmer = wanted.kind is TemperatureRuleKind.WARMER
    return event.water_c >= event.pulp_c + (wanted.by_c if warmer else -wanted.by_c)


def windows(tank: TankState) -> tuple[Window, ...]:
    """Return the times in which a tank's water is in question.

    One opens after the last good check (not at the bad one) and closes at the first check that is
    good again. Before a fill's first good check, it opens where the fill began: what is washed in
    water that nobody has found good is in question, too.
    """
    return _windows(Same(tank))


@lru_cache(maxsize=64)
def _windows(same: Same[TankState]) -> tuple[Window, ...]:
    """Return the windows; kept, since each look of the rules asks again."""
    return tuple(_found(same.part))


def _found(tank: TankState) -> Iterator[Window]:
    for place, fill in enumerate(tank.fills):
        over = tank.fills[place + 1].used if place + 1 < len(tank.fills) else None
        begun = _order(fill.used)
        opened, bad, told_by = begun, {"level"}, UNCHECKED
        for reading in fill.readings:
            said = _verdicts(reading, fill, tank.spec)
            was_bad = bool(bad)
            for what, kept in said.items():
                (bad.discard if kept else bad.add)(what)
            if told_by == UNCHECKED and False in said.values():
                told_by = reading.seq
            if was_bad and not bad:
                if _order(reading) > begun:  # else it was a second fill: nothing was washed in it
                    yield from _worth(tank, Window(fill, opened, _order(reading), told_by))
                told_by = UNCHECKED
            if not bad and (was_bad or said.get("level")):
                opened = max(begun, _order(reading))
        if bad:
            until = _order(over) if over else None
            yield from _worth(tank, Window(fill, opened, until, told_by))


def _worth(tank: TankState, window: Window) -> Iterator[Window]:
    """Leave out the time before a first check in which nothing was washed."""
    if window.told_by != UNCHECKED or within(tank, window):
        yield window


def batches_in_question(tank: TankState) -> tuple[int, ...]:
    """Return the journal places of a tank's batches washed between good checks around a bad one.

    Those that stayed shorter than the critical contact time are among them.
    """
    return tuple(_questioned(tank))


def _questioned(tank: TankState) -> dict[int, int]:
    """Return the batches in question, each with the place of what told so."""
    suspect = dict.fromkeys(_in_no_water(tank), UNCHECKED)
    suspect |= {seq: one.told_by for one in windows(tank) for seq in within(tank, one)}
    least = tank.spec.critical_contact_s
    if least is not None:
        for batch in tank.washed:
            if batch.event.contact_s is not None and batch.event.contact_s < least:
                suspect.setdefault(batch.seq, batch.seq)
    return suspect


def _in_no_water(tank: TankState) -> Iterator[int]:
    """Yield the batches washed before any filling, where the one they were washed in was withdrawn.

    Nobody knows what they met.
    """
    first = _order(tank.fills[0].used) if tank.fills else None
    for batch in tank.washed:
        if first is not None and _order(batch) > first:
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

    Left out are those in an open hold, and those of a hold that was placed when what puts them in
    question was known: somebody has decided about that.
    """
    open_ = {seq for hold in shift.open_holds for seq in hold.placed.batches}
    decided = {seq: hold.seq for hold in shift.holds for seq in hold.placed.batches}
    asked = _downstream(shift, tank) | _questioned(tank)
    return {
        seq: told_by
        for seq, told_by in asked.items()
        if seq not in open_ and (seq not in decided or decided[seq] < _known_at(shift, told_by))
    }


def _known_at(shift: ShiftState, told_by: int) -> int:
    """Return where in the journal a reading came to say what it says, corrections counted in."""
    if told_by not in shift.corrections:
        return told_by
    return next(
        entry.seq
        for entry in reversed(shift.entries)
        if isinstance(entry.event, Corrected) and entry.event.entry == told_by
    )


def limits_failed(tank: TankState, window: Window) -> frozenset[Limit]:
    """Return what put the batches of a window in question."""
    fill, spec = window.fill, tank.spec
    first = bisect_right(fill.readings, window.since, key=_order)
    until = None if window.until is None else bisect_right(fill.readings, window.until, key=_order)
    known_good = any(
        _verdicts(one, fill, spec).get("level") for one in reversed(fill.readings[:first])
    )
    failed = set() if known_good else {Limit.UNCHECKED}
    for one in fill.readings[first:until]:
        failed |= {_limit(what, one, spec) for what, kept in _verdicts(one, fill, spec).items()
                   if not kept}  # fmt: skip
    return frozenset(failed)


def _limit(what: str, reading: Placed[ReadingTaken], spec: Tank) -> Limit:
    if what != "level":
        return Limit.PH if what == "ph" else Limit.TEMPERATURE
    level: float | None = getattr(reading.event, spec.level_field)
    low = level is not None and level < spec.limits.critical_low_mg_l
    return Limit.LOW if low else Limit.LABEL


def tells_of_level(tank: TankState, window: Window) -> bool:
    """Tell whether batches of a window may have met too little, as far as is known."""
    return bool(limits_failed(tank, window) & {Limit.LOW, Limit.UNCHECKED})


def since_last_good_check(tank: TankState) -> tuple[int, ...]:
    """Return the journal places of the batches washed after the newest good check of this fill."""
    if tank.fill is None:
        return ()
    good = [
        reading
        for reading in tank.fill.readings
        if (said := _verdicts(reading, tank.fill, tank.spec)).get("level") and all(said.values())
    ]
    begun = _order(tank.fill.used)
    opened = max(begun, _order(good[-1])) if good else begun
    return tuple(within(tank, Window(tank.fill, opened, None)))


def within(tank: TankState, window: Window) -> list[int]:
    """Return the places of a tank's batches after one happening and before another."""
    washed = tank.washed  # in the order in which it happened
    first = bisect_right(washed, window.since, key=_order)
    last = len(washed) if window.until is None else bisect_right(washed, window.until, key=_order)
    return [batch.seq for batch in washed[first:last]]


@lru_cache(maxsize=64)
def _by_place(same: Same[tuple[Placed[BatchWashed], ...]]) -> dict[int, BatchWashed]:
    """Return a tank's batches by their places in the journal; kept, as each look asks again."""
    return {batch.seq: batch.event for batch in same.part}


def _order(placed: Placed[Happened]) -> Order:
    """Return when something happened; what stands later in the journal came later at one time."""
    return placed.event.at, placed.seq


def chances_below(sight: Sight) -> dict[int, float]:
    """Return how likely each batch in question met free chlorine under the critical low.

    The forecast's own account of the past tells, if it has heard of all readings: it knows of
    doses, of weights and of what came later. Else a bridge between readings does.
    """
    bridged = bridged_below(sight)
    below = told_below(sight)
    asked = {
        seq
        for window in windows(sight.tank)
        if tells_of_level(sight.tank, window)
        for seq in within(sight.tank, window)
    }
    return bridged | {seq: chance for seq, chance in below.items() if seq in asked}


def told_below(sight: Sight) -> Mapping[int, float]:
    """Return what the forecast tells of all batches, in question or not; nothing of old news."""
    ahead = sight.forecast
    return {} if ahead is None or ahead.readings < _count_read(sight.fill) else ahead.below


def _count_read(fill: Fill) -> int:
    return sum(one.event.fac_mg_l is not None for one in fill.readings)


def bridged_below(sight: Sight) -> dict[int, float]:
    """Return the same by the readings at both ends alone.

    Between a good and a bad reading the level is taken to fall batch by batch from one to the
    other, as unsure as the readings are at both ends and as the demand of a batch is in between (a
    Brownian bridge). Batches that no such pair of readings brackets are left out.
    """
    if sight.spec.peracetic is not None:
        return {}
    found: dict[int, float] = {}
    for window in windows(sight.tank):
        if not tells_of_level(sight.tank, window):
            continue  # another limit failed: the level was good all the while
        for before, after in pairwise(_read_in(window)):
            if not _added(window.fill, _order(before), _order(after)):
                found |= _bridged(sight, before, after)
    return found


def _read_in(window: Window) -> list[Placed[ReadingTaken]]:
    """Return the readings of free chlorine from the opening of a window to its end.

    Where it opens as a second fill comes into use, those of the time before belong to it.
    """
    readings, until = window.fill.readings, window.until
    at_once = window.since == _order(window.fill.used)
    first = 0 if at_once else bisect_left(readings, window.since, key=_order)
    last = len(readings) if until is None else bisect_right(readings, until, key=_order)
    return [one for one in readings[first:last] if one.event.fac_mg_l is not None]


def _added(fill: Fill, since: Order, until: Order) -> bool:
    return any(since < _order(one) <= until for one in (*fill.doses, *fill.exchanges))


def _bridged(
    sight: Sight, before: Placed[ReadingTaken], after: Placed[ReadingTaken]
) -> dict[int, float]:
    batches = sight.tank.washed[before.batches : after.batches]
    was, now = float(before.event.fac_mg_l or 0.0), float(after.event.fac_mg_l or 0.0)
    first, last = (_spread(sight.spec, one.event) for one in (before, after))
    count = len(batches)
    stray = _STRAY * abs(was - now) / max(count, 1)
    if sight.forecast is not None:
        stray = (sight.forecast.batch_mg_l.high - sight.forecast.batch_mg_l.low) / _ENDS
    critical = sight.spec.chlorine.critical_low_mg_l
    found = {}
    for place, batch in enumerate(batches):
        share = (place + 0.5) / count
        level = was + share * (now - was)
        read = ((1 - share) * first) ** 2 + (share * last) ** 2
        spread = sqrt(read + stray**2 * count * share * (1 - share))
        sigmas = (level - critical) / max(spread, 1e-6)
        found[batch.seq] = erfc(sigmas / sqrt(2)) / 2  # the normal distribution under critical
    return found


def _spread(spec: Tank, event: ReadingTaken) -> float:
    low, high = range_of(spec, event)
    return (high - low) / _ENDS


@rule(
    "hold",
    "hold what was washed",
    "All product since the last good check: segregate, review, act, record, as in 21 CFR 120.10; "
    "washing again does not make it safe: J. Food Prot. 74(3):352 (2011)",
)
def product_to_hold(sight: Sight) -> Finding | None:
    """Ask for a hold on batches that were washed since the last good check before a bad one."""
    asked = to_hold(sight.shift, sight.tank)
    if not asked:
        return None
    named = frozenset(asked)
    known = [_by_place(Same(tank.washed)) for tank in sight.shift.tanks]
    batches = {seq: next(one[seq] for one in known if seq in one) for seq in named}
    loose = tuple(sorted(named, key=lambda seq: (batches[seq].at, seq)))
    washed = [batches[seq] for seq in loose]
    text = "Hold {count} batches washed from {first} to {last}: set them aside and mark them"
    if len(loose) == 1:
        text = "Hold the batch washed at {first}: set it aside and mark it"
    step = Step(
        kind=StepKind.HOLD,
        say=Message(
            text,
            {
                "count": len(loose),
                "first": Moment(washed[0].at),
                "last": Moment(washed[-1].at),
            },
        ),
        batches=loose,
    )
    return Finding(
        Level.STOP,
        Message(
            _UNCHECKED_WATER if set(asked.values()) == {UNCHECKED} else _BAD_CHECK,
            {"lots": ", ".join(dict.fromkeys(event.lot for event in washed))},
        ),
        step,
        washed[0].at,
        tuple(_how_likely(sight, dict(zip(loose, washed, strict=True)))),
    )


def _how_likely(sight: Sight, washed: Mapping[int, BatchWashed]) -> Iterator[Message]:
    """Say of each lot how many of its batches met too little, and how far their chances differ."""
    found = chances_below(sight)
    lots: dict[str, list[float]] = {}
    for seq, batch in washed.items():
        if seq in found:
            lots.setdefault(batch.lot, []).append(found[seq])
    for lot, chances in lots.items():
        about = round(sum(chances))
        text = _SOME if about else _FEW
        if percent(min(chances)) == percent(max(chances)):
            text = _ONE if len(chances) == 1 else _ALIKE
        yield Message(
            text,
            {
                "lot": lot,
                "count": len(chances),
                "about": about,
                "critical": Figure(sight.spec.chlorine.critical_low_mg_l, Kind.CONCENTRATION),
                "least": percent(min(chances)),
                "most": percent(max(chances)),
            },
        )
