"""All that touched a lot in a shift: its batches, the water they went through, what was decided."""

from collections.abc import Set as AbstractSet
from datetime import datetime

from washmon.line.events import (
    AcidAdded,
    BatchWashed,
    DoseAdded,
    Event,
    HoldPlaced,
    HoldReleased,
    ReadingTaken,
    TankFilled,
    WaterExchanged,
)
from washmon.line.state import ShiftState
from washmon.reports.lines import Line, lines

_WATER = (TankFilled, ReadingTaken, DoseAdded, AcidAdded, WaterExchanged)


def touching(shift: ShiftState, batches: AbstractSet[int]) -> list[Line[Event]]:
    """Return what touched these batches, named by their places in the journal, in order of time.

    That is the batches themselves; of each fill that they went through, its filling and all
    readings and additions up to the last of them, and the reading that came next; the holds that
    they are in, and what was decided on these. Corrections are applied.
    """
    washed = [line for line in lines(shift, BatchWashed) if line.seq in batches]
    last = _last_uses(shift, [line.event for line in washed])
    held = [hold for hold in shift.holds if not batches.isdisjoint(hold.placed.batches)]
    found: list[Line[Event]] = [*washed, *_of_water(shift, last)]
    placed = {hold.seq for hold in held}
    found += [line for line in lines(shift, HoldPlaced) if line.seq in placed]
    found += [line for line in lines(shift, HoldReleased) if line.event.hold in placed]
    return sorted(found, key=lambda line: (line.event.at, line.seq))


def _last_uses(shift: ShiftState, washed: list[BatchWashed]) -> dict[tuple[int, int], datetime]:
    """Return when the last of these batches was in each fill, by numbers of tank and fill."""
    last: dict[tuple[int, int], datetime] = {}
    for tank in shift.tanks:
        for batch in washed:
            if tank.number in batch.tanks:
                fills = [fill.number for fill in tank.fills if fill.at <= batch.at]
                key = (tank.number, fills[-1] if fills else 0)
                last[key] = max(batch.at, last.get(key, batch.at))
    return last


def _of_water(shift: ShiftState, last: dict[tuple[int, int], datetime]) -> list[Line[Event]]:
    found: list[Line[Event]] = []
    read_after: set[tuple[int, int]] = set()
    for line in lines(shift, *_WATER):
        key = (line.event.tank, line.fill or 0)
        if key not in last:
            continue
        after = line.event.at > last[key]
        if after and (key in read_after or not isinstance(line.event, ReadingTaken)):
            continue
        if after:
            read_after.add(key)
        found.append(line)
    return found
