"""When a reading tells of the water as it is: after what changed it last has mixed in."""

from bisect import bisect_left
from collections.abc import Sequence
from datetime import datetime, timedelta
from functools import lru_cache
from math import prod

from washmon.line.events import AcidAdded, DoseAdded, ReadingTaken, WaterExchanged
from washmon.line.judging import judge_total
from washmon.line.same import Same
from washmon.line.setup import Tank
from washmon.line.state import Fill, Order, Placed, order, passed

Change = Placed[DoseAdded] | Placed[AcidAdded] | Placed[WaterExchanged]

ENOUGH = 0.8
"""Of the mixing time. It is a rounded number of the set-up, and an entry's time is that of writing
it down: a sample drawn a little early has mixed in, one drawn seconds after a dose has not (common
practice, no published source)."""


def mixed_in(change: Change, at: datetime, spec: Tank) -> bool:
    """Tell whether a sample drawn at a moment shows the whole of an addition or exchange."""
    return at >= change.event.at + timedelta(minutes=ENOUGH * spec.mix_minutes)


def verifies(reading: Placed[ReadingTaken], fill: Fill, field: str, spec: Tank) -> bool:
    """Tell whether a reading of a field was taken after what changed it last had mixed in.

    A level that was read long before its fill was swapped in verifies nothing: it fell since. Nor
    does what was read with an instrument or pack that was known to be unfit for use.
    """
    stale = field == spec.level_field and is_stale(reading, fill, spec)
    changes = _changes(Same(fill), field)
    before = bisect_left(changes, order(reading), key=order)
    mixed = not before or mixed_in(changes[before - 1], reading.event.at, spec)
    return mixed and not stale and (reading.seq, field) not in fill.unvouched


def is_stale(reading: Placed[ReadingTaken], fill: Fill, spec: Tank) -> bool:
    """Tell whether a second fill waited too long between a reading and coming into use."""
    swap = fill.swapped
    return swap is not None and waited_long(reading, spec, swap.event.at)


def waited_long(reading: Placed[ReadingTaken], spec: Tank, at: datetime) -> bool:
    """Tell whether a reading is so old that waiting water is measured again before its use."""
    return at - reading.event.at > timedelta(minutes=spec.second_check_min)


@lru_cache(maxsize=256)
def _changes(same: Same[Fill], field: str) -> tuple[Change, ...]:
    """Return what changed a field of a fill's water, in order; kept, as each reading asks.

    Doses, acid and exchanges all move pH; acid leaves the level of the sanitizer as it is.
    """
    fill = same.part
    acids = fill.acids if field == "ph" else ()
    every: tuple[Change, ...] = (*fill.doses, *acids, *fill.exchanges)
    return tuple(sorted(every, key=order))


def unverified(fill: Fill, field: str, spec: Tank) -> Change | None:
    """Return the last change of a field, if no reading of the field has verified it."""
    return _unseen(_changes(Same(fill), field), fill, field, spec)


def unchecked(fill: Fill, spec: Tank) -> Change | None:
    """Return what went in last that nobody has checked: doses by the level, acid by its pH."""
    level = unverified(fill, spec.level_field, spec)
    acid = _unseen(fill.acids, fill, "ph", spec)
    found = [one for one in (level, acid) if one is not None]
    return max(found, key=order, default=None)


def _unseen(every: Sequence[Change], fill: Fill, field: str, spec: Tank) -> Change | None:
    if not every:
        return None
    last, seen = every[-1], fill.latest(field)
    after = seen is not None and order(seen) > order(last)
    after = after and seen is not None and (seen.seq, field) not in fill.unvouched
    return None if after and seen and mixed_in(last, seen.event.at, spec) else last


def standing_total(
    fill: Fill, spec: Tank, upto: Order
) -> tuple[float, Placed[ReadingTaken]] | None:
    """Return total chlorine, mg/L, as read last up to a place, with its reading.

    Exchanges since then thin it (mass balance); free chlorine tells nothing of the rest of it. One
    read before an addition has mixed in counts only where it is over the label.
    """
    for reading in reversed(fill.readings):
        total, place = reading.event.total_mg_l, order(reading)
        if total is None or place > upto:
            continue
        if judge_total(total, spec) or verifies(reading, fill, "total_mg_l", spec):
            stays = prod(
                max(0.0, 1 - one.event.volume_l / fill.volume_l)
                for one in passed(fill.exchanges, place, upto)
            )
            return total * stays, reading
    return None
