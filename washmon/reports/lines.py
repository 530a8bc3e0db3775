"""The entries of a shift as they are now, corrections applied, each with what it was before."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Generic, TypeVar

from washmon.line.events import Corrected, Event
from washmon.line.kinds import phrases
from washmon.line.message import say, spoken
from washmon.line.state import ShiftState
from washmon.units import UnitSystem

E = TypeVar("E", bound=Event)


@dataclass(frozen=True, slots=True)
class Line(Generic[E]):
    """One entry: ``event`` is what holds now, ``original`` what was written if it was corrected.

    ``fill`` and ``washed`` place it in the water of its tank: the number of the fill and the
    batches washed in the tank before it; None where it is about no water, or about a second fill
    that did not come into use. What was done to one that did counts the batches before the swap.
    """

    shift: ShiftState
    seq: int
    recorded_at: datetime
    event: E
    original: Event | None = None
    correction: Corrected | None = None
    fill: int | None = None
    washed: int | None = None


def lines(shift: ShiftState, *kinds: type[E]) -> list[Line[E]]:
    """Return the entries of these kinds in the order in which they happened.

    An entry that was withdrawn is left out; the correction that withdrew it is an entry itself.
    """
    places = {seq: (fill, washed) for seq, fill, washed in _places(shift)}
    found: list[Line[Any]] = []
    for entry in shift.entries:
        correction = shift.corrections.get(entry.seq)
        event: Event | None = correction.instead if correction else entry.event
        if event is None or not isinstance(event, kinds):
            continue
        fill, washed = places.get(entry.seq, (None, None))
        line = Line(
            shift=shift,
            seq=entry.seq,
            recorded_at=entry.recorded_at,
            event=event,
            original=entry.event if correction else None,
            correction=correction,
            fill=fill,
            washed=washed,
        )
        found.append(line)
    return sorted(found, key=lambda line: (line.event.at, line.seq))


def in_words(shift: ShiftState, event: Event | None) -> str:
    """Return an event in one plain line with metric units, or nothing for none.

    Rules are named by their id, as in columns of their own.
    """
    if event is None:
        return ""
    told = phrases(event, shift.setup)
    said = spoken(told, lambda phrase: say(phrase, UnitSystem.METRIC))
    return said.replace("\N{NO-BREAK SPACE}", " ")


def _places(shift: ShiftState) -> Iterator[tuple[int, int, int]]:
    for tank in shift.tanks:
        for fill in tank.fills:
            everything = (
                fill.begun,
                *(() if fill.swapped is None else (fill.swapped,)),
                *fill.readings,
                *fill.doses,
                *fill.acids,
                *fill.exchanges,
            )
            yield from ((placed.seq, fill.number, placed.batches) for placed in everything)
