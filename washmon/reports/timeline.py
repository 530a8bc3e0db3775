"""How long a tank was within its limits, as far as readings can tell.

Between readings nobody knows the level for certain. The method here is: hold the last value
(common practice, no published source). A reading counts from its moment on, until

- the next reading of the same quantity, or
- something is put into the water that changes the quantity (sanitizer and an exchange of water
  change its level; these and acid change the pH), or
- the check interval of the tank is over: a value older than that proves nothing any more, or
- the fill ends, with a water change or with the shift.

A value in its limits that was read with an instrument or pack that was known to be unfit is none;
one that breaks a limit counts (:mod:`washmon.line.judging`).

What is left is *unknown*. A fill is watched from its first reading or its first batch, whichever
came first: making up the water is no washing time. A second fill is watched from its swap.
"""

from collections.abc import Iterator
from datetime import datetime
from itertools import pairwise
from typing import NamedTuple

from washmon.line.events import AcidAdded, DoseAdded, ReadingTaken, WaterExchanged
from washmon.line.quantities import BY_FIELD
from washmon.line.setup import Tank
from washmon.line.state import Fill, Placed, ShiftState, TankState


class Piece(NamedTuple):
    """A stretch of time, in seconds since 1970, with the value held over it; None is unknown."""

    start_s: float
    end_s: float
    value: float | None

    @property
    def length_s(self) -> float:
        """How long it lasts, seconds."""
        return self.end_s - self.start_s


class Watched(NamedTuple):
    """The time during which one fill was in use, in seconds since 1970."""

    fill: Fill
    start_s: float
    end_s: float


BREAKS: dict[str, tuple[type, ...]] = {
    "fac_mg_l": (DoseAdded, WaterExchanged),
    "paa_mg_l": (DoseAdded, WaterExchanged),
    "ph": (DoseAdded, AcidAdded, WaterExchanged),
}
"""What ends the hold of a value, by the field of the reading."""


def end_of(shift: ShiftState) -> datetime:
    """Return when a shift ended or, while it runs, when something last happened to its water."""
    return max(shift.ended.at, shift.last_at) if shift.ended else shift.last_at


def watched(shift: ShiftState, tank: TankState) -> Iterator[Watched]:
    """Yield the time in use of each fill; fills that were never used are left out."""
    for fill in tank.fills:
        following = next(iter(tank.fills[fill.number :]), None)
        end_s = (following.at if following else end_of(shift)).timestamp()
        after = following.begun.batches if following else tank.batches
        first = [reading.event.at.timestamp() for reading in fill.readings[:1]]
        first += [b.event.at.timestamp() for b in tank.washed[fill.begun.batches : after][:1]]
        start_s = max(min(first), fill.at.timestamp()) if first else end_s
        if start_s < end_s:
            yield Watched(fill, start_s, end_s)


def pieces(shift: ShiftState, tank: TankState, field: str) -> Iterator[Piece]:
    """Yield the watched time of a tank in order, cut where the held value changes.

    ``field`` is ``fac_mg_l``, ``paa_mg_l`` or ``ph``.
    """
    minutes = tank.spec.check_minutes
    lasts_s = minutes * 60 if minutes else float("inf")
    for span in watched(shift, tank):
        at_s = span.start_s
        value: float | None = None
        until_s = at_s
        for moment_s, found in [*_marks(span.fill, field, tank.spec), (span.end_s, None)]:
            now_s = min(max(moment_s, span.start_s), span.end_s)
            yield from _cut(at_s, now_s, value, until_s)
            at_s, value, until_s = now_s, found, moment_s + lasts_s


def longest_gap_s(shift: ShiftState, tank: TankState, field: str) -> float:
    """Return the longest watched time without a reading of ``field``, seconds."""
    gaps = []
    for span in watched(shift, tank):
        moments = [
            min(max(reading.event.at.timestamp(), span.start_s), span.end_s)
            for reading in span.fill.readings
            if getattr(reading.event, field) is not None
        ]
        edges = [span.start_s, *moments, span.end_s]
        gaps += [later - sooner for sooner, later in pairwise(edges)]
    return max(gaps, default=0.0)


def _cut(start_s: float, end_s: float, value: float | None, until_s: float) -> Iterator[Piece]:
    """Yield a stretch as known up to ``until_s`` and unknown after it; nothing if it is empty."""
    known_s = min(max(until_s, start_s), end_s) if value is not None else start_s
    if known_s > start_s:
        yield Piece(start_s, known_s, value)
    if end_s > known_s:
        yield Piece(known_s, end_s, None)


def _marks(fill: Fill, field: str, spec: Tank) -> list[tuple[float, float | None]]:
    """Return the moments at which the known value of a fill begins or ends, in order."""
    everything: list[Placed[ReadingTaken | DoseAdded | AcidAdded | WaterExchanged]] = [
        *fill.readings,
        *fill.doses,
        *fill.acids,
        *fill.exchanges,
    ]
    everything.sort(key=lambda one: (one.event.at, one.seq))
    marks: list[tuple[float, float | None]] = []
    for one in everything:
        if isinstance(one.event, BREAKS[field]):
            marks.append((one.event.at.timestamp(), None))
        elif isinstance(one.event, ReadingTaken):
            value = getattr(one.event, field)
            if value is not None:
                proves = (one.seq, field) not in fill.unvouched or _is_bad(one.event, field, spec)
                marks.append((one.event.at.timestamp(), float(value) if proves else None))
    return marks


def _is_bad(reading: ReadingTaken, field: str, spec: Tank) -> bool:
    judge = BY_FIELD[field].judge
    return judge is not None and judge(reading, spec) is not None
