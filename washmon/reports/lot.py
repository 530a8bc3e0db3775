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
    SecondSwapped,
    TankFilled,
    WaterExchanged,
)
from washmon.line.state import ShiftState
from washmon.reports.lines import Line, lines
from washmon.reports.summing import tanks_of

_WATER: tuple[type[Event], ...] = (
    TankFilled,
    SecondSwapped,
    ReadingTaken,
    DoseAdded,
    AcidAdded,
    WaterExchanged,
)


def touching(shift: ShiftState, batches: AbstractSet[int]) -> list[Line[Event]]:
    """Return what touched these batches, named by their places in the journal, in order of time.

    That is the batches themselves; of each fill that they went through, its filling and all
    readings and additions up to the last of them, and the reading that came next; the holds that
    they are in, and what was decided on these. Corrections are applied.
    """
    every = lines(shift, *_WATER, BatchWashed, HoldPlaced, HoldReleased)
    washed = [line.event for line in every
              if line.seq in batches and isinstance(line.event, BatchWashed)]  # fmt: skip
    placed = {hold.seq for hold in shift.holds if not batches.isdisjoint(hold.placed.batches)}
    water = _of_water(every, _last_uses(shift, washed))

    def touched(line: Line[Event]) -> bool:
        match line.event:
            case BatchWashed():
                return line.seq in batches
            case HoldPlaced():
                return line.seq in placed
            case HoldReleased(hold=hold):
                return hold in placed
        return line.seq in water

    return [line for line in every if touched(line)]


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


def _of_water(every: list[Line[Event]], last: dict[tuple[int, int], datetime]) -> set[int]:
    """Return the places of what was done to these fills up to their last use, and read after."""
    found: set[int] = set()
    read_after: set[tuple[int, int]] = set()
    for line in every:
        if not isinstance(line.event, _WATER):
            continue
        (tank,) = tanks_of(line.event)
        key = (tank, line.fill or 0)
        if key not in last:
            continue
        if line.event.at > last[key]:
            if key in read_after or not isinstance(line.event, ReadingTaken):
                continue
            read_after.add(key)
        found.add(line.seq)
    return found
