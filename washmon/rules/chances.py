"""How likely a batch in question was washed in water under the critical low."""

from bisect import bisect_left, bisect_right
from collections.abc import Mapping
from itertools import pairwise
from math import erfc, sqrt

from washmon.line.events import ReadingTaken
from washmon.line.reading import range_of
from washmon.line.setup import Tank
from washmon.line.state import Fill, Order, Placed, order, value_of
from washmon.rules.base import RuleContext
from washmon.rules.in_question import BadSpell, tells_of_level, windows, within

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
            if not _added(window.fill, order(before), order(after)):
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


def _added(fill: Fill, since: Order, until: Order) -> bool:
    return any(since < order(one) <= until for one in (*fill.doses, *fill.exchanges))


def _bridged(
    rule_context: RuleContext, before: Placed[ReadingTaken], after: Placed[ReadingTaken]
) -> dict[int, float]:
    batches = rule_context.tank.washed[before.batches : after.batches]
    was, now = value_of(before, "fac_mg_l"), value_of(after, "fac_mg_l")
    first, last = (_spread(rule_context.spec, one.event) for one in (before, after))
    count = len(batches)
    stray = _STRAY * abs(was - now) / max(count, 1)
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


def _spread(spec: Tank, event: ReadingTaken) -> float:
    low, high = range_of(spec, event)
    return (high - low) / _ENDS
