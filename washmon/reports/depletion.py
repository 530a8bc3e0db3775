"""How produce uses up a tank's sanitizer: lows before re-doses, and what was lost on the way."""

from collections.abc import Iterator
from itertools import pairwise

from msgspec import Struct

from washmon.line.events import DoseAdded, ReadingTaken, WaterExchanged
from washmon.line.state import Fill, Placed, TankState


class Lost(Struct, frozen=True, kw_only=True):
    """How much of the sanitizer the produce used up, where nothing was put in between readings.

    ``kg`` is None where a batch in between was not weighed.
    """

    mg_l: float
    batches: int
    kg: float | None
    mg: float
    """The same in all the water."""


def redose_lows(tank: TankState) -> tuple[float, ...]:
    """Return the level, mg/L, last read before each dose into water that had washed something.

    A dose with no reading since the dose before it is left out: nobody saw its low.
    """
    lows = []
    for fill in tank.fills:
        last: float | None = None
        for one in _in_order(fill):
            if isinstance(one.event, ReadingTaken):
                last = _level(tank, one.event) if _level(tank, one.event) is not None else last
                continue
            if isinstance(one.event, DoseAdded) and last is not None and _used(fill, one):
                lows.append(last)
            last = None
    return tuple(lows)


def lost(tank: TankState) -> Lost | None:
    """Return what was lost between readings with nothing put in; None where nothing tells."""
    mg_l, mg, batches = 0.0, 0.0, 0
    weights: list[float | None] = []
    for fill in tank.fills:
        for before, after in _undisturbed(tank, fill):
            washed = tank.washed[before.batches : after.batches]
            if washed:
                fallen = (_level(tank, before.event) or 0.0) - (_level(tank, after.event) or 0.0)
                mg_l += fallen
                mg += fallen * fill.volume_l
                batches += len(washed)
                weights += [batch.event.weight_kg for batch in washed]
    if not batches:
        return None
    known = [weight for weight in weights if weight is not None]
    kg = sum(known) if len(known) == len(weights) else None
    return Lost(mg_l=mg_l, batches=batches, kg=kg, mg=mg)


_Any = Placed[ReadingTaken] | Placed[DoseAdded] | Placed[WaterExchanged]


def _in_order(fill: Fill) -> list[_Any]:
    # What a second fill lost while it waited, no batch took.
    everything: list[_Any] = [*fill.read_in_use, *fill.doses, *fill.exchanges]
    return sorted(everything, key=lambda one: (one.event.at, one.seq))


def _undisturbed(
    tank: TankState, fill: Fill
) -> Iterator[tuple[Placed[ReadingTaken], Placed[ReadingTaken]]]:
    run: list[Placed[ReadingTaken]] = []
    for one in _in_order(fill):
        if not isinstance(one.event, ReadingTaken):
            yield from pairwise(run)
            run = []
        elif _level(tank, one.event) is not None:
            run.append(Placed(one.seq, one.event, one.batches))
    yield from pairwise(run)


def _level(tank: TankState, event: ReadingTaken) -> float | None:
    value: float | None = getattr(event, tank.spec.level_field)
    return value


def _used(fill: Fill, one: _Any) -> bool:
    return one.batches > fill.begun.batches
